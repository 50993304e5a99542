"""What changed of a car from one recording or occasion to another, and the statement of it for both parties to sign."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import UTC, datetime
from pathlib import Path
from typing import TYPE_CHECKING

from shutline.car.carfile import CarFile, KeptFinding, Recording
from shutline.car.errors import Problem, UserError
from shutline.publish.naming import capitalised, place_name
from shutline.publish.statement import statement
from shutline.survey.changed import Because, Changed, Outcome
from shutline.survey.changed import changed as compare
from shutline.survey.occasions import occasions
from shutline.survey.odds import Told
from shutline.usecases.look import find_car
from shutline.usecases.odds_sides import OddsSide, Sides
from shutline.usecases.own_odds import own_odds_tables
from shutline.usecases.report import write_whole

if TYPE_CHECKING:
    from shutline.publish.bare import BarePicture
    from shutline.publish.changed import ChangedModel
    from shutline.store import Store

FILE = "changed.pdf"

WORK = "work"
"""The id of the time after the work that was ticked off."""

PUT_RIGHT = "put right"
"""What is told of a fault after the work: that it is gone, and nothing else of the part."""


@dataclass(frozen=True, slots=True)
class LookedOver:
    """One time that the car was looked over, which another can be compared with: a recording, or an occasion.

    `id` is the recording's, or the occasion's day; `WORK` is the time after the work that was ticked off, which only
    tells of what was put right. `at` is when, ISO 8601, empty where nothing tells. `sources` are
    the ids of its recordings, and of pictures made then. `whole` is False while one of them was not read to its end.
    """

    id: str
    name: str
    at: str
    recordings: tuple[str, ...]
    sources: tuple[str, ...]
    whole: bool


@dataclass(frozen=True, slots=True)
class ChangedPair:
    """One thing: its place, what became of it and why, and what either time told, made ready to look at."""

    place: str
    outcome: Outcome
    because: str
    first: OddsSide | None
    second: OddsSide | None


@dataclass(frozen=True, slots=True)
class ChangedShown:
    """What changed between two times, by their ids and names, and how many of each outcome.

    `pairs` tell the same as `found`, in words, with where to look.
    """

    car: str
    title: str
    first: str
    second: str
    first_name: str
    second_name: str
    counts: dict[str, int]
    found: tuple[Changed, ...]
    pairs: tuple[ChangedPair, ...] = ()


@dataclass(frozen=True, slots=True)
class ChangedChoice:
    """The times that a car was looked over, and what changed between two of them; None where there are not two."""

    car: str
    title: str
    times: tuple[LookedOver, ...]
    shown: ChangedShown | None = None


@dataclass(frozen=True, slots=True)
class StatementMade:
    """Where the statement lies, its size in bytes, and what went wrong on the way."""

    shown: ChangedShown
    path: str
    byte_size: int
    problems: tuple[Problem, ...] = ()


def changed_choice(store: Store, car: str, *, first: str = "", second: str = "") -> ChangedChoice:
    """Give the times that a car was looked over, and what changed between two of them.

    Parameters
    ----------
    store, car
        As for `changed`.
    first, second : str
        As for `changed`; where one is empty, the earliest and the latest that can be compared.

    Raises
    ------
    NotFoundError, UserError
        As `changed` raises.
    """
    file = find_car(store, car)
    times = looked_over(file)
    if not (first and second):
        usual = _usual(file, times)
        if usual is None:
            return ChangedChoice(file.name, file.title, times)
        first, second = first or usual[0].id, second or usual[1].id
        if first == second:
            return ChangedChoice(file.name, file.title, times)
    return ChangedChoice(file.name, file.title, times, _shown(file, *_both(file, first, second)))


def changed(store: Store, car: str, *, first: str, second: str) -> ChangedShown:
    """Tell what changed of a car from one recording or occasion to another; nothing is kept.

    Parameters
    ----------
    store : Store
        Where it is kept.
    car : str
        Its name, or a beginning of it that no other has.
    first, second : str
        The two, the earlier first: a recording by its id or a beginning of it, its file name, or its number in the
        order they came in, from 1; or an occasion by its day (``2026-03-04``); the later one may be `WORK`.

    Raises
    ------
    NotFoundError
        No such car.
    UserError
        The car has no such recording or occasion, both are one, or one of them was not read to its end (slug
        ``changed-recordings``).
    """
    file = find_car(store, car)
    return _shown(file, *_both(file, first, second))


def changed_statement(
    store: Store, car: str, *, first: str, second: str, out: Path | None = None, made_at: datetime | None = None
) -> StatementMade:
    """Write the statement of what changed, as a PDF.

    Raises what `changed` raises, and further what stands below.

    Parameters
    ----------
    store, car, first, second
        As for `changed`.
    out : Path, optional
        Folder for it, made if it is not there; ``out/NAME`` in the present folder when left out.
    made_at : datetime, optional
        The moment it speaks of; now when left out. The same moment gives the same bytes.

    Raises
    ------
    BrokenWorldError
        The folder cannot be written to, or the typesetter fails.
    """
    from shutline.publish.changed import changed_pdf

    shown, model, problems = statement_model(store, car, first=first, second=second, made_at=made_at)
    path = (out or Path("out") / shown.car) / FILE
    written = write_whole(path, changed_pdf(model), "changed")
    return StatementMade(shown, written.path, written.byte_size, problems)


def statement_model(
    store: Store, car: str, *, first: str, second: str, made_at: datetime | None = None
) -> tuple[ChangedShown, ChangedModel, tuple[Problem, ...]]:
    """Choose the words and pictures of the statement, to be set as a PDF or as pages to look at; as `changed`."""
    from shutline.publish.changed import build_changed
    from shutline.usecases.house import house

    file = find_car(store, car)
    before, after = _both(file, first, second)
    shown = _shown(file, before, after)
    problems: list[Problem] = []
    moment = (made_at or datetime.now(UTC)).astimezone(UTC).replace(microsecond=0)
    named = {one.id: one for one in file.recordings}
    model = build_changed(
        file,
        shown.found,
        first=[named[id_] for id_ in before.recordings],
        second=[named[id_] for id_ in after.recordings],
        worked_on=after.at if after.id == WORK else "",
        stills=_stills(store, file, shown, problems),
        made_at=moment.isoformat(),
        house=house().on_report(),
    )
    return shown, model, tuple(problems)


def looked_over(file: CarFile) -> tuple[LookedOver, ...]:
    """Give the times that a car was looked over: occasions of several recordings or pictures, then each recording."""
    named = {one.id: one for one in file.recordings}
    notes = {note.source for note in file.notes}
    found = []
    for one in occasions(file, within_h=own_odds_tables().limits.same_occasion_h):
        films = tuple(id_ for id_ in one.sources if id_ in named)
        if films and len(one.sources) > 1:
            names = ", ".join(named[id_].original.name for id_ in films)
            whole = all(named[id_].complete for id_ in films)
            found.append(LookedOver(one.id, names, one.id[:10], films, one.sources, whole))
    for film in file.recordings:
        if film.id not in notes:
            at = film.probe.recorded_at or ""
            found.append(LookedOver(film.id, film.original.name, at, (film.id,), (film.id,), film.complete))
    days = [one.put_right.done_on for one in file.put_right() if one.put_right is not None]
    if days:
        found.append(LookedOver(WORK, "the work that was ticked off", max(days), (), (), whole=True))
    return tuple(found)


def _usual(file: CarFile, times: tuple[LookedOver, ...]) -> tuple[LookedOver, LookedOver] | None:
    """Give the earliest and the latest that can be compared, an occasion before the recordings that are part of it."""
    order = {one.id: number for number, one in enumerate(file.recordings)}
    of_occasions = {id_ for one in times if len(one.sources) > 1 for id_ in one.recordings}
    films = [one for one in times if one.whole and one.recordings]
    alone = [one for one in films if len(one.sources) > 1 or one.id not in of_occasions]
    alone.sort(key=lambda one: (one.at[:10] or "9", order[one.recordings[0]]))
    # Filmed again after the work, the film tells more than the ticks.
    work = [one for one in times if one.id == WORK and not (len(alone) > 1 and alone[-1].at[:10] >= one.at)]
    alone += work
    return (alone[0], alone[-1]) if len(alone) > 1 else None


def _stills(store: Store, file: CarFile, shown: ChangedShown, problems: list[Problem]) -> dict[str, BarePicture]:
    """Make the stills ready to go out, through the one way out for pictures."""
    from shutline.publish.bare import BarePicture
    from shutline.usecases.published_pictures import pictures_out

    sides = [kept for one in shown.found for kept in (one.first, one.second) if kept]
    ready, pictures = pictures_out(store, file, problems, findings=sides)
    return {name: one for name, one in (ready | pictures).items() if isinstance(one, BarePicture)}


def _shown(file: CarFile, before: LookedOver, after: LookedOver) -> ChangedShown:
    by_then = [
        one
        for one in file.put_right()
        if one.put_right is not None and (after.id == WORK or one.put_right.done_on <= after.at[:10])
    ]
    done = {one.id for one in by_then}
    found = compare(file, first=before.sources, second=after.sources, done=done)
    if after.id == WORK:
        found = tuple(one for one in found if one.because is Because.PUT_RIGHT)
    counts = {outcome.value: sum(one.outcome is outcome for one in found) for outcome in Outcome}
    sides = Sides(file, {})

    def side(kept: KeptFinding | None, words: str = "") -> OddsSide | None:
        if kept is None:
            return None
        told = Told(kept.id, kept.finding.footings, finding=kept.finding)
        return replace(sides.of(told), words=words or statement(kept.finding), state=kept.finding.state)

    pairs = tuple(
        ChangedPair(
            capitalised(place_name(one.finding.part, one.finding.side, one.finding.position)),
            one.outcome,
            one.why or one.because,
            side(one.first),
            side(one.second, PUT_RIGHT if one.because is Because.PUT_RIGHT else ""),
        )
        for one in found
    )
    return ChangedShown(file.name, file.title, before.id, after.id, before.name, after.name, counts, found, pairs)


def _both(file: CarFile, first: str, second: str) -> tuple[LookedOver, LookedOver]:
    before, after = _time(file, first), _time(file, second)
    if before.id == WORK:
        raise _refused(file, "nothing can be compared with the work but what was told before it")
    if set(before.sources) & set(after.sources):
        raise _refused(file, "both are one recording" if before.id == after.id else "one is part of the other")
    for one in (before, after):
        if not one.whole:
            raise _refused(file, f"{one.name} has not been read to its end")
    return before, after


def _time(file: CarFile, text: str) -> LookedOver:
    times = looked_over(file)
    by_id = {one.id: one for one in times}
    if text in by_id:
        return by_id[text]
    recording = _recording(file, text)
    # A note made at the car can be named too, though it is not offered.
    at = recording.probe.recorded_at or ""
    alone = LookedOver(recording.id, recording.original.name, at, (recording.id,), (recording.id,), recording.complete)
    return by_id.get(recording.id, alone)


_LEAST_OF_AN_ID = 8


def _recording(file: CarFile, text: str) -> Recording:
    if text.isascii() and text.isdigit() and 1 <= int(text) <= len(file.recordings):
        return file.recordings[int(text) - 1]
    named = [one for one in file.recordings if one.original.name == text]
    # A few figures are a number, and never the beginning of an id: of one that is not there another would be taken.
    is_id = bool(text) and not (text.isdigit() and len(text) < _LEAST_OF_AN_ID)
    begins = [one for one in file.recordings if is_id and one.id.startswith(text)]
    fits = named or begins
    if len(fits) != 1:
        raise _refused(file, f"{text[:60]!r} names {len(fits) or 'no'} of its recordings")
    return fits[0]


def _refused(file: CarFile, found: str) -> UserError:
    names = [f"{number} ({one.original.name})" for number, one in enumerate(file.recordings, start=1)]
    names += [f"{one.id} (all of that day)" for one in looked_over(file) if one.id not in one.recordings]
    return UserError(
        Problem(
            slug="changed-recordings",
            where=file.name,
            found=found,
            allowed=f"two of these: {', '.join(names)}" if names else "two recordings; it has none",
            advice="Name them by number, file name, day or id, the earlier first.",
        )
    )
