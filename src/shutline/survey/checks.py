"""What a guide is made of: checks, what they cost when bad, and the words for tools and cautions."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from enum import StrEnum

from shutline.car.findings import Position, Side


class How(StrEnum):
    """How a check is made."""

    LOOK = "look"
    FEEL = "feel"
    TAP = "tap"
    MAGNET = "magnet"
    GAUGE = "gauge"
    SMELL = "smell"
    LISTEN = "listen"
    TRY = "try"
    DRIVE = "drive"


class Best(StrEnum):
    """Whether a check says more to the camera or in words."""

    SHOWN = "shown"
    SAID = "said"


class Sort(StrEnum):
    """What a guide is of."""

    GENERAL = "general"
    """What is asked of any car; all others build on it."""
    CONSTRUCTION = "construction"
    """A way of building a car; a car has one."""
    DRIVE = "drive"
    """A way of driving it, laid over the construction: cooled by air, driven by electricity."""


@dataclass(frozen=True, slots=True)
class Band:
    """One band of cost: `hours` of a workshop, `material` counted in what an hour of it costs; the least, the most."""

    id: str
    label: str
    hours: tuple[float, float]
    material: tuple[float, float]

    @property
    def most(self) -> float:
        """The most it comes to, in hours of a workshop."""
        return self.hours[1] + self.material[1]


@dataclass(frozen=True, slots=True)
class Tool:
    """Something to bring; `always` for what every walk wants."""

    id: str
    label: str
    always: bool = False


@dataclass(frozen=True, slots=True)
class Caution:
    """A warning, and where it must not be missing: checks of these parts, made so, with these words, or raised."""

    id: str
    text: str
    parts: frozenset[str] = frozenset()
    how: frozenset[How] = frozenset()
    words: tuple[str, ...] = ()
    raised: bool = False
    tools: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Check:
    """One thing to look at on a kind of car, wherever it occurs.

    `sides` and `positions` hold None for a part that occurs once. `when_bad` are ids of the lowest and the highest
    band of cost; `safety` tells that somebody may be hurt when it is bad. `answers` are the conditions that speak to
    it, empty for any. `after` are ids of checks that come before it, `needs` those among
    them without which it cannot be made. `station` is where it is made, empty for where
    its part lies. `bodies` are those it is for, empty for all; `doors` the fewest and the most side doors, rear doors
    counted. `along_with` is the id of a check in whose look it is made: one step of a route, each with its own footing.
    `where` is the file and the line it was read from.
    """

    id: str
    part: str
    sides: tuple[Side | None, ...]
    positions: tuple[Position | None, ...]
    look_for: str
    how: tuple[How, ...]
    why: str
    when_bad: tuple[str, str]
    best: Best
    tools: tuple[str, ...] = ()
    cautions: tuple[str, ...] = ()
    safety: bool = False
    answers: frozenset[str] = frozenset()
    after: tuple[str, ...] = ()
    needs: tuple[str, ...] = ()
    station: str = ""
    bodies: frozenset[str] = frozenset()
    doors: tuple[int, int] = (0, 9)
    along_with: str = ""
    source: str = ""
    where: str = ""

    def applies(self, body: str | None, doors: int | None) -> bool:
        """Tell whether such a car has it; while body and doors are not known it counts as a two-door saloon."""
        if self.bodies and (body or "saloon") not in self.bodies:
            return False
        return self.doors[0] <= (doors or 2) <= self.doors[1]

    def places(self) -> Iterator[Asked]:
        """Give it once for each place where it is made."""
        for side in self.sides:
            for position in self.positions:
                yield Asked(self, side, position)


@dataclass(frozen=True, slots=True)
class Asked:
    """One check at one place."""

    check: Check
    side: Side | None
    position: Position | None

    @property
    def key(self) -> str:
        """Its check, position and side joined by hyphens: ``tyre-front-off``; no two of a guide have the same."""
        return "-".join(word for word in (self.check.id, self.position, self.side) if word)


@dataclass(frozen=True, slots=True)
class GuideFile:
    """One guide as it stands in its file, before what it builds on is laid under it.

    `bodies` are those that it may be of, `usual_for` those that it is taken for when nothing else is known, `clues`
    words of the trade that point to it, `power` what it runs on. `engine` says at which end the engine is, empty for
    as below. `lines` gives the line of each of its fields.
    """

    id: str
    label: str
    sort: Sort
    builds_on: str
    bodies: frozenset[str]
    usual_for: frozenset[str]
    clues: tuple[str, ...]
    power: frozenset[str]
    engine: str
    removes: tuple[str, ...]
    checks: tuple[Check, ...]
    source: str
    file: str
    lines: dict[str, int]


@dataclass(frozen=True, slots=True)
class Guide:
    """All checks that are asked of a kind of car, in order; `laid` are the ids of the guides it was put together from.

    `engine_behind` tells that the engine lies at the rear, and the boot in front.
    """

    id: str
    label: str
    laid: tuple[str, ...]
    checks: tuple[Check, ...]
    engine_behind: bool = False

    def asked(self, body: str | None, doors: int | None) -> tuple[Asked, ...]:
        """Give every check of such a car at every place, in the order of the guide."""
        return tuple(one for check in self.checks if check.applies(body, doors) for one in check.places())
