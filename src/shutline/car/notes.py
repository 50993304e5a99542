"""What a person keeps of a place of the car while standing beside it."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

from shutline.car.findings import Position, Side


class NoteKind(StrEnum):
    """What sort of note it is."""

    PICTURE = "picture"
    SPOKEN = "spoken"
    TYPED = "typed"


@dataclass(frozen=True, slots=True)
class Note:
    """A picture, some spoken words or some typed words that a person put down at a place of the car.

    `source` is the id of the picture or the recording, empty for typed words, which stand in `words`. `at` is when it
    was made, by the clock of whoever made it; `kept_at` when it came in, by the store's (ISO 8601). It says nothing of
    the place by itself: what it shows or tells is a finding, with this as its footing.
    """

    id: str
    part: str
    side: Side | None
    position: Position | None
    kind: NoteKind
    source: str
    words: str
    at: str
    kept_at: str
    author: str
