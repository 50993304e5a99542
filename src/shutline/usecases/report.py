"""Write what goes out of a car file: report, captions, chapters, and the car file as JSON."""

from __future__ import annotations

import contextlib
import json
import os
from collections.abc import Iterable
from dataclasses import dataclass, replace
from datetime import UTC, datetime
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING

from shutline.car.carfile import CarFile, KeptFinding, Recording
from shutline.car.errors import BrokenWorldError, Problem, UserError
from shutline.car.figures import FigureState
from shutline.car.findings import State
from shutline.car.kept_tests import RecordState
from shutline.car.places import Visit
from shutline.usecases.house import house
from shutline.usecases.look import find_car
from shutline.usecases.mask_looks import look_before_going_out
from shutline.usecases.papers_bare import bare_papers
from shutline.usecases.progress import Step, Stop, Tell, silent
from shutline.usecases.read import walk_of

if TYPE_CHECKING:
    from shutline.publish.report import ReportModel
    from shutline.store import Store

REPORT = ("html", "pdf", "json", "captions", "chapters")
"""What a report is made of."""

WHATS = (*REPORT, "description")
"""All that can be made of a car. The description only where it is asked for: it tells nothing but what stands."""


@dataclass(frozen=True, slots=True)
class WrittenFile:
    """One file that was written; `what` is one of `WHATS`."""

    what: str
    path: str
    byte_size: int


@dataclass(frozen=True, slots=True)
class ReportMade:
    """Where the output of a car lies, and how much of it nobody has confirmed yet."""

    car: str
    folder: str
    files: tuple[WrittenFile, ...]
    findings: int
    unconfirmed: int
    problems: tuple[Problem, ...] = ()


def make_report(
    store: Store,
    name: str,
    *,
    out: Path | None = None,
    only: Iterable[str] | None = None,
    made_at: datetime | None = None,
    tell: Tell = silent,
    stop: Stop | None = None,
) -> ReportMade:
    """Write what goes out of one car.

    Each file is written whole under another name and then put in its place, so that none is ever half there.

    Parameters
    ----------
    store : Store
        Where the car file is kept.
    name : str
        The car's name, or a beginning of it that no other has.
    out : Path, optional
        Folder for the output, made if it is not there; ``out/NAME`` in the present folder when left out.
    only : iterable of str, optional
        Which of `WHATS`; `REPORT` when left out.
    made_at : datetime, optional
        The moment the report speaks of; now when left out. The same moment gives the same bytes.

    Raises
    ------
    NotFoundError, UserError
        No such car, or `only` names something else.
    BrokenWorldError
        The folder cannot be written to.
    StoppedError
        `stop` was set.
    """
    from shutline.publish.struck import without_struck_words

    stop = stop or Stop()
    wanted = wanted_outputs(tuple(only or ()) or REPORT)
    car = find_car(store, name)
    folder = out or Path("out") / car.name
    moment = (made_at or datetime.now(UTC)).astimezone(UTC).replace(microsecond=0)
    files: list[WrittenFile] = []
    problems: list[Problem] = [_unfinished(recording) for recording in car.recordings if not recording.complete]
    walks = {recording.id: _walk(recording, car) for recording in car.recordings}
    car = without_struck_words(car)
    model: ReportModel | None = None
    for what in wanted:
        stop.heed(car.name)
        tell(Step(car.name, what, 0.0))
        if what in {"html", "pdf"} and model is None:
            looked = look_before_going_out(store, car.name, tell=tell, stop=stop)
            problems += looked.problems if looked is not None else ()
            model = _model(store, car, walks, moment, problems)
        rendered = _described(store, car) if what == "description" else _render(what, car, walks, model)
        for file_name, data in rendered:
            files.append(write_whole(folder / file_name, data, what))
        tell(Step(car.name, what, 1.0))
    going_out = car.going_out()
    heard = sum(kept.finding.state is State.HEARD for kept in going_out)
    return ReportMade(car.name, str(folder), tuple(files), len(going_out), heard, tuple(problems))


def without_struck(car: CarFile) -> CarFile:
    """Give a car file without what a person has struck or set aside: its words and second readings of it too."""
    from shutline.publish.struck import without_struck_words

    car = without_struck_words(car)
    struck = {kept.id for kept in car.findings} - {kept.id for kept in car.told()}
    readings = (
        replace(reading, views=tuple(view for view in reading.views if view.finding not in struck))
        for reading in car.second_readings
    )
    return replace(
        car,
        findings=car.told(),
        facts=tuple(kept for kept in car.facts if kept.fact.state is not State.STRUCK and not kept.withdrawn),
        second_readings=tuple(readings),
        figures=tuple(figure for figure in car.figures if figure.state is not FigureState.ASIDE),
        readings=tuple(kept for kept in car.readings if kept.state is not State.STRUCK),
        tests=tuple(kept for kept in car.tests if kept.state is not RecordState.OTHER),
        past=tuple(kept for kept in car.past if kept.state is not State.STRUCK),
        papers=bare_papers(car),
    )


def _unfinished(recording: Recording) -> Problem:
    return Problem(
        slug="not-finished",
        where=recording.original.name,
        found="it has not been read to its end",
        allowed="the report says so and holds what there is",
        advice="Give `shutline add` with it again, then the report again.",
    )


def wanted_outputs(only: Iterable[str] | None) -> tuple[str, ...]:
    """Give what is meant, in the order of `WHATS`, or all of them; raises UserError for what there is not."""
    asked = tuple(only or ()) or WHATS
    for what in asked:
        if what not in WHATS:
            raise UserError(
                Problem(
                    slug="output-unknown",
                    where="--only",
                    found=repr(what),
                    allowed=f"one of {', '.join(WHATS)}",
                    advice="Leave it out to write all of them.",
                )
            )
    return tuple(what for what in WHATS if what in asked)


def _walk(recording: Recording, car: CarFile) -> tuple[Visit, ...]:
    """Say where the speaker was; read again from the words, which gives the same every time."""
    if not recording.stretches:
        return ()
    return walk_of(recording.stretches, drive=car.drive)


def _model(
    store: Store, car: CarFile, walks: dict[str, tuple[Visit, ...]], moment: datetime, problems: list[Problem]
) -> ReportModel:
    from shutline.publish.report import build_report
    from shutline.survey import coverage
    from shutline.usecases import prep_report, price_report
    from shutline.usecases.engine_report import engine_section
    from shutline.usecases.guides import own_shelf
    from shutline.usecases.history_report import history_section
    from shutline.usecases.masks import report_told
    from shutline.usecases.measured_report import measured_section
    from shutline.usecases.odds_report import odds_section
    from shutline.usecases.papers_report import papers_section
    from shutline.usecases.published_pictures import pictures_out

    stills, pictures = pictures_out(store, car, problems)
    prepared = partial(prep_report.prep_section, store, car, day=moment.date())
    priced = partial(price_report.price_section, store, car, day=moment.date())
    # The thread follows one film: the first in which somebody speaks.
    walk = next((walks[recording.id] for recording in car.recordings if recording.stretches), ())
    return build_report(
        car,
        visits=walk,
        stills=stills,
        pictures=pictures,
        made_at=moment.isoformat(),
        house=house().on_report(),
        survey=coverage(car, on=own_shelf()),
        masks=report_told(store, car),
        engine=engine_section(store, car),
        measured=measured_section(car),
        history=history_section(car, day=moment.date()),
        papers=papers_section(car),
        prep=prep_report.or_told(prep_report.HEADING, prep_report.INTRO, prepared, problems),
        price=prep_report.or_told(price_report.HEADING, price_report.INTRO, priced, problems),
        odds=odds_section(store, car),
    )


def _described(store: Store, car: CarFile) -> list[tuple[str, bytes]]:
    from shutline.usecases.describe import description_files

    return description_files(store, car)


def _render(
    what: str, car: CarFile, walks: dict[str, tuple[Visit, ...]], model: ReportModel | None
) -> list[tuple[str, bytes]]:
    if what == "json":
        from shutline.car.schema import car_file_json

        going_out = car_file_json(without_struck(car))
        return [("car-file.json", (json.dumps(going_out, ensure_ascii=False, indent=1) + "\n").encode())]
    if what == "html" and model is not None:
        from shutline.publish.report import report_html

        return [("report.html", report_html(model).encode())]
    if what == "pdf" and model is not None:
        from shutline.publish.report import report_pdf

        return [("report.pdf", report_pdf(model))]
    from shutline.publish.captions import captions
    from shutline.publish.chapters import chapters
    from shutline.publish.webvtt import webvtt

    spoken = [recording for recording in car.recordings if recording.stretches]
    written: list[tuple[str, bytes]] = []
    for number, recording in enumerate(spoken, start=1):
        if what == "captions":
            cues = captions(recording.stretches)
        else:
            length_s = recording.probe.length_s or recording.stretches[-1].end_s
            cues = chapters(walks[recording.id], length_s=length_s, findings=_said_in(recording, car))
        # One recording is the rule; with more, each has its number.
        name = f"{what}.vtt" if len(spoken) == 1 else f"{what}-{number}.vtt"
        written.append((name, webvtt(cues).encode()))
    return written


def _said_in(recording: Recording, car: CarFile) -> list[KeptFinding]:
    return [kept for kept in car.going_out() if any(f.source == recording.id for f in kept.finding.footings)]


def write_whole(path: Path, data: bytes, what: str) -> WrittenFile:
    """Write a file under another name and put it in its place; raises BrokenWorldError where it cannot be."""
    part = path.with_name(f".{path.name}.part")
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        with part.open("wb") as file:
            file.write(data)
            file.flush()
            os.fsync(file.fileno())
        part.replace(path)
    except OSError as trouble:
        with contextlib.suppress(OSError):
            part.unlink(missing_ok=True)
        raise BrokenWorldError(
            Problem(
                slug="output-not-written",
                where=str(path),
                found=trouble.strerror or type(trouble).__name__,
                allowed="a folder that can be written to, with room for the report",
                advice="Make room, or name another folder with --out.",
            )
        ) from trouble
    return WrittenFile(what, str(path), len(data))
