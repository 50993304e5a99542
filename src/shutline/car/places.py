"""Where the speaker is while the film runs."""

from __future__ import annotations

from dataclasses import dataclass

from shutline.car.findings import Position, Side


@dataclass(frozen=True, slots=True)
class Visit:
    """A stay at one place of the car: seconds from the start of the recording, ``0 <= start_s <= end_s``."""

    start_s: float
    end_s: float
    part: str
    side: Side | None = None
    position: Position | None = None
