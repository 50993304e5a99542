"""What paint film comes to, as values."""

from __future__ import annotations

from dataclasses import dataclass

from shutline.car.errors import Problem
from shutline.car.findings import Position, Side
from shutline.car.plan.wording import spoken_name
from shutline.gauge.paint.tables import TradeRange
from shutline.gauge.usual import Interval


@dataclass(frozen=True, slots=True, order=True)
class Panel:
    """A panel of the car by part, side and position."""

    part: str
    side: Side | None = None
    position: Position | None = None

    @property
    def name(self) -> str:
        """Its name as it is said: ``nearside front wing``."""
        return spoken_name(self.part, self.side, self.position)


@dataclass(frozen=True, slots=True)
class DroppedReading:
    """A reading that was left out of its spot, µm, and why."""

    value_um: float
    why: str


@dataclass(frozen=True, slots=True)
class PaintSpot:
    """One spot: the mean of close readings, µm.

    `words` say where on its panel, `along` and `up` how far back and how far up, shares of its size, None where that
    was not told. `uncertainty_um` is the standard uncertainty of the mean that differs from spot to spot;
    `common_um` is what the gauge brings into all of them alike. `readings` counts what the mean is of. `sources` are
    the recordings, pictures or files the readings came from. `steady` is False where they differ and none of them
    stands out. `name` is what tells it from other spots of its panel.
    """

    panel: Panel
    name: str
    words: str
    along: float | None
    up: float | None
    mean_um: float
    uncertainty_um: float
    common_um: float
    readings: int
    steady: bool = True
    dropped: tuple[DroppedReading, ...] = ()
    notes: tuple[str, ...] = ()
    sources: tuple[str, ...] = ()
    quotes: tuple[str, ...] = ()

    @property
    def repeated(self) -> int:
        """How many readings bear each other out: one where they do not."""
        return self.readings if self.steady else 1


@dataclass(frozen=True, slots=True)
class Gradient:
    """The third of a panel that stands out most: `zone` is an id of the words, `ratio` how many times the rest it is.

    `sureness` is the probability that the panel carries more in one third than in the rest at all.
    """

    zone: str
    words: str
    ratio: Interval
    sureness: float


@dataclass(frozen=True, slots=True)
class OwnFinish:
    """What most of this car carries, µm.

    `known` is False where too few panels were read to hold one against it. `panel_spread` and `spot_spread` are
    standard deviations in logarithm.
    """

    figure_um: Interval
    panels: int
    spots: int
    panel_spread: float
    spot_spread: float
    known: bool
    sentence: str
    beside_trade: str
    good_for: str


@dataclass(frozen=True, slots=True)
class PanelFilm:
    """One panel: its film in µm, how many times the car's own finish, and how surely it has more or less.

    `more` and `less` are the probabilities that the panel as a whole has something more or less than the car's own
    finish, `local` that some of its spots have more than the panel itself, `plain` that it is of the car's own finish
    throughout; how well they hold is told in docs/paint.md. `spot_local` is the last but one for each spot.
    `gradient` is the third that stands out most, None where none was read beside another. `told` is ``more``,
    ``less``, ``local``, ``own``, ``unclear`` or ``alone``.
    """

    panel: Panel
    film_um: Interval
    ratio: Interval
    more: float
    less: float
    local: float
    plain: float
    spots: tuple[PaintSpot, ...]
    spot_local: tuple[float, ...]
    gradient: Gradient | None
    told: str
    sentence: str
    notes: tuple[str, ...] = ()

    @property
    def sureness(self) -> float:
        """The probability that there is something more on it, on the whole of it or at a spot."""
        return max(0.0, 1.0 - self.plain - self.less)

    @property
    def thickest(self) -> PaintSpot:
        """The spot with the highest mean."""
        return max(self.spots, key=lambda spot: spot.mean_um)


@dataclass(frozen=True, slots=True)
class Comparison:
    """One panel against another: `ratio` is how many times as thick the first is.

    `sureness` is the probability that one of them is at least the told ratio times the other, whichever is thicker.
    """

    one: Panel
    other: Panel
    relation: str
    ratio: Interval
    sureness: float
    sentence: str


@dataclass(frozen=True, slots=True)
class PaintResult:
    """All that paint film of one car comes to; `problems` tell what was not taken and why."""

    own: OwnFinish | None
    panels: tuple[PanelFilm, ...]
    comparisons: tuple[Comparison, ...]
    problems: tuple[Problem, ...]
    trade_ranges: tuple[TradeRange, ...]
    good_for: str
    decides: str
    cautions: tuple[str, ...]

    def panel(self, panel: Panel) -> PanelFilm | None:
        """Give what was found of a panel; None where it was not read."""
        return next((one for one in self.panels if one.panel == panel), None)
