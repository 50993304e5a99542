"""What was done to a record that is kept with its changes."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Change:
    """One change of a record: when (ISO 8601, UTC), by whom, what was done; the fields that changed and no others."""

    at: str
    author: str
    action: str
    before: dict[str, object]
    after: dict[str, object]
