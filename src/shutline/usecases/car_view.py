"""A car laid out to be looked at: one recording with its words, what was found, and the Plan they all meet on."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from functools import lru_cache
from typing import TYPE_CHECKING

from shutline.car.carfile import CarFile, KeptFinding, Picture, Recording
from shutline.car.errors import NotFoundError, Problem, UserError
from shutline.car.findings import Drive, State
from shutline.car.notes import Note
from shutline.car.places import Visit
from shutline.car.plan import Layout, Pin, PinForm
from shutline.car.plan.spread import Body, Label, place_keys, sheet_width, spread_svg
from shutline.car.plan.thread import FALL
from shutline.car.recordings import Still
from shutline.car.speech import Stretch
from shutline.publish.naming import place_name
from shutline.publish.report.entries import otherwise_of, recording_numbers, sections
from shutline.publish.report.facts import facts
from shutline.publish.report.figure import MOST_PINS
from shutline.publish.report.gaps import gaps
from shutline.publish.report.model import Entry, FactLine, SilentLine, Tone
from shutline.publish.report.pictures import Album
from shutline.usecases.car_words import MarkedStretch, Moment, marked_words
from shutline.usecases.look import Shown, show_car
from shutline.usecases.own_words import own_words
from shutline.usecases.read import walk_of

if TYPE_CHECKING:
    from shutline.store import Store

FILM_SHARE, GAP_SHARE = 36 / 61.5, 2.5 / 61.5
"""How wide the film beside the Plan is, and the gap between the two, as shares of the Plan's width (``car.css``)."""

_FORMS = {
    Tone.FAULT: PinForm.BAD,
    Tone.UNSURE: PinForm.UNSURE,
    Tone.GOOD: PinForm.GOOD,
    Tone.RULED_OUT: PinForm.GOOD,
}


@dataclass(frozen=True, slots=True)
class FoundLine:
    """One finding as the page shows it.

    `entry` has its words and its number, that of the report; 0 for one that was struck. `start_s` and `end_s` are
    seconds in the recording of number `recording`, None where it stands on none. `place` counts in `CarView.places`.
    `pictures` are those it stands on.
    """

    entry: Entry
    state: State
    place: int
    stills: tuple[Still, ...]
    recording: int | None = None
    start_s: float | None = None
    end_s: float | None = None
    why: tuple[str, ...] = ()
    pictures: tuple[Picture, ...] = ()


@dataclass(frozen=True, slots=True)
class NoteLine:
    """One note made at the car: the name and the count of its place, its picture, or the number of its recording."""

    note: Note
    name: str
    place: int
    picture: Picture | None = None
    recording: int | None = None


@dataclass(frozen=True, slots=True)
class FoundPlace:
    """All that was found at one place."""

    name: str
    found: tuple[FoundLine, ...]


@dataclass(frozen=True, slots=True)
class FoundGroup:
    """One stretch of the walk."""

    title: str
    places: tuple[FoundPlace, ...]


@dataclass(frozen=True, slots=True)
class PlaceOnPlan:
    """Where a place is drawn: the keys of the Plan, and those it may be at where nobody said which."""

    keys: tuple[str, ...]
    maybe: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class CarView:
    """What the page of a car shows beside its car file.

    `number` counts the recordings from 1; 0 where there is none. `visits` are start, end and place of each stay of the
    walk. `figure` is SVG; `thread_room` is width and height, in its units, of what its thread reaches over beside it,
    None where there is no thread.
    """

    shown: Shown
    number: int
    recording: Recording | None
    words: tuple[MarkedStretch, ...]
    groups: tuple[FoundGroup, ...]
    struck: tuple[FoundLine, ...]
    struck_count: int
    heard: int
    notes: tuple[NoteLine, ...]
    places: tuple[PlaceOnPlan, ...]
    visits: tuple[tuple[float, float, int], ...]
    silent_keys: tuple[str, ...]
    figure: str = field(repr=False)
    thread_room: tuple[float, float] | None
    body_known: bool
    without_pin: int
    facts: tuple[FactLine, ...]
    silent: tuple[SilentLine, ...]
    passing: tuple[SilentLine, ...]
    unknown_facts: tuple[SilentLine, ...]
    problems: tuple[Problem, ...]

    @property
    def found(self) -> tuple[FoundLine, ...]:
        """All findings that are not struck, in the order of their numbers."""
        return tuple(line for group in self.groups for place in group.places for line in place.found)

    @property
    def poster(self) -> str | None:
        """The SHA-256 of the earliest still of this recording, to be shown until it is played."""
        here = [line for line in self.found if line.recording == self.number and line.stills]
        return min((line.stills[0] for line in here), key=lambda still: still.at_s).sha256 if here else None


class _Places:
    """The places spoken of, each once, with where they are drawn."""

    def __init__(self, body: Body) -> None:
        self._body = body
        self._order: dict[Label, int] = {}

    def of(self, label: Label) -> int:
        """Give the count of a place."""
        return self._order.setdefault(label, len(self._order))

    def all(self) -> tuple[PlaceOnPlan, ...]:
        """Give them in order."""
        return tuple(PlaceOnPlan(*_place_keys(self._body, label)) for label in self._order)


def view_car(store: Store, name: str, *, recording: int | None = None, struck: bool = False) -> CarView:
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

    Raises
    ------
    NotFoundError
        No car begins so, or it has no such recording (slug ``recording-number``).
    UserError
        Several cars begin so.
    """
    shown = show_car(store, name)
    return lay_out(shown, number=recording, struck=struck)


def lay_out(shown: Shown, *, number: int | None = None, struck: bool = False, layout: Layout = Layout.STRIP) -> CarView:
    """Lay out a car that is at hand; as `view_car`."""
    car = shown.car
    number = _usual(car) if number is None else number
    chosen = _chosen(car, number)
    numbers = recording_numbers(car)
    pictures = {picture.id: picture for picture in car.pictures}
    body, body_problems = _body(car)
    places = _Places(body)
    kept = {one.id: one for one in car.findings}
    groups = tuple(
        FoundGroup(
            section.title,
            tuple(
                FoundPlace(
                    place.name,
                    tuple(_line(entry, kept[entry.id], numbers, places, pictures) for entry in place.entries),
                )
                for place in section.places
            ),
        )
        for section in sections(car.going_out(), album=Album({}), recordings=numbers, otherwise=otherwise_of(car))
    )
    found = [line for group in groups for place in group.places for line in place.found]
    rejected = [one for one in car.findings if one.finding.state is State.STRUCK and not one.withdrawn]
    struck_lines = tuple(_struck_lines(rejected, numbers, places, pictures)) if struck else ()
    notes = tuple(
        NoteLine(
            note,
            place_name(note.part, note.side, note.position),
            places.of((note.part, note.side, note.position)),
            pictures.get(note.source),
            numbers.get(note.source),
        )
        for note in car.notes
    )
    visits = () if chosen is None else _walk(chosen.stretches, car.drive)
    stays = tuple((visit.start_s, visit.end_s, places.of((visit.part, visit.side, visit.position))) for visit in visits)
    pinned = _pinned(found)
    figure = spread_svg(
        body,
        layout,
        pins=[_pin(line, kept[line.entry.id]) for line in pinned],
        visits=visits,
        length_s=_length(chosen),
        title=f"{car.title}, unrolled",
        reach=FILM_SHARE + GAP_SHARE if layout is Layout.STRIP else 0.0,
    )
    fact_lines, fact_problems = facts(car, numbers)
    silent, passing, unknown = gaps(car)
    quiet = {
        key
        for one in shown.silent_parts
        for key in _place_keys(body, (one.part, one.side, one.position))[0]
        if one.breadth == "not mentioned"
    }
    here = None if chosen is None else number
    moments = [
        Moment(line.entry.number, footing.start_s, footing.end_s, line.entry.tone.value)
        for line in found
        if chosen is not None
        for footing in kept[line.entry.id].finding.footings
        if footing.source == chosen.id and footing.start_s is not None and footing.end_s is not None
    ]
    return CarView(
        shown=shown,
        number=here or 0,
        recording=chosen,
        words=() if chosen is None else marked_words(chosen.stretches, moments),
        groups=groups,
        struck=struck_lines,
        struck_count=len(rejected),
        heard=sum(line.state is State.HEARD for line in found),
        notes=notes,
        places=places.all(),
        visits=stays,
        silent_keys=tuple(sorted(quiet)),
        figure=figure,
        thread_room=(FILM_SHARE * sheet_width(body, layout), FALL) if visits else None,
        body_known=body[0] is not None,
        without_pin=len(found) - len(pinned),
        facts=fact_lines,
        silent=silent,
        passing=passing,
        unknown_facts=unknown,
        problems=(*car.problems, *fact_problems, *body_problems),
    )


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

    chosen = _chosen(show_car(store, name).car, recording)
    return webvtt(captions(() if chosen is None else chosen.stretches))


def _usual(car: CarFile) -> int:
    noted = {note.source for note in car.notes}
    return next((i for i, recording in enumerate(car.recordings, 1) if recording.id not in noted), 1)


def _chosen(car: CarFile, number: int) -> Recording | None:
    if not car.recordings and number <= 1:
        return None
    if 1 <= number <= len(car.recordings):
        return car.recordings[number - 1]
    raise NotFoundError(
        Problem(
            slug="recording-number",
            where=f"{car.name}, recording {number}",
            found=f"the car has {len(car.recordings)}",
            allowed="a recording of this car, counted from 1",
            advice="Choose one on the car's page.",
        )
    )


def _body(car: CarFile) -> tuple[Body, tuple[Problem, ...]]:
    """Choose what to draw; a plain saloon where the body that was told is none that can be drawn."""
    body: Body = (car.body, car.doors, car.drive)
    try:
        sheet_width(body, Layout.STRIP)
    except UserError as refused:
        return (None, None, car.drive), (refused.problem,)
    return body, ()


def _line(
    entry: Entry,
    kept: KeptFinding,
    numbers: Mapping[str, int],
    places: _Places,
    pictures: Mapping[str, Picture],
) -> FoundLine:
    finding = kept.finding
    first = min(
        (footing for footing in finding.footings if footing.start_s is not None and footing.source in numbers),
        key=lambda footing: (numbers[footing.source], footing.start_s),
        default=None,
    )
    return FoundLine(
        entry,
        finding.state,
        places.of((finding.part, finding.side, finding.position)),
        kept.stills,
        None if first is None else numbers[first.source],
        None if first is None else first.start_s,
        None if first is None else first.end_s,
        finding.why,
        tuple(pictures[footing.source] for footing in finding.footings if footing.source in pictures),
    )


def _struck_lines(
    rejected: Sequence[KeptFinding],
    numbers: Mapping[str, int],
    places: _Places,
    pictures: Mapping[str, Picture],
) -> Sequence[FoundLine]:
    kept = {one.id: one for one in rejected}
    # The report has no words for what goes out nowhere: they are worded as they were heard.
    heard = [replace(one, finding=replace(one.finding, state=State.HEARD)) for one in rejected]
    worded = sections(heard, album=Album({}), recordings=numbers)
    entries = [entry for section in worded for place in section.places for entry in place.entries]
    return [_line(replace(entry, number=0), kept[entry.id], numbers, places, pictures) for entry in entries]


def _pinned(found: Sequence[FoundLine]) -> list[FoundLine]:
    """Choose what has a number on the Plan: one of each place before a second of any, faults and doubts first."""
    order = (Tone.FAULT, Tone.UNSURE, Tone.GOOD, Tone.RULED_OUT)
    turns: dict[int, int] = {}
    ranked: list[tuple[int, int, int, FoundLine]] = []
    for line in sorted(found, key=lambda line: (order.index(line.entry.tone), line.entry.number)):
        turn = turns[line.place] = turns.get(line.place, -1) + 1
        ranked.append((turn, order.index(line.entry.tone), line.entry.number, line))
    ranked.sort(key=lambda item: item[:3])
    return sorted((line for *_, line in ranked[:MOST_PINS]), key=lambda line: line.entry.number)


def _pin(line: FoundLine, kept: KeptFinding) -> Pin:
    entry, finding = line.entry, kept.finding
    title = f"{entry.number}: {entry.place}, {entry.words.lower()}"
    return Pin(
        entry.number, finding.part, finding.side, finding.position, _FORMS[entry.tone], title, f"#{entry.anchor}"
    )


def _length(recording: Recording | None) -> float:
    if recording is None:
        return 0.0
    return recording.probe.length_s or max((stretch.end_s for stretch in recording.stretches), default=0.0)


def _walk(stretches: tuple[Stretch, ...], drive: Drive) -> tuple[Visit, ...]:
    if not stretches:
        return ()
    return _walked(stretches, drive, own_words().edition)


# A walk is read again from the words for each page; the words of one recording are the same until it is heard anew.
@lru_cache(maxsize=64)
def _walked(stretches: tuple[Stretch, ...], drive: Drive, _edition: str) -> tuple[Visit, ...]:
    return walk_of(stretches, drive=drive)


@lru_cache(maxsize=4096)
def _place_keys(body: Body, label: Label) -> tuple[tuple[str, ...], tuple[str, ...]]:
    return place_keys(body, label)
