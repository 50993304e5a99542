"""Figures read off a picture: what was read, sign by sign, and what a person made of it."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

from shutline.car.changes import Change
from shutline.car.findings import Position, Side


class FigureKind(StrEnum):
    """What a figure is of."""

    ODOMETER = "odometer"
    CHASSIS = "chassis_number"
    MARK = "registration_mark"
    TYRE_SIZE = "tyre_size"
    TYRE_DATE = "tyre_date"
    PAINT = "paint_film"
    PAPER = "paper"


class FigureState(StrEnum):
    """Where a figure is between the program and a person."""

    WAITS = "waits"
    """Read by the program; nobody has looked at it yet."""
    TAKEN = "taken"
    """A person took it, as it was read or amended."""
    ASIDE = "aside"
    """A person set it aside; it is kept, and goes out nowhere."""


@dataclass(frozen=True, slots=True)
class ReadSign:
    """One sign as it was read, and how sure the recogniser was of it, 0 to 1."""

    text: str
    sureness: float


@dataclass(frozen=True, slots=True)
class OtherReading:
    """Another reading that is proposed and never applied: its text, its value, and what would change."""

    text: str
    value: int | str
    why: str


@dataclass(frozen=True, slots=True)
class PaperLine:
    """A line of a paper: its text, how sure, and its box in the picture as shares of width and height."""

    text: str
    sureness: float
    box: tuple[float, float, float, float]


@dataclass(frozen=True, slots=True)
class ReadFigure:
    """A figure as the program read it.

    `text` is what was read, `signs` sign by sign. `value` is what it comes to: a whole number for an odometer
    (``mi`` or ``km``, or None where no unit was seen) and a paint gauge (``um`` or ``mil``), text without spaces for
    a mark and a VIN, ``195/65 R15 97S`` for a tyre's size, ``week 43 of 2008`` for its date. `fits` tells whether it
    has a form that such figures are known to have. `sureness` is the share of drawn pictures read alike that were
    read right, in [0, 1]. `box` is left, top, right, bottom as shares of the picture's width and height. `notes` say
    what the rules of the trade have to tell of it.
    """

    kind: FigureKind
    text: str
    signs: tuple[ReadSign, ...]
    value: int | str
    unit: str | None
    fits: bool
    sureness: float
    box: tuple[float, float, float, float]
    others: tuple[OtherReading, ...] = ()
    notes: tuple[str, ...] = ()
    lines: tuple[PaperLine, ...] = ()
    on_paper: bool = False


@dataclass(frozen=True, slots=True)
class Figure:
    """A figure in the store.

    `source` is the id of the picture, or of the recording with `at_s`, the moment in seconds. `crop` is the SHA-256 of
    the piece of picture it was read off, a JPEG among the derived files. `value` and `unit` are what stands: as read,
    or as a person amended them. `fact` is the id of the fact that it gave when taken. `part`, `side` and `position`
    say where on the car, for a tyre or a paint gauge. `version` rises with each change.
    """

    id: str
    read: ReadFigure
    source: str
    at_s: float | None
    crop: str
    value: int | str
    unit: str | None
    state: FigureState
    read_at: str
    part: str | None = None
    side: Side | None = None
    position: Position | None = None
    fact: str | None = None
    version: int = 1
    changes: tuple[Change, ...] = ()
