"""Findings and facts, each with what it stands on."""

from __future__ import annotations

import hashlib
from dataclasses import dataclass
from enum import StrEnum


class Drive(StrEnum):
    """Which side the steering wheel is on."""

    RHD = "rhd"
    LHD = "lhd"


class Side(StrEnum):
    """Near is the left of the car looking forward, off the right, wherever the wheel is."""

    NEAR = "near"
    OFF = "off"
    BOTH = "both"


class Position(StrEnum):
    """Which end of the car, for parts that occur at both."""

    FRONT = "front"
    REAR = "rear"
    BOTH = "both"


class Found(StrEnum):
    """Whether the condition is there."""

    YES = "yes"
    NO = "no"
    UNSURE = "unsure"


class Severity(StrEnum):
    """How bad a defect is, from the words."""

    SLIGHT = "slight"
    MODERATE = "moderate"
    SEVERE = "severe"


class Remedy(StrEnum):
    """What the speaker said should be done."""

    CLEAN = "clean"
    POLISH = "polish"
    REPAINT = "repaint"
    REPAIR = "repair"
    REPLACE = "replace"
    ADJUST = "adjust"
    TREAT = "treat"
    MONITOR = "monitor"


class FootingKind(StrEnum):
    """What a finding or a fact stands on."""

    SAID = "said"
    SEEN = "seen"
    MEASURED = "measured"
    WRITTEN = "written"


class State(StrEnum):
    """Where a finding is between the program and a person."""

    HEARD = "heard"
    """Drawn by the program; nobody has looked at it yet."""
    STANDS = "stands"
    """A person confirmed or entered it."""
    STRUCK = "struck"
    """A person rejected it; it is kept, and goes out nowhere."""


@dataclass(frozen=True, slots=True)
class Footing:
    """What a finding or a fact stands on, and where to look at it.

    `source` names the recording, picture, reading or paper by its id in the store ("" while a reader that knows no
    store is at work). `start_s` and `end_s` are seconds from the start of a recording, None for anything that has no
    time. `quote` is verbatim. `rules` are the ids of the lexicon rows and rules that drew it.
    """

    kind: FootingKind
    source: str = ""
    start_s: float | None = None
    end_s: float | None = None
    quote: str = ""
    rules: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Finding:
    """One statement about one part of this car, now.

    `part` and `condition` are ids of the vocabulary. `side` and `position` are None for what lies on the middle line
    or was not placed. A good condition always has found yes. `severity` and `remedy` are None where nothing was said.
    `why` tells in plain sentences how it was drawn: the words, the rules, where the place came from. `sureness` is the
    reader's own probability that a careful person would agree, in [0, 1]; None where a person entered it.
    """

    part: str
    condition: str
    found: Found
    side: Side | None = None
    position: Position | None = None
    severity: Severity | None = None
    remedy: Remedy | None = None
    footings: tuple[Footing, ...] = ()
    why: tuple[str, ...] = ()
    sureness: float | None = None
    state: State = State.HEARD

    @property
    def start_s(self) -> float | None:
        """The earliest moment of its footings, seconds; None when none has a time."""
        return min((f.start_s for f in self.footings if f.start_s is not None), default=None)

    @property
    def by_hand(self) -> tuple[Footing, ...]:
        """What of its footings is a person's entry and no evidence; empty where it was not entered at a moment.

        The moment it was entered at, and what the person wrote where nobody is heard saying it. Words that are heard
        have a length, and a picture that somebody tied to it has no moment.
        """
        if not any(_moment_of_entry(f) for f in self.footings):
            return ()
        return tuple(f for f in self.footings if _moment_of_entry(f) or _written_only(f))

    def key(self) -> str:
        """Give a name that the same words in the same recording always get: 16 hexadecimal digits.

        Severity, remedy, state and sureness do not enter: they may change while it stays the same statement.
        """
        return _digest(
            *(self.part, self.side, self.position, self.condition, self.found),
            *(v for f in self.footings for v in (f.kind, f.source, _thousandths(f.start_s), f.quote)),
        )


@dataclass(frozen=True, slots=True)
class Fact:
    """Something known of the whole car: a name of the fact list, its value, and its footing.

    Whole numbers for year, odometer, engine_cc, gears, doors, seats, keys, keepers; ISO 8601 dates or months as text;
    other values as plain words. `unit` stands beside the odometer only: ``mi`` or ``km``.
    """

    name: str
    value: int | float | str | bool
    unit: str | None = None
    footings: tuple[Footing, ...] = ()
    sureness: float | None = None
    state: State = State.HEARD

    def key(self) -> str:
        """Give a name that the same words in the same recording always get: 16 hexadecimal digits."""
        return _digest(
            *(self.name, self.value, self.unit),
            *(v for f in self.footings for v in (f.kind, f.source, _thousandths(f.start_s), f.quote)),
        )


def _moment_of_entry(footing: Footing) -> bool:
    return footing.kind is FootingKind.SEEN and footing.start_s is not None


def _written_only(footing: Footing) -> bool:
    return footing.kind is FootingKind.SAID and footing.start_s is not None and footing.start_s == footing.end_s


def _thousandths(seconds: float | None) -> str:
    return "" if seconds is None else f"{seconds:.3f}"


def _digest(*values: object) -> str:
    plain = "\x1f".join("" if v is None else str(v) for v in values)
    # A transcript in a wrong encoding can bring lone surrogates.
    return hashlib.sha256(plain.encode("utf-8", "surrogatepass")).hexdigest()[:16]
