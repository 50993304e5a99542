"""What moisture readings come to, as values."""

from __future__ import annotations

from dataclasses import dataclass

from shutline.car.findings import Position, Side
from shutline.car.plan.wording import spoken_name
from shutline.gauge.usual import Interval


@dataclass(frozen=True, slots=True, order=True)
class DampPlace:
    """A place inside the car: a part, with the words for where on it."""

    part: str
    side: Side | None = None
    position: Position | None = None
    words: str = ""

    @property
    def name(self) -> str:
        """Its name as it is said: ``carpet, near front``."""
        return spoken_name(self.part, self.side, self.position) + (f", {self.words}" if self.words else "")


@dataclass(frozen=True, slots=True)
class Dampness:
    """One place: what it reads, how many times the car's driest places, and how surely it is damper than they.

    `mean` and `readings` are of what was read, `uncertainty` is the standard uncertainty of the mean, in the meter's
    unit. `damper` is the probability that the place has more than the car's own ground. `told` is ``damper``, ``own``,
    ``unclear`` or ``alone``. `sources` are the recordings or files the readings came from.
    """

    place: DampPlace
    mean: float
    uncertainty: float
    readings: int
    ratio: Interval
    damper: float
    told: str
    sentence: str
    notes: tuple[str, ...] = ()
    sources: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class DampMeter:
    """All places read by one meter on one scale: figures of different meters are never held against each other.

    `ground` is what the car's driest places read; `known` is False where too few places were read to tell.
    """

    instrument: str
    unit: str
    ground: Interval
    known: bool
    places: tuple[Dampness, ...]
    sentence: str


@dataclass(frozen=True, slots=True)
class DampResult:
    """All that moisture readings of one car come to."""

    meters: tuple[DampMeter, ...]
    good_for: str
    decides: str
    cautions: tuple[str, ...]
    note: str

    def place(self, place: DampPlace) -> Dampness | None:
        """Give what a place came to, the dampest where several meters read it; None where none did."""
        read = [one for meter in self.meters for one in meter.places if one.place == place]
        return max(read, key=lambda one: one.damper, default=None)
