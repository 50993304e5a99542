"""Read the demo recording that comes with the program."""

from __future__ import annotations

from dataclasses import dataclass
from importlib.resources import as_file, files
from pathlib import Path

from shutline.usecases.add import Added, add
from shutline.usecases.progress import Stop, Tell, silent
from shutline.usecases.report import ReportMade, make_report
from shutline.usecases.settings import open_store

DEMO_CAR = "demo"
DEMO_TITLE = "1969 Averley Curlew 1300 saloon"
DEMO_FILM = "walk.mp4"


@dataclass(frozen=True, slots=True)
class DemoMade:
    """What the demo made: the recording brought in, and the report of its car."""

    added: Added
    report: ReportMade


def demo(out: Path, *, tell: Tell = silent, stop: Stop | None = None) -> DemoMade:
    """Take the demo film through the whole job, in a store of its own.

    Parameters
    ----------
    out : Path
        Folder for the output; the demo's store lies in it, apart from the user's own.
    tell, stop
        As for `add`.
    """
    with open_store(out / "store") as store, as_file(files("shutline.usecases") / "demo_recording" / DEMO_FILM) as film:
        added = add(store, [film], car=DEMO_CAR, title=DEMO_TITLE, tell=tell, stop=stop)
        report = make_report(store, DEMO_CAR, out=out, tell=tell, stop=stop)
    return DemoMade(added, report)
