"""What strangers asked of a car and the car file could not answer."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class KeptQuestion:
    """A question that had no answer when it was asked.

    `id` is made of the car and the words, so that the same question is kept once. `words` are as they were typed. `at`
    is when it came first (ISO 8601, UTC), `author` who put it in; `ended_at` and `ended_by` tell who took it off the
    list, None and "" while it is on it.
    """

    id: str
    words: str
    at: str
    author: str
    ended_at: str | None = None
    ended_by: str = ""
