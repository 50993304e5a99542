"""Listen to an engine's start in a recording, and show what was heard with what it may mean."""

from __future__ import annotations

import hashlib
import math
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from shutline.car.carfile import CarFile, Recording
from shutline.car.engine import ColdFooting, ColdReadings, EngineFigure, EngineNote, KeptEngineNote
from shutline.car.errors import Problem, UserError
from shutline.car.recordings import Kind
from shutline.car.speech import StretchOrigin
from shutline.usecases.look import find_car
from shutline.usecases.progress import Step, Stop, Tell, silent
from shutline.usecases.settings import author as present_author

if TYPE_CHECKING:
    from shutline.gauge.engine import Sound
    from shutline.store import Store

EDITION = 2
"""Raised whenever the same sound would give another note."""

LONGEST_S = 1_800.0
"""The longest sound that is listened to in one go, seconds; of a longer film a person marks the part."""

BEFORE_S = 15.0
"""How long before an engine runs the voice detector is asked whether what was heard there were words, seconds."""

Span = tuple[float, float]


@dataclass(frozen=True, slots=True)
class ToldFigure:
    """A figure as it is shown: its words with bounds, how it is come by, what it may mean and on whose word."""

    figure: EngineFigure
    label: str
    words: str
    how: str
    meaning: str
    source: str


@dataclass(frozen=True, slots=True)
class UntoldFigures:
    """Figures that are not told for one reason, and what to do."""

    labels: tuple[str, ...]
    sentence: str
    advice: str


@dataclass(frozen=True, slots=True)
class Moment:
    """A moment to listen to; `kind` in words."""

    kind: str
    start_s: float
    end_s: float
    over_db: float


@dataclass(frozen=True, slots=True)
class EngineView:
    """A note of one recording, worded.

    `cold` is True or False with a footing, None without one or where they are at odds. `picture` is SVG, empty where
    there is nothing to draw, and `picture_words` says what it shows.
    """

    recording: str
    name: str
    note: EngineNote
    hearing: str
    told: tuple[ToldFigure, ...]
    untold: tuple[UntoldFigures, ...]
    moments: tuple[Moment, ...]
    cold: bool | None
    cold_words: str
    cold_footings: tuple[ColdFooting, ...]
    readings: ColdReadings
    cylinders_from: str
    author: str
    at: str
    picture: str
    picture_words: str


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
    tells.
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
    )


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
    key = _key(heard, marks, count, stroke)
    if before is not None and before.key == key:
        note = before.note
    else:
        note = _note(store, heard, marks, (count, stroke), tell=tell, stop=stop or Stop())
    after = KeptEngineNote(note, stands_on, read, key, by or present_author())
    if before is None or replace(before, author="", at="") != replace(after, author=""):
        store.put_engine_note(after)
    return engine_page(store, file.name)


def view_of(car: CarFile, kept: KeptEngineNote) -> EngineView:
    """Word a note."""
    from shutline.gauge.engine.said import cold_read, cold_said, is_cold
    from shutline.publish.engine import cold_words, hearing_words, kind_words, picture_words
    from shutline.publish.engine_picture import engine_picture

    recording = next(one for one in car.recordings if one.id == kept.note.recording)
    footings = (*cold_said(recording.stretches, recording=recording.id), *cold_read(kept.readings))
    cold = is_cold(footings)
    return EngineView(
        recording=recording.id,
        name=recording.original.name,
        note=kept.note,
        hearing=hearing_words(kept.note),
        told=_told(kept.note),
        untold=_untold(kept.note),
        moments=tuple(Moment(kind_words(one.kind), one.start_s, one.end_s, one.over_db) for one in kept.note.bursts),
        cold=cold,
        cold_words=cold_words(cold, footings),
        cold_footings=footings,
        readings=kept.readings,
        cylinders_from=kept.cylinders_from,
        author=kept.author,
        at=kept.at,
        picture=engine_picture(kept.note),
        picture_words=picture_words(kept.note),
    )


def _told(note: EngineNote) -> tuple[ToldFigure, ...]:
    from shutline.gauge.engine.tables import figure_names, meaning_of
    from shutline.publish.engine import figure_words

    told = []
    for name in figure_names().values():
        figure = note.figure(name.id)
        if figure is not None:
            meaning = meaning_of(figure)
            words, source = (meaning.meaning, meaning.source) if meaning else ("", "")
            told.append(ToldFigure(figure, name.label, figure_words(figure), name.how, words, source))
    return tuple(told)


def _untold(note: EngineNote) -> tuple[UntoldFigures, ...]:
    from shutline.gauge.engine.tables import figure_names, reasons

    grouped: dict[str, list[str]] = {}
    for one in note.untold:
        grouped.setdefault(one.why, []).append(figure_names()[one.name].label)
    known = reasons()
    return tuple(
        UntoldFigures(tuple(labels), known[why].sentence, known[why].advice) for why, labels in grouped.items()
    )


def _note(
    store: Store, recording: Recording, marks: Span | None, engine: tuple[int, int], *, tell: Tell, stop: Stop
) -> EngineNote:
    from shutline.gauge.engine import note_engine, speech_spans

    sound, start_s = _sound(store, recording, marks, tell, stop)

    def hear(speech: tuple[Span, ...]) -> EngineNote:
        stop.heed(recording.original.name)
        return note_engine(
            sound,
            cylinders=engine[0],
            strokes=engine[1],
            speech=speech,
            offset_s=start_s,
            recording=recording.id,
            marked=marks is not None,
        )

    if any(stretch.origin is StretchOrigin.HEARD for stretch in recording.stretches):
        words = [word for stretch in recording.stretches for word in stretch.words]
        speech = tuple((word.start_s - start_s - 0.1, word.end_s - start_s + 0.1) for word in words)
        note = hear(speech)
        if note.runs_from_s is not None and any(one.why == "covered-start" for one in note.untold):
            # A recogniser hears words in the noise of a starter: there the voice detector has the last word.
            note = hear(_asked_again(sound, speech, note.runs_from_s - start_s))
    else:
        note = hear(speech_spans(sound))
    tell(Step(recording.original.name, "engine", 1.0))
    return note


def _asked_again(sound: Sound, speech: tuple[Span, ...], runs_from_s: float) -> tuple[Span, ...]:
    """Put what the voice detector hears about a start in the place of the words there."""
    from shutline.gauge.engine import SOUND_HZ, speech_spans

    begin_s, end_s = max(0.0, runs_from_s - BEFORE_S), runs_from_s + 1.0
    heard = speech_spans(sound[round(begin_s * SOUND_HZ) : round(end_s * SOUND_HZ)])
    outside = ((start, end) for start, end in speech if end <= begin_s or start >= end_s)
    return (*outside, *((start + begin_s, end + begin_s) for start, end in heard))


def _sound(store: Store, recording: Recording, marks: Span | None, tell: Tell, stop: Stop) -> tuple[Sound, float]:
    """Read the sound between the marks; no more of the film is decoded than up to the later one."""
    import numpy as np

    from shutline.capture.originals import original_path
    from shutline.capture.sound import sound_blocks
    from shutline.gauge.engine import SOUND_HZ

    sha256 = recording.original.sha256
    path = store.linked_path(sha256) or original_path(store.originals, sha256)
    start_s, end_s = marks or (0.0, LONGEST_S)
    pieces = []
    tell(Step(recording.original.name, "engine", 0.0))
    for block in sound_blocks(path, rate_hz=SOUND_HZ, block_s=10.0, should_stop=stop.asked):
        begin = max(0, round((start_s - block.start_s) * SOUND_HZ))
        pieces.append(block.samples[begin : max(0, round((end_s - block.start_s) * SOUND_HZ))])
        tell(Step(recording.original.name, "engine", min(0.8, 0.8 * block.start_s / max(end_s, 1.0))))
        if block.start_s + 10.0 >= end_s:
            break
    return (np.concatenate(pieces) if pieces else np.zeros(0, np.float32)), start_s


def _key(recording: Recording, marks: Span | None, cylinders: int, strokes: int) -> str:
    words = [f"{w.start_s:.2f}-{w.end_s:.2f}" for s in recording.stretches for w in s.words]
    parts = (str(EDITION), recording.original.sha256, repr(marks), str(cylinders), str(strokes), *words)
    return hashlib.sha256("\x1f".join(parts).encode()).hexdigest()[:32]


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
