"""Papers set beside a car: what kind each is, and what was read off it and waits for a person."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum


class PaperKind(StrEnum):
    """What a paper is."""

    REGISTRATION = "registration"
    """A registration document."""
    TEST = "test"
    """A certificate of a roadworthiness test, or its refusal."""
    INVOICE = "invoice"
    """An invoice or receipt."""
    SERVICE = "service"
    """A page of stamps in a service book."""
    LETTER = "letter"
    IMPORT = "import"
    """A paper of customs, of import duty, or of a registration abroad."""
    OTHER = "other"


class PaperState(StrEnum):
    """What a person said of a paper."""

    OPEN = "open"
    """Nobody has said anything: it counts unless it carries another car's mark or chassis number."""
    SAME = "same"
    """A person said that it is of this car."""
    OTHER = "other"
    """A person said that it is of another car: it is kept, and counts for nothing."""


class ReadKind(StrEnum):
    """What sort of thing was read off a paper."""

    DATE = "date"
    MILEAGE = "mileage"
    MONEY = "money"
    MARK = "mark"
    CHASSIS = "chassis"
    COUNTRY = "country"
    NAME = "name"
    ADDRESS = "address"
    CONTACT = "contact"
    """A telephone number or an address of electronic mail."""
    REFERENCE = "reference"
    """A number of a document or an account with which somebody could act in the keeper's name."""
    COUNT = "count"
    """How many of something, such as former keepers; the value's text is a whole number."""


PRIVATE = frozenset({ReadKind.NAME, ReadKind.ADDRESS, ReadKind.CONTACT, ReadKind.REFERENCE})
"""What never goes out."""


class ReadState(StrEnum):
    """What a person said of something read off a paper."""

    OPEN = "open"
    TAKEN = "taken"
    """A person has seen it: it is so, as read or as they corrected it."""
    STRUCK = "struck"


@dataclass(frozen=True, slots=True)
class Box:
    """Where something stands on a page: shares of its width and height, from the upper left corner."""

    left: float
    top: float
    width: float
    height: float


@dataclass(frozen=True, slots=True)
class Line:
    """A line of a page as it was read: `score` from 0 to 1, 1.0 where the text was in the file itself."""

    words: str
    box: Box
    score: float = 1.0


@dataclass(frozen=True, slots=True)
class Page:
    """A page with its lines from top to bottom; `number` counts from 1.

    `turned` says by how many degrees (0, 90, 180, 270, clockwise) it was turned to be read.
    """

    number: int
    lines: tuple[Line, ...]
    turned: int = 0


@dataclass(frozen=True, slots=True)
class Value:
    """One way to take what was read, with its chance among the ways, from 0 to 1.

    `text` is the value in its one form: a day as ``YYYY-MM-DD`` (a month as ``YYYY-MM``, a year as ``YYYY``), a whole
    number of miles or kilometres, money as ``123.45``, a mark or chassis number without spaces in capitals, a country
    by its two letters of ISO 3166, else the words. `unit` is ``mi`` or ``km`` of a mileage, the three letters of
    ISO 4217 of money, else empty.
    """

    text: str
    unit: str
    chance: float


@dataclass(frozen=True, slots=True)
class Proposal:
    """Something read off a paper, proposed and never taken by itself.

    `role` says what it is of where the paper tells (``test``, ``first registered``, ``total``, ``mileage at test``),
    else empty. `values` come likeliest first. `why` says in words what it rests on.
    """

    kind: ReadKind
    page: int
    box: Box
    words: str
    role: str
    values: tuple[Value, ...]
    why: str


@dataclass(frozen=True, slots=True)
class PaperTold:
    """What the words of a paper tell: its kinds, likeliest first with their chances, and what is proposed."""

    kinds: tuple[tuple[PaperKind, float], ...]
    proposals: tuple[Proposal, ...]
