"""The Plan of a car's page: the sheet, which is that of the body, and over it the thread and the numbers."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from functools import lru_cache
from typing import TYPE_CHECKING

from shutline.car.carfile import CarFile, KeptFinding, Recording
from shutline.car.errors import NotFoundError, Problem, UserError
from shutline.car.findings import Drive, State
from shutline.car.places import Visit
from shutline.car.plan import Layout, Pin, PinForm
from shutline.car.plan.spread import Body, Label, place_keys, sheet_size, sheet_svg, spread_svg
from shutline.car.speech import Stretch
from shutline.publish.naming import place_name
from shutline.publish.report.entries import tone_of
from shutline.publish.report.figure import MOST_PINS
from shutline.publish.report.model import Tone
from shutline.publish.wording import condition_words
from shutline.survey import Breadth, silences
from shutline.usecases.car_found import ordered_findings
from shutline.usecases.car_survey import outline_coverage
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
_ORDER = (Tone.FAULT, Tone.UNSURE, Tone.GOOD, Tone.RULED_OUT)


@dataclass(frozen=True, slots=True)
class PlaceOnPlan:
    """Where a place is drawn: the keys of the Plan, and those it may be at where nobody said which."""

    keys: tuple[str, ...]
    maybe: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class PlanView:
    """The Plan of a car, and where on it everything lies.

    `figure` is SVG, without the sheet unless it was asked for with it. `places` are counted from 0 by the others:
    `found` has one for each finding in the order of their numbers, `struck` one for each that was struck, by id, and
    `notes` one for each note; `visits` are start, end (seconds) and place of each stay of the walk. `silent_keys` are
    keys of what nobody spoke of. `changed_at` tells of which state of the car it is.
    """

    changed_at: str
    places: tuple[PlaceOnPlan, ...]
    found: tuple[int, ...]
    struck: Mapping[str, int]
    notes: tuple[int, ...]
    visits: tuple[tuple[float, float, int], ...]
    silent_keys: tuple[str, ...]
    figure: str = field(repr=False)


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


def view_plan(
    store: Store,
    name: str,
    *,
    recording: int | None = None,
    layout: Layout = Layout.STRIP,
    far: bool = False,
    whole: bool = False,
) -> PlanView:
    """Draw the Plan of a car with its thread and its numbers.

    Parameters
    ----------
    store : Store
        Where the car is kept.
    name : str
        Its whole name.
    recording : int, optional
        Whose walk the thread shows, from 1; left out, that of the page.
    layout : Layout
    far : bool
        Let the thread reach out over the film beside the Plan.
    whole : bool
        With the sheet.

    Raises
    ------
    NotFoundError
        There is no such car, or no such recording of it (slug ``recording-number``).
    """
    outline = store.car_outline(name)
    car = outline.car
    body, _ = body_of(car)
    places = _Places(body)
    ordered = ordered_findings(car)
    chosen = chosen_recording(car, usual_recording(car) if recording is None else recording)
    found = tuple(places.of(_label(one)) for one in ordered)
    struck = {one.id: places.of(_label(one)) for one in car.findings if one.finding.state is State.STRUCK}
    notes = tuple(places.of((note.part, note.side, note.position)) for note in car.notes)
    stretches = () if chosen is None else store.stretches(chosen.id)
    visits = _walk(stretches, car.drive)
    stays = tuple((visit.start_s, visit.end_s, places.of((visit.part, visit.side, visit.position))) for visit in visits)
    figure = spread_svg(
        body,
        layout,
        pins=_pins(ordered, found),
        visits=visits,
        length_s=_length(chosen, stretches),
        title=f"{car.title}, unrolled",
        reach=FILM_SHARE + GAP_SHARE if far else 0.0,
        with_sheet=whole,
    )
    quiet = {
        key
        for one in silences(car, found=outline_coverage(store, car)[0])
        if one.breadth is Breadth.NOT_MENTIONED
        for key in _place_keys(body, (one.part, one.side, one.position))[0]
    }
    return PlanView(outline.changed_at, places.all(), found, struck, notes, stays, tuple(sorted(quiet)), figure)


@lru_cache(maxsize=64)
def view_sheet(body: Body, layout: Layout) -> str:
    """Give the sheet of a body as SVG; raises UserError for a body or doors that are not allowed."""
    return sheet_svg(body, layout)


def body_of(car: CarFile) -> tuple[Body, tuple[Problem, ...]]:
    """Choose what to draw; a plain saloon where the body that was told is none that can be drawn."""
    body: Body = (car.body, car.doors, car.drive)
    try:
        sheet_size(body, Layout.STRIP)
    except UserError as refused:
        return (None, None, car.drive), (refused.problem,)
    return body, ()


def usual_recording(car: CarFile) -> int:
    """Give the number of the first recording that is no note made at the car."""
    noted = {note.source for note in car.notes}
    return next((i for i, recording in enumerate(car.recordings, 1) if recording.id not in noted), 1)


def chosen_recording(car: CarFile, number: int) -> Recording | None:
    """Give a recording by its number; None for a car without any.

    Raises
    ------
    NotFoundError
        There is no such recording (slug ``recording-number``).
    """
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


def pinned(tones: Sequence[Tone], places: Sequence[int]) -> list[int]:
    """Choose which findings have a number on the Plan: one of each place before a second of any, faults first.

    Parameters
    ----------
    tones, places
        Of each finding in the order of their numbers.

    Returns
    -------
    list of int
        Numbers, from 1, in order; at most as many as the report's Plan has.
    """
    turns: dict[int, int] = {}
    ranked: list[tuple[int, int, int]] = []
    for rank, number in sorted((_ORDER.index(tone), number) for number, tone in enumerate(tones, 1)):
        turn = turns[places[number - 1]] = turns.get(places[number - 1], -1) + 1
        ranked.append((turn, rank, number))
    return sorted(number for _, _, number in sorted(ranked)[:MOST_PINS])


def _pins(ordered: Sequence[KeptFinding], places: Sequence[int]) -> list[Pin]:
    tones = [tone_of(one.finding) for one in ordered]
    pins = []
    for number in pinned(tones, places):
        finding = ordered[number - 1].finding
        place = place_name(finding.part, finding.side, finding.position)
        words = condition_words()[finding.condition, finding.found][0]
        title = f"{number}: {place}, {words.lower()}"
        form = _FORMS[tones[number - 1]]
        pins.append(Pin(number, finding.part, finding.side, finding.position, form, title, f"#finding-{number}"))
    return pins


def _label(kept: KeptFinding) -> Label:
    return kept.finding.part, kept.finding.side, kept.finding.position


def _length(recording: Recording | None, stretches: Sequence[Stretch]) -> float:
    if recording is None:
        return 0.0
    return recording.probe.length_s or max((stretch.end_s for stretch in stretches), default=0.0)


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
