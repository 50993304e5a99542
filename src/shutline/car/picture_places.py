"""Which part of the car a picture taken by hand belongs to, as a person said."""

from __future__ import annotations

from dataclasses import dataclass

from shutline.car.findings import Position, Side


@dataclass(frozen=True, slots=True)
class PicturePlace:
    """What a person said of a picture, by its id: the place of the car that it is of.

    `part` is None where they said that it is of no part in particular. `version` counts what was said, from 1; `at` is
    ISO 8601 in UTC.
    """

    picture: str
    part: str | None
    side: Side | None
    position: Position | None
    version: int
    at: str
    author: str
