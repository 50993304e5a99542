"""What strangers asked of a car, and which of it goes onto the buyer's page."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class PageSaid:
    """That a person put a question onto the buyer's page, or took it off; when (ISO 8601, UTC)."""

    on: bool
    at: str
    author: str


@dataclass(frozen=True, slots=True)
class KeptQuestion:
    """A question that was asked, whether the car file answers it or not.

    `id` is made of the car and the words, so that the same question is kept once. `words` are as they were typed. `at`
    is when it came first (ISO 8601, UTC), `author` who put it in; `ended_at` and `ended_by` tell who took it off the
    list, None and "" while it is on it. `said` is what people said of it and the buyer's page, the first first;
    `on_page` what came of that: a question of which nobody has said anything is not on it.
    """

    id: str
    words: str
    at: str
    author: str
    ended_at: str | None = None
    ended_by: str = ""
    said: tuple[PageSaid, ...] = ()
    on_page: bool = False
