"""What a command shows: JSON on request, else words for a terminal; progress and trouble go to standard error."""

from __future__ import annotations

import json
import math
import sys
import textwrap
import time
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import asdict
from pathlib import Path
from typing import TYPE_CHECKING, Any

from shutline.car.errors import Problem, ShutlineError

if TYPE_CHECKING:
    from shutline.usecases.progress import Step, Tell

LOG_EVERY_S = 5.0
"""Away from a terminal a stage tells at most this often how far it is."""


def show_json(value: Any) -> None:
    """Print a record, or a dict of them, as JSON."""
    import msgspec

    print_line(json.dumps(msgspec.to_builtins(value), ensure_ascii=False, indent=1))


def print_line(text: str = "") -> None:
    """Write one line to standard output; what the terminal cannot show is replaced, never fatal."""
    _write(sys.stdout, text)


def log_line(text: str) -> None:
    """Write one line to standard error."""
    _write(sys.stderr, text)


def _write(stream: Any, text: str) -> None:
    encoding = stream.encoding or "utf-8"
    stream.write(text.encode(encoding, "replace").decode(encoding) + "\n")
    stream.flush()


def first_missing(folder: Path) -> Path | None:
    """Give the first folder on the way to one that is not there; None where all are."""
    missing = [one for one in (folder, *folder.parents) if not one.exists()]
    return missing[-1] if missing else None


def new_folder(missing: Path | None) -> Iterator[str]:
    """Say that a folder was made that was not there: a path may have been mistyped."""
    if missing is not None:
        yield printable(f"{missing} was not there: a new folder was made.")


def show_problem(problem: Problem) -> None:
    """Show trouble that did not stop the work."""
    log_line(f"note: {printable(problem.sentence())}")


def error_record(error: ShutlineError) -> dict[str, Any]:
    """Give the one shape that every error has in JSON; a change that came too late comes with both versions."""
    from shutline.store import StaleError
    from shutline.usecases.odds_stale import OddsStaleError

    if isinstance(error, StaleError | OddsStaleError):
        from shutline.web.trouble import both_versions

        return both_versions(error)
    return {"error": asdict(error.problem)}


def printable(text: str) -> str:
    """Give text without characters that would steer a terminal."""
    return "".join(c if c.isprintable() or c == "\n" else "\N{REPLACEMENT CHARACTER}" for c in text)


def wrapped(text: str, *, indent: str = "") -> str:
    """Break a paragraph for a terminal."""
    return textwrap.fill(text, width=100, initial_indent=indent, subsequent_indent=indent)


def clock(seconds: float | None) -> str:
    """Give a moment as ``m:ss`` or ``h:mm:ss``; a dash where there is none."""
    if seconds is None:
        return "-:--"
    whole = int(seconds)
    hours, rest = divmod(whole, 3600)
    return f"{hours}:{rest // 60:02d}:{rest % 60:02d}" if hours else f"{rest // 60}:{rest % 60:02d}"


def size(count: int) -> str:
    """Give a number of bytes in the largest unit that leaves it above one."""
    amount = float(count)
    for unit in ("bytes", "kB", "MB"):
        if amount < 1000:
            return f"{amount:.0f} {unit}" if unit == "bytes" else f"{amount:.1f} {unit}"
        amount /= 1000
    return f"{amount:.1f} GB"


@contextmanager
def progress(*, quiet: bool) -> Iterator[Tell]:
    """Show how far long work is: bars on a terminal, a line now and then elsewhere, nothing when quiet."""
    if quiet:
        yield lambda _: None
    elif sys.stderr.isatty():
        with _bars() as tell:
            yield tell
    else:
        yield _Log().tell


@contextmanager
def _bars() -> Iterator[Tell]:
    from rich.console import Console
    from rich.progress import BarColumn, Progress, TextColumn, TimeElapsedColumn

    columns = (
        TextColumn("{task.fields[recording]}", style="dim"),
        TextColumn("{task.description}"),
        BarColumn(bar_width=30),
        TextColumn("{task.percentage:>3.0f} %"),
        TimeElapsedColumn(),
        TextColumn("{task.fields[note]}", style="dim"),
    )
    with Progress(*columns, console=Console(stderr=True)) as shown:
        rows: dict[tuple[str, str], Any] = {}

        def tell(step: Step) -> None:
            key = (step.recording, step.stage)
            if key not in rows:
                rows[key] = shown.add_task(step.stage, total=1.0, recording=printable(step.recording), note="")
            shown.update(rows[key], completed=step.done, note=printable(step.note))

        yield tell


class _Log:
    """Progress as plain lines: the start and end of each stage, and now and then between, where there is news."""

    def __init__(self) -> None:
        self._last: dict[tuple[str, str], tuple[int, str, float]] = {}

    def tell(self, step: Step) -> None:
        key, tens, now = (step.recording, step.stage), math.floor(step.done * 10), time.monotonic()
        last_note = ""
        if key in self._last:
            last_tens, last_note, at_s = self._last[key]
            ends = step.done >= 1.0 and tens != last_tens
            if not ends and ((tens, step.note) == (last_tens, last_note) or now - at_s < LOG_EVERY_S):
                return
        self._last[key] = (tens, step.note, now)
        note = f" ({step.note})" if step.note != last_note and step.note else ""
        # Rounded down: 100 % is said of what is done alone.
        log_line(f"{printable(step.recording)}: {step.stage} {math.floor(step.done * 100)}%{printable(note)}")
