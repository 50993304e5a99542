"""How long work tells where it is, and how it is stopped."""

from __future__ import annotations

import threading
from collections.abc import Callable
from dataclasses import dataclass

from shutline.car.errors import StoppedError


@dataclass(frozen=True, slots=True)
class Step:
    """One sign of life: which recording, which stage, how much of it is done (0 to 1), and a word about it."""

    recording: str
    stage: str
    done: float
    note: str = ""


Tell = Callable[[Step], None]


class Stop:
    """A flag that long work looks at between two pieces; safe to set from a signal handler or another thread."""

    def __init__(self) -> None:
        self._event = threading.Event()

    def ask(self) -> None:
        """Ask for a stop at the next good moment."""
        self._event.set()

    def asked(self) -> bool:
        """Tell whether a stop was asked for."""
        return self._event.is_set()

    def heed(self, where: str) -> None:
        """Raise `StoppedError` if a stop was asked for."""
        if self.asked():
            raise StoppedError(where)


def watched(where: str, stage: str, tell: Tell, stop: Stop, *, stopped: str = "") -> Callable[[float], None]:
    """Give what is called with the share that is done: it tells it, and raises `StoppedError` where a stop was asked.

    What is stopped so begins anew; `stopped` says more of what was stopped.
    """

    def watch(done: float) -> None:
        if stop.asked():
            raise StoppedError(stopped or where, goes_on=False)
        tell(Step(where, stage, done))

    return watch


def silent(step: Step) -> None:
    """Tell nobody."""
    del step
