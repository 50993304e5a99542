"""Readings: figures from an instrument, each with its unit, place, instrument and uncertainty."""

from __future__ import annotations

from dataclasses import dataclass, field
from enum import StrEnum

from shutline.car.changes import Change
from shutline.car.findings import Position, Side, State


class Way(StrEnum):
    """How a reading came in."""

    KEYED = "keyed"
    FILE = "file"
    SPOKEN = "spoken"
    PICTURE = "picture"


@dataclass(frozen=True, slots=True)
class Reading:
    """One figure from an instrument.

    `quantity` and `unit` are ids of the list of quantities (`gauge/readings/data`), `value` is in that unit, and
    `uncertainty` is the standard uncertainty in the same unit, one standard deviation (JCGM 100:2008). `part`, `side`
    and `position` say where on the car; `spot` where within it: words of the list of spots (``bottom``, ``top
    front``) or a number (a cylinder, a cell, the mark of a seat of five), empty where nobody said. Readings of one
    `series` were taken together: the near readings of one spot, the pulls of one brake test; empty for a reading by
    itself. `details` are what else bears on the figure (``temperature_c``, ``state`` hot or cold, wet or dry).
    `instrument` is what was read, as it is called in the list of instruments or in the user's own words. `measured_at`
    is when, ISO 8601, None where nobody said.

    `source` is the id of the recording, picture or file it was taken from, with the moment of a recording in seconds
    and the words or the row, verbatim; a keyed reading has none.
    """

    quantity: str
    value: float
    unit: str
    uncertainty: float
    part: str
    side: Side | None = None
    position: Position | None = None
    spot: str = ""
    series: str = ""
    details: dict[str, float | str] = field(default_factory=dict)
    instrument: str = ""
    measured_at: str | None = None
    way: Way = Way.KEYED
    source: str = ""
    start_s: float | None = None
    end_s: float | None = None
    quote: str = ""


@dataclass(frozen=True, slots=True)
class KeptReading:
    """A reading in the store.

    Spoken ones and those off a picture are heard until a person lets them stand; keyed ones and those of a file stand
    at once. A struck one is kept and goes out nowhere. The first of `changes` is how it came in.
    """

    id: str
    reading: Reading
    state: State
    kept_at: str
    version: int = 1
    changes: tuple[Change, ...] = ()
