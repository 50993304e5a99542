"""Test histories that came in as files: the record of one mark, and what a person said of it."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

from shutline.car.changes import Change


class RecordState(StrEnum):
    """What a person said of a record."""

    OPEN = "open"
    """Nobody has said anything: it counts where it carries a mark of the car, and is kept apart else."""
    SAME = "same"
    """A person said that it is this car."""
    OTHER = "other"
    """A person said that it is another car."""


@dataclass(frozen=True, slots=True)
class KeptTests:
    """A record as it came in: its mark without spaces, the file's name, and the record as the file had it.

    `kept_at` and `decided_at` are ISO 8601, UTC; the latter and `decided_by` None while nobody has decided. `changes`
    are what people said of it, the first how it came in.
    """

    id: str
    mark: str
    name: str
    record: dict[str, object]
    state: RecordState
    kept_at: str
    kept_by: str
    decided_at: str | None = None
    decided_by: str | None = None
    version: int = 1
    changes: tuple[Change, ...] = ()
