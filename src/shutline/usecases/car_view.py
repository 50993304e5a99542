"""A car laid out to be looked at: one recording with its words, what was found, and what is not known."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from shutline.car.carfile import CarFile, KeptFinding, Picture, Recording
from shutline.car.errors import Problem
from shutline.car.findings import State
from shutline.car.notes import Note
from shutline.car.plan import Layout
from shutline.car.plan.spread import sheet_size
from shutline.car.plan.thread import FALL
from shutline.publish.naming import place_name
from shutline.publish.report.entries import recording_numbers, tone_of
from shutline.publish.report.facts import facts
from shutline.publish.report.figure import MOST_PINS
from shutline.publish.report.gaps import gaps, put_right_lines
from shutline.publish.report.model import FactLine, SilentLine
from shutline.usecases.car_found import FoundLine, FoundRun, ordered_findings, run_at, spoken_at, struck_lines, worded
from shutline.usecases.car_plan import FILM_SHARE, body_of, chosen_recording, usual_recording
from shutline.usecases.car_survey import outline_coverage
from shutline.usecases.car_words import Moment, SaidRun, said_run
from shutline.usecases.odds import fact_odds
from shutline.usecases.odds_report import fact_sentences

if TYPE_CHECKING:
    from shutline.store import Store


@dataclass(frozen=True, slots=True)
class NoteLine:
    """One note made at the car: the name of its place, its picture, or the number of its recording."""

    note: Note
    name: str
    picture: Picture | None = None
    recording: int | None = None


@dataclass(frozen=True, slots=True)
class CarView:
    """What the page of a car shows.

    `car` has neither histories nor words (`Store.car_outline`). `number` counts the recordings from 1; 0 where there
    is none. `moments` hold, for each finding in the order of their numbers, recording, start and end. `poster` is the
    SHA-256 of a picture to be shown until the film is played. `sheet` is width and height of the Plan's sheet,
    `above` how high the thread stands over it, and `thread_room` width and height of what that reaches over beside
    the Plan; 0 and None where nothing was said. `guide` is what the car was held against: `asked` places of it, of
    which `still_to_show` are open, and those `left_out` on purpose with who said so and why. `put_right` tells of each
    finding that was put right since its place, what was wrong, and how and when.
    """

    car: CarFile
    number: int
    recording: Recording | None
    words: SaidRun
    found: FoundRun
    moments: tuple[tuple[int | None, float | None, float | None], ...]
    put_right: tuple[SilentLine, ...]
    struck: tuple[FoundLine, ...]
    struck_count: int
    heard: int
    notes: tuple[NoteLine, ...]
    poster: str | None
    sheet: tuple[float, float]
    above: float
    thread_room: tuple[float, float] | None
    body_known: bool
    without_pin: int
    facts: tuple[FactLine, ...]
    silent: tuple[SilentLine, ...]
    passing: tuple[SilentLine, ...]
    unknown_facts: tuple[SilentLine, ...]
    left_out: tuple[SilentLine, ...]
    guide: str
    asked: int
    still_to_show: int
    problems: tuple[Problem, ...]


def view_car(
    store: Store,
    name: str,
    *,
    recording: int | None = None,
    struck: bool = False,
    first: int = 1,
    stretch: int = 0,
    at_s: float | None = None,
) -> CarView:
    """Lay out one car.

    Parameters
    ----------
    store : Store
        Where it is kept.
    name : str
        Its name, or a beginning of it that no other has.
    recording : int, optional
        Which of its recordings to show, from 1; left out, the first that is no note made at the car.
    struck : bool
        With what a person has struck.
    first : int
        A number of the findings to show, where there are too many to show all.
    stretch : int
        A count of the stretches of words to show, from 0, where there are too many to show all.
    at_s : float, optional
        A moment of the recording, seconds: the stretch that is being spoken then is among the words.

    Raises
    ------
    NotFoundError
        No car begins so, or it has no such recording (slug ``recording-number``).
    UserError
        Several cars begin so.
    """
    outline = store.car_outline(store.find_car("-".join(name.split())).name)
    car = outline.car
    number = usual_recording(car) if recording is None else recording
    chosen = chosen_recording(car, number)
    numbers = recording_numbers(car)
    ordered = ordered_findings(car)
    run = run_at(len(ordered), first)
    here = 0 if chosen is None else number
    words = said_run(store, chosen, _marks(ordered, chosen), stretch=stretch, at_s=at_s)
    body, body_problems = body_of(car)
    size = sheet_size(body, Layout.STRIP)
    fact_lines, fact_problems = facts(car, numbers, fact_sentences(fact_odds(store, car)))
    survey, survey_problems = outline_coverage(store, car)
    silent, passing, unknown, left_out = gaps(car, survey)
    return CarView(
        car=car,
        number=here,
        recording=chosen,
        words=words,
        found=FoundRun(car.name, outline.changed_at, here, len(ordered), *run, worded(store, car, ordered, run)),
        moments=tuple(spoken_at(one, numbers) for one in ordered),
        put_right=put_right_lines(car),
        struck=struck_lines(store, car) if struck else (),
        struck_count=sum(one.finding.state is State.STRUCK for one in car.findings),
        heard=sum(one.finding.state is State.HEARD for one in ordered),
        notes=_notes(car, numbers),
        poster=None if chosen is None else store.first_still(chosen.id),
        sheet=size,
        above=FALL if words.count else 0.0,
        thread_room=(FILM_SHARE * size[0], FALL) if words.count else None,
        body_known=body[0] is not None,
        without_pin=max(0, len(ordered) - MOST_PINS),
        facts=fact_lines,
        silent=silent,
        passing=passing,
        unknown_facts=unknown,
        left_out=left_out,
        guide=survey.choice.guide.label,
        asked=len(survey.checks),
        still_to_show=len(survey.open),
        problems=(*car.problems, *fact_problems, *body_problems, *survey_problems),
    )


def view_words(store: Store, name: str, *, recording: int = 1, stretch: int = 0) -> SaidRun:
    """Give the run of the words of a recording that a stretch lies in, marked as on the page of the car.

    Parameters
    ----------
    store : Store
        Where they are kept.
    name : str
        The car's whole name.
    recording : int
        Which of its recordings, from 1.
    stretch : int
        A count of the run's stretches, from 0.

    Raises
    ------
    NotFoundError
        There is no such car, or no such recording of it.
    """
    car = store.car_outline(name).car
    chosen = chosen_recording(car, recording)
    return said_run(store, chosen, _marks(ordered_findings(car), chosen), stretch=stretch)


def captions_of(store: Store, name: str, *, recording: int = 1) -> str:
    """Give the captions of one recording as WebVTT, as `shutline report --only captions` writes them.

    Raises
    ------
    NotFoundError
        There is no such car, or no such recording of it.
    UserError
        Several cars begin so.
    """
    from shutline.publish.captions import captions
    from shutline.publish.webvtt import webvtt

    car = store.car_outline(store.find_car("-".join(name.split())).name).car
    chosen = chosen_recording(car, recording)
    return webvtt(captions(() if chosen is None else store.stretches(chosen.id)))


def _marks(ordered: Sequence[KeptFinding], chosen: Recording | None) -> list[Moment]:
    """Give when each finding was spoken of in one recording, for its words to be marked."""
    if chosen is None:
        return []
    return [
        Moment(number, footing.start_s, footing.end_s, tone_of(one.finding).value)
        for number, one in enumerate(ordered, 1)
        for footing in one.finding.footings
        if footing.source == chosen.id and footing.start_s is not None and footing.end_s is not None
    ]


def _notes(car: CarFile, numbers: Mapping[str, int]) -> tuple[NoteLine, ...]:
    pictures = {picture.id: picture for picture in car.pictures}
    return tuple(
        NoteLine(
            note,
            place_name(note.part, note.side, note.position),
            pictures.get(note.source),
            numbers.get(note.source),
        )
        for note in car.notes
    )
