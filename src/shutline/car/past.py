"""What a person entered of a car's past: who kept it, in which countries it was, and its dates."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

from shutline.car.changes import Change
from shutline.car.findings import State


class PastKind(StrEnum):
    """What an entry is of."""

    KEEPER = "keeper"
    COUNTRY = "country"
    DATE = "date"


class DateOf(StrEnum):
    """Which date of the car an entry gives."""

    MADE = "made"
    REGISTERED = "registered"
    """First registered anywhere."""
    USED = "used"
    """First used on a road."""
    IMPORTED = "imported"
    """Brought here, or registered here for the first time after another country."""


class RestsOn(StrEnum):
    """What an entry rests on."""

    SAID = "said"
    PAPER = "paper"
    REGISTRATION = "registration"
    """The registration document."""


@dataclass(frozen=True, slots=True)
class PastEntry:
    """One entry.

    `about` is the keeper's name, which is private and may be empty; the country by its two letters of ISO 3166; or
    which date it is (`DateOf`). `start` and `until` are a year, a month or a day (``1987``, ``1987-03``,
    ``1987-03-14``), empty where nobody knows; a date has `start` alone. `lasts` is True for what is still so. `paper`
    is what the paper is called. `country` is in which country a date was, by its letters, empty where nobody knows.
    """

    kind: PastKind
    about: str
    start: str = ""
    until: str = ""
    lasts: bool = False
    rests_on: RestsOn = RestsOn.SAID
    paper: str = ""
    country: str = ""


@dataclass(frozen=True, slots=True)
class KeptPast:
    """An entry in the store.

    It stands from the first; a struck one is kept and counts for nothing. The first of `changes` is how it came in.
    """

    id: str
    entry: PastEntry
    state: State
    kept_at: str
    version: int = 1
    changes: tuple[Change, ...] = ()
