"""How much of many bytes has been gone through, told piece by piece to whoever waits for it."""

from __future__ import annotations

from collections.abc import Callable

Watch = Callable[[float], None]
"""Takes how much is done, 0 to 1. What it raises ends the work: nothing half made is left."""


class Share:
    """Tells the share of a number of bytes that has been gone through."""

    def __init__(self, whole: int, watch: Watch | None) -> None:
        self._whole, self._watch, self._done = max(whole, 1), watch, 0

    def __call__(self, more: int) -> None:
        """Count more bytes."""
        self._done += more
        if self._watch is not None:
            self._watch(min(1.0, self._done / self._whole))
