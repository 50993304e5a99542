"""What a Ctrl-C does to long work."""

from __future__ import annotations

import signal
from collections.abc import Iterator
from contextlib import contextmanager
from typing import TYPE_CHECKING

from shutline.cli import output

if TYPE_CHECKING:
    from shutline.usecases.progress import Stop


@contextmanager
def stoppable() -> Iterator[Stop]:
    """Turn the first Ctrl-C into a request to stop at the next good moment; the second one stops at once."""
    from shutline.usecases.progress import Stop

    stop = Stop()

    def ask(number: int, frame: object) -> None:
        del number, frame
        if stop.asked():
            raise KeyboardInterrupt
        output.log_line("stopping after this piece; Ctrl-C again stops at once")
        stop.ask()

    try:
        former = signal.signal(signal.SIGINT, ask)
    except ValueError:  # not the main thread: whoever runs us there handles signals
        yield stop
        return
    try:
        yield stop
    finally:
        signal.signal(signal.SIGINT, former)
