"""Keep what a library of C prints out of what a command gives out.

HiGHS 1.12, as scipy 1.17 has it, prints a line of its own when it mends a solution, whatever its options say; in the
JSON of a command that line would be trouble.
"""

from __future__ import annotations

import ctypes
import os
import sys
import threading
from collections.abc import Iterator
from contextlib import contextmanager

_OUT, _ERRORS = 1, 2
_turn = threading.Lock()


@contextmanager
def told_as_errors() -> Iterator[None]:
    """Send what is written to standard output by anybody to standard error meanwhile, where there are both."""
    with _turn:
        try:
            kept = os.dup(_OUT)
        except OSError:
            yield
            return
        try:
            _flush()
            os.dup2(_ERRORS, _OUT)
            yield
        finally:
            _flush()
            os.dup2(kept, _OUT)
            os.close(kept)


def _flush() -> None:
    """Write out what Python and C hold back."""
    if sys.stdout is not None and not sys.stdout.closed:
        sys.stdout.flush()
    ctypes.CDLL("ucrtbase" if os.name == "nt" else None).fflush(None)
