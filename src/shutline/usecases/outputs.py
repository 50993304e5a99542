"""What can be made of a car and is kept beside the store: made on request, and made anew once the car file changes.

Each lies in ``outputs/CAR/`` of the store's folder, in a folder of its own whose name ends in a mark of all that it was
made from, so that what was made from something else is never taken for what is so now.
"""

from __future__ import annotations

import contextlib
import hashlib
import json
import re
import shutil
import tempfile
import time
import unicodedata
from collections.abc import Iterable
from dataclasses import asdict, dataclass
from datetime import UTC, datetime
from pathlib import Path
from typing import TYPE_CHECKING, Any

from shutline.car.errors import BrokenWorldError, NotFoundError, Problem
from shutline.usecases.describe import describing_mark
from shutline.usecases.engine_report import engine_mark
from shutline.usecases.guides import guides_mark
from shutline.usecases.house import house
from shutline.usecases.look import find_car
from shutline.usecases.mask_looks import look_before_going_out
from shutline.usecases.masks import masks_mark
from shutline.usecases.odds_report import odds_mark
from shutline.usecases.own_words import words_mark
from shutline.usecases.prep_report import prep_report_mark
from shutline.usecases.price_report import price_report_mark
from shutline.usecases.progress import Stop, Tell, silent
from shutline.usecases.report import WHATS, make_report, wanted_outputs, without_struck

if TYPE_CHECKING:
    from shutline.car.carfile import CarFile
    from shutline.store import Store

_MADE = "made.json"
_MARK = 16
_TRIES = 3
_ABANDONED_S = 3600.0
_LONGEST_NAME = 80
# What no file can be called on one system or another, and marks that turn the direction of writing.
_UNNAMED = re.compile(r'[\\/:*?"<>|\x00-\x1f\x7f]|[\u200e\u200f\u202a-\u202e\u2066-\u2069]')


@dataclass(frozen=True, slots=True)
class OutputFile:
    """One file: its own name, the name it is handed out under, and its size in bytes."""

    name: str
    handed_out_as: str
    byte_size: int


@dataclass(frozen=True, slots=True)
class Output:
    """One of `WHATS`, as it was last made.

    `made_at` is ISO 8601 in UTC, None where it was never made. `fresh` is False where the car file, the house or the
    words or guides of the user's own have changed since; then `files` is empty, for nothing out of date is handed out.
    """

    what: str
    made_at: str | None = None
    fresh: bool = False
    files: tuple[OutputFile, ...] = ()
    problems: tuple[Problem, ...] = ()


@dataclass(frozen=True, slots=True)
class Outputs:
    """What can be made of one car, and how many of the findings in it nobody has confirmed yet."""

    car: str
    title: str
    findings: int
    unconfirmed: int
    spoken: bool
    outputs: tuple[Output, ...]


def outputs(store: Store, name: str) -> Outputs:
    """Say what is made of a car, and whether it still holds.

    Parameters
    ----------
    store : Store
        Where the car is kept.
    name : str
        Its name, or a beginning of it that no other has.

    Raises
    ------
    NotFoundError, UserError
        No car begins so, or several do; the user's own words or the house cannot be read.
    """
    return _outputs(store, find_car(store, name))


def make_outputs(
    store: Store,
    name: str,
    *,
    only: Iterable[str] | None = None,
    made_at: datetime | None = None,
    tell: Tell = silent,
    stop: Stop | None = None,
) -> Outputs:
    """Make what is not made yet, or was made from something else than is so now; as `make_report` otherwise."""
    wanted = wanted_outputs(only)
    moment = (made_at or datetime.now(UTC)).astimezone(UTC).replace(microsecond=0)
    if {"html", "pdf"} & set(wanted):
        # What is found is part of what the report is made from.
        look_before_going_out(store, name, tell=tell, stop=stop)
    for what in wanted:
        for _ in range(_TRIES):
            car = find_car(store, name)
            folder = _folder(store, car, _marks(store, car), what)
            if (folder / _MADE).is_file() or _make(store, car, what, folder, moment=moment, tell=tell, stop=stop):
                _clear(folder)
                break
    return outputs(store, name)


def output_file(store: Store, name: str, file: str, *, made_at: datetime | None = None) -> tuple[Path, str]:
    """Give where a file lies and the name it is handed out under; it is made first where that is needed.

    Raises
    ------
    NotFoundError
        Nothing that can be made of the car is called so (slug ``output-file-unknown``).
    """
    what = next((what for what in WHATS if re.fullmatch(_FILES[what], file)), None)
    if what is not None:
        made = make_outputs(store, name, only=[what], made_at=made_at)
        for one in (one for output in made.outputs if output.what == what for one in output.files):
            if one.name == file:
                car = find_car(store, made.car)
                return _folder(store, car, _marks(store, car), what) / file, one.handed_out_as
    raise NotFoundError(
        Problem(
            slug="output-file-unknown",
            where=f"{name}, {file[:60]!r}",
            found="nothing of this name can be made of this car",
            allowed="report.html, report.pdf, car-file.json, captions.vtt, chapters.vtt; with several films numbered",
            advice="Open the outputs of the car again.",
        )
    )


_FILES = {
    "html": r"report\.html",
    "pdf": r"report\.pdf",
    "json": r"car-file\.json",
    "captions": r"captions(-\d{1,4})?\.vtt",
    "chapters": r"chapters(-\d{1,4})?\.vtt",
    "description": r"description\.(txt|html|md)|offer\.jsonld",
}


def _outputs(store: Store, car: CarFile) -> Outputs:
    from shutline.car.findings import State

    going_out = car.going_out()
    marks = _marks(store, car)
    return Outputs(
        car=car.name,
        title=car.title,
        findings=len(going_out),
        unconfirmed=sum(kept.finding.state is State.HEARD for kept in going_out),
        spoken=any(recording.stretches for recording in car.recordings),
        outputs=tuple(_output(car, what, _folder(store, car, marks, what)) for what in WHATS),
    )


def _output(car: CarFile, what: str, folder: Path) -> Output:
    made = _read(folder)
    if made is not None:
        files = tuple(OutputFile(one, _handed_out_as(car, one), size) for one, size in made["files"])
        problems = tuple(Problem(**one) for one in made["problems"])
        return Output(what, made["made_at"], fresh=True, files=files, problems=problems)
    older = (_read(other) for other in folder.parent.glob(f"{what}-*"))
    return Output(what, max((one["made_at"] for one in older if one is not None), default=None))


def _make(
    store: Store, car: CarFile, what: str, folder: Path, *, moment: datetime, tell: Tell, stop: Stop | None
) -> bool:
    """Make one output aside, and put the whole of it in its place; False where the car has changed meanwhile."""
    try:
        folder.parent.mkdir(parents=True, exist_ok=True)
        with tempfile.TemporaryDirectory(prefix=".making-", dir=folder.parent) as aside:
            made = make_report(
                store, car.name, out=Path(aside) / what, only=[what], made_at=moment, tell=tell, stop=stop
            )
            if _marks(store, find_car(store, car.name))[what] != folder.name.rpartition("-")[2]:
                return False
            note = {
                "made_at": moment.isoformat().replace("+00:00", "Z"),
                "files": [(Path(file.path).name, file.byte_size) for file in made.files],
                "problems": [asdict(problem) for problem in made.problems],
            }
            there = Path(aside) / what
            there.mkdir(exist_ok=True)
            (there / _MADE).write_text(json.dumps(note, ensure_ascii=False) + "\n", encoding="utf-8")
            if not (folder / _MADE).is_file():
                shutil.rmtree(folder, ignore_errors=True)
                there.replace(folder)
    except OSError as trouble:
        if (folder / _MADE).is_file():
            return True  # another run has made the same meanwhile
        raise BrokenWorldError(
            Problem(
                slug="output-not-written",
                where=str(folder),
                found=trouble.strerror or type(trouble).__name__,
                allowed="a folder that can be written to, with room for the report",
                advice="Make room in the store's folder.",
            )
        ) from trouble
    return True


def _clear(folder: Path) -> None:
    """Take away what was made from something else; a folder that is in use stays until the next time."""
    what = folder.name.rpartition("-")[0]
    for other in folder.parent.glob(f"{what}-*"):
        if other != folder:
            shutil.rmtree(other, ignore_errors=True)
    for aside in folder.parent.glob(".making-*"):
        with contextlib.suppress(OSError):
            if time.time() - aside.stat().st_mtime > _ABANDONED_S:
                shutil.rmtree(aside, ignore_errors=True)


def _folder(store: Store, car: CarFile, marks: dict[str, str], what: str) -> Path:
    return store.folder / "outputs" / car.name / f"{what}-{marks[what]}"


def _marks(store: Store, car: CarFile) -> dict[str, str]:
    """Give for each output a mark of all that it is made from."""
    import msgspec

    from shutline import remarks
    from shutline.car.schema import FORMAT_VERSION

    text = FORMAT_VERSION + msgspec.json.encode(without_struck(car), order="deterministic").decode()
    details = house()
    told = json.dumps([details.name, details.lines, details.telephone])
    parts = (text, remarks.edition())
    words, guides = words_mark(), guides_mark()
    masks = masks_mark(store, car) + engine_mark(store, car)
    odds = odds_mark(store, car) + prep_report_mark(store, car) + price_report_mark(store, car)
    made_from = {
        "html": (*parts, words, guides, told, masks, odds),
        "pdf": (*parts, words, guides, told, masks, odds),
        "json": parts,
        "captions": parts,
        "chapters": (*parts, words),
        "description": (*parts, guides, told, describing_mark(store, car)),
    }
    return {what: hashlib.sha256("\0".join((what, *made_from[what])).encode()).hexdigest()[:_MARK] for what in WHATS}


def _read(folder: Path) -> dict[str, Any] | None:
    try:
        made: dict[str, Any] = json.loads((folder / _MADE).read_text(encoding="utf-8"))
    except (OSError, ValueError):
        return None
    return made


def _handed_out_as(car: CarFile, file: str) -> str:
    """Name a file after its car, so that two of them can lie in one folder."""
    title = unicodedata.normalize("NFC", " ".join(_UNNAMED.sub(" ", car.title).split()))
    return f"{title[:_LONGEST_NAME].strip(' .') or car.name} - {file}"
