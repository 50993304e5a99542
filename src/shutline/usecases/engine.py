"""Listen to an engine's start in a recording, and show what was heard with what it may mean."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from shutline.car.carfile import CarFile, Recording
from shutline.car.engine import ColdReadings, KeptEngineNote
from shutline.car.errors import Problem, UserError
from shutline.car.recordings import Kind
from shutline.usecases.engine_hearing import LONGEST_S, Span, hear_note, note_key
from shutline.usecases.engine_view import EngineView, view_of
from shutline.usecases.look import find_car
from shutline.usecases.progress import Stop, Tell, silent
from shutline.usecases.settings import author as present_author

if TYPE_CHECKING:
    from shutline.store import Store


_TRIED = (4, 4)
"""Cylinders and strokes that an engine is listened for with where nothing tells them; no figure comes of it."""


@dataclass(frozen=True, slots=True)
class SoundToHear:
    """A recording that may be listened to; `film` where it has a picture."""

    id: str
    name: str
    sha256: str
    film: bool
    length_s: float | None


@dataclass(frozen=True, slots=True)
class EnginePage:
    """All that is known of a car's engine by ear.

    `cylinders` and `strokes` are what would be taken, `cylinders_from` on what footing; None and "" where nothing
    tells. `waiting` tells of starts that were heard in recordings without a note, for want of the cylinders.
    """

    car: str
    title: str
    views: tuple[EngineView, ...]
    recordings: tuple[SoundToHear, ...]
    cylinders: int | None
    strokes: int
    cylinders_from: str
    describes: str
    caution: str
    waiting: tuple[Problem, ...] = ()


def engine_page(store: Store, car: str) -> EnginePage:
    """Show what was heard of a car's engine.

    Raises
    ------
    NotFoundError
        No such car.
    """
    from shutline.publish.engine import caution, describes

    file = find_car(store, car)
    kept = store.engine_notes([one.id for one in file.recordings])
    cylinders, strokes, stands_on = _known_cylinders(file, kept)
    return EnginePage(
        car=file.name,
        title=file.title,
        views=tuple(view_of(file, one) for one in kept),
        recordings=tuple(
            SoundToHear(one.id, one.original.name, one.original.sha256, one.probe.kind is Kind.FILM, one.probe.length_s)
            for one in file.recordings
            if _has_sound(one)
        ),
        cylinders=cylinders,
        strokes=strokes,
        cylinders_from=stands_on,
        describes=describes(),
        caution=caution(),
        waiting=_waiting(file, {one.note.recording for one in kept}),
    )


def _waiting(car: CarFile, noted: set[str]) -> tuple[Problem, ...]:
    """Give the starts that were heard and wait for the number of cylinders, of recordings that have no note."""
    names = tuple(f"{one.original.name}, " for one in car.recordings if one.id not in noted)
    return tuple(one for one in car.problems if one.slug == "engine-cylinders-unknown" and one.where.startswith(names))


def listen(
    store: Store,
    car: str,
    *,
    recording: str | None = None,
    span: Span | None = None,
    cylinders: int | None = None,
    strokes: int | None = None,
    readings: ColdReadings | None = None,
    by: str | None = None,
    tell: Tell = silent,
    stop: Stop | None = None,
) -> EnginePage:
    """Listen to an engine's start and keep the note; what was listened to in the same way before is not done again.

    Parameters
    ----------
    store : Store
        Where the car is kept.
    car : str
        The car's name, or a beginning of it that no other has.
    recording : str, optional
        Id of the recording; the only one with sound when left out.
    span : (float, float), optional
        From and to, seconds from the start of the recording, the latter infinite for its end; found by the program when
        left out.
    cylinders, strokes : int, optional
        1 to 16, and 4 or 2; as was said, or as entered before, when left out.
    readings : ColdReadings, optional
        What was read before the start; as entered before when left out.
    by : str, optional
        Who says so; the name the user is logged in with when left out.

    Raises
    ------
    NotFoundError
        No such car or recording.
    UserError
        Nothing tells the number of cylinders (slug ``engine-cylinders``); the marks or readings cannot be
        (``engine-marks``, ``engine-reading``); the recording has no sound or is too long (``engine-no-sound``,
        ``engine-too-long``).
    BadInputError
        The original can no longer be read.
    StoppedError
        `stop` was set; nothing was changed.
    """
    file = find_car(store, car)
    heard = _which(file, recording)
    kept = store.engine_notes([one.id for one in file.recordings])
    before = next((one for one in kept if one.note.recording == heard.id), None)
    count, stroke, stands_on = _cylinders(file, kept, cylinders, strokes, by or present_author())
    read = _checked(readings) if readings is not None else before.readings if before else ColdReadings()
    marks = _marks(heard, span)
    key = note_key(heard, marks, count, stroke)
    if before is not None and before.key == key:
        note = before.note
    else:
        note = hear_note(store, heard, marks, (count, stroke), tell=tell, stop=stop or Stop())
    after = KeptEngineNote(note, stands_on, read, key, by or present_author())
    if before is None or replace(before, author="", at="") != replace(after, author=""):
        store.put_engine_note(after)
    return engine_page(store, file.name)


def key_by_itself(store: Store, car: CarFile, recording: Recording) -> str:
    """Name all that the note of a recording depends on that nobody asked for."""
    cylinders, strokes, _ = _known_cylinders(car, store.engine_notes([one.id for one in car.recordings]))
    if cylinders is None:
        return f"unknown {note_key(recording, None, *_TRIED)}"
    return note_key(recording, None, cylinders, strokes)


def listen_by_itself(
    store: Store, car: CarFile, recording: Recording, *, tell: Tell = silent, stop: Stop | None = None
) -> KeptEngineNote | Problem | None:
    """Listen for a start that nobody has asked for, and keep nothing.

    Returns
    -------
    KeptEngineNote, Problem or None
        A note of the author ``program``; a problem where an engine is heard and nothing tells how many cylinders it has
        (slug ``engine-cylinders-unknown``); None where none is heard and none was before, or where a person has asked
        for a note already, which stands.

    Raises
    ------
    UserError
        The recording is too long (slug ``engine-too-long``).
    BadInputError
        The original can no longer be read.
    StoppedError
        `stop` was set.
    """
    from shutline.store.base import PROGRAM

    kept = store.engine_notes([one.id for one in car.recordings])
    before = next((one for one in kept if one.note.recording == recording.id), None)
    cylinders, strokes, stands_on = _known_cylinders(car, kept)
    if not _has_sound(recording) or (before is not None and before.author != PROGRAM):
        return None
    marks = _marks(recording, None)
    engine = _TRIED if cylinders is None else (cylinders, strokes)
    note = hear_note(store, recording, marks, engine, tell=tell, stop=stop or Stop())
    if note.runs_from_s is None and before is None:
        return None
    if cylinders is None:
        return _cylinders_unknown(car, recording, note.first_turn_s or note.runs_from_s or 0.0)
    key = note_key(recording, marks, cylinders, strokes)
    return KeptEngineNote(note, stands_on, ColdReadings(), key, PROGRAM)


def _cylinders_unknown(car: CarFile, recording: Recording, at_s: float) -> Problem:
    from shutline.publish.report.times import moment

    return Problem(
        slug="engine-cylinders-unknown",
        where=f"{recording.original.name}, {moment(at_s)}",
        found="an engine is started, and nothing tells how many cylinders it has",
        allowed="no figure of it is told",
        advice=f"Enter them on the page Engine, or with `shutline engine {car.name} --cylinders N`.",
    )


def _has_sound(recording: Recording) -> bool:
    return any(track.kind == "audio" for track in recording.probe.tracks)


def _which(car: CarFile, wanted: str | None) -> Recording:
    from shutline.usecases.stills import which_film

    sounding = tuple(one for one in car.recordings if _has_sound(one))
    if wanted is None and len(sounding) == 1:
        return sounding[0]
    chosen = which_film(car, wanted)
    if not _has_sound(chosen):
        raise _refused(
            "engine-no-sound",
            chosen.original.name,
            "no sound track",
            "a recording with sound",
            "Choose another.",
        )
    return chosen


def _marks(recording: Recording, span: Span | None) -> Span | None:
    length_s = recording.probe.length_s
    if span is None:
        if length_s is not None and length_s > LONGEST_S:
            raise _refused(
                "engine-too-long",
                recording.original.name,
                f"{length_s:.0f} s of sound",
                f"at most {LONGEST_S:.0f} s in one go",
                "Mark from when to when the engine is started.",
            )
        return None
    start_s, end_s = span
    last_s = math.inf if length_s is None else length_s + 1.0
    if end_s == math.inf and length_s is not None:
        end_s = length_s
    if not (math.isfinite(start_s) and math.isfinite(end_s) and 0 <= start_s < end_s <= last_s) or (
        end_s - start_s > LONGEST_S
    ):
        raise _refused(
            "engine-marks",
            recording.original.name,
            f"from {start_s:g} s to {end_s:g} s",
            f"a beginning before an end, both within the recording, at most {LONGEST_S:.0f} s apart",
            "Mark from a few seconds before the key is turned to where it ticks over.",
        )
    return round(start_s, 2), round(end_s, 2)


def _cylinders(
    car: CarFile, kept: tuple[KeptEngineNote, ...], cylinders: int | None, strokes: int | None, author: str
) -> tuple[int, int, str]:
    known, known_strokes, stands_on = _known_cylinders(car, kept)
    count, stroke = cylinders or known, strokes or known_strokes
    if count is None or not 1 <= count <= 16 or stroke not in {2, 4}:
        found = (
            "nothing tells how many cylinders the engine has"
            if count is None
            else f"{count} cylinders, {stroke} strokes"
        )
        raise _refused(
            "engine-cylinders",
            car.name,
            found,
            "1 to 16 cylinders, and 4 strokes or 2",
            "Enter them: in the workbench, or with --cylinders and --strokes.",
        )
    if (count, stroke) != (known, known_strokes):
        stands_on = f"entered by {author}"
    return count, stroke, stands_on


def _known_cylinders(car: CarFile, kept: tuple[KeptEngineNote, ...]) -> tuple[int | None, int, str]:
    """Give cylinders and strokes as entered before, else as said, where what is said agrees."""
    from shutline.gauge.engine.said import cylinders_said
    from shutline.publish.report.times import moment

    if kept:
        last = kept[-1]
        return last.note.cylinders, last.note.strokes, last.cylinders_from
    said = [one for recording in car.recordings for one in cylinders_said(recording.stretches)]
    if len({(one.cylinders, one.strokes) for one in said}) != 1:
        return None, 4, ""
    first = said[0]
    return first.cylinders, first.strokes, f"said at {moment(first.start_s)}: {first.words}"


def _checked(readings: ColdReadings) -> ColdReadings:
    from shutline.gauge.engine.tables import cold_limits

    limits = cold_limits()
    for name, value, (low, high), unit in (
        ("coolant", readings.coolant_c, limits.allowed_c, "°C"),
        ("outside", readings.outside_c, limits.allowed_c, "°C"),
        ("standing", readings.standing_h, limits.allowed_h, "hours"),
    ):
        if value is not None and not low <= value <= high:
            raise _refused(
                "engine-reading", name, f"{value:g} {unit}", f"{low:g} to {high:g} {unit}", "Enter what was read."
            )
    return readings


def _refused(slug: str, where: str, found: str, allowed: str, advice: str) -> UserError:
    return UserError(Problem(slug=slug, where=where, found=found, allowed=allowed, advice=advice))
