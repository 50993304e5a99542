"""From a sound to the note of an engine's start: the order of the work, and what is told and what is not."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from shutline.car.engine import Burst, EngineNote, Hearing, Trace
from shutline.gauge.engine.beats import Beats, compare_beats
from shutline.gauge.engine.bursts import find_bursts
from shutline.gauge.engine.features import Features, Sound, features
from shutline.gauge.engine.figures import BEATS, SPEEDS, STARTS, beat_figures, speed_figures, start_figures, untold
from shutline.gauge.engine.idling import Idle, idle
from shutline.gauge.engine.picture import spectrogram
from shutline.gauge.engine.running import Listening, Run, Span, doubt, is_run, listen_for, noises, run_of
from shutline.gauge.engine.settings import EngineSettings, settings
from shutline.gauge.engine.soundness import clipped, why_unfit, windy
from shutline.gauge.engine.starting import Start, find_start, levels

SOUND_HZ = 16_000


@dataclass(frozen=True, slots=True)
class Heard:
    """What was made of a sound on the way."""

    sound: Sound
    speech: Sequence[Span]
    traits: Features
    found: Listening
    run: Run
    start: Start
    idle: Idle
    doubt: str | None


def note_engine(
    sound: Sound,
    *,
    cylinders: int,
    strokes: int = 4,
    speech: Sequence[Span] = (),
    offset_s: float = 0.0,
    recording: str = "",
    marked: bool = False,
    tuning: EngineSettings | None = None,
) -> EngineNote:
    """Listen to an engine's start.

    Parameters
    ----------
    sound : ndarray of float32, shape (samples,)
        Mono, full scale 1, `SOUND_HZ` samples a second.
    cylinders : int
        1 to 16.
    strokes : int
        4 or 2.
    speech : sequence of (float, float)
        Where somebody speaks, seconds from the start of the sound.
    offset_s : float
        When the sound begins, seconds from the start of the recording; all times of the note count from there.
    recording : str
        Id of the recording.
    marked : bool
        A person marked this stretch.
    tuning : EngineSettings, optional
        The shipped settings when left out.

    Returns
    -------
    EngineNote
        Each figure is told or stands in `untold` with its reason. A speed is told only where it was heard through
        everything else and can be no other; else `hearing` is ``NOT_HEARD``.

    Raises
    ------
    ValueError
        `cylinders` or `strokes` lie outside of what is allowed.
    """
    if not 1 <= cylinders <= 16 or strokes not in {2, 4}:
        raise ValueError(f"cylinders {cylinders}, strokes {strokes}: 1 to 16, and 2 or 4")
    rules = tuning or settings()
    sound = np.asarray(sound, np.float32)
    blank = EngineNote(
        recording=recording,
        start_s=offset_s,
        end_s=offset_s + len(sound) / SOUND_HZ,
        marked=marked,
        cylinders=cylinders,
        strokes=strokes,
        hearing=Hearing.NOT_HEARD,
    )
    unfit = why_unfit(sound, sound_hz=SOUND_HZ, tuning=rules.sound)
    if unfit:
        return _nothing(blank, unfit)
    sound = np.nan_to_num(sound, posinf=0.0, neginf=0.0)
    traits = features(sound, sound_hz=SOUND_HZ, tuning=rules.features)
    found = listen_for(traits, cylinders=cylinders, strokes=strokes, speech=speech, tuning=rules)
    picked = _pick(traits, found, speech, rules)
    if picked is None:
        return _nothing(_drawn(blank, found, 0.0, traits.length_s, offset_s), _why_no_run(traits, found, rules))
    run, start = picked
    calm = idle(run, step_s=found.step_s, tuning=rules.idle)
    uncertain = doubt(found, run, cylinders=cylinders, settled_rpm=calm.last_rpm, tuning=rules)
    heard = Heard(sound, speech, traits, found, run, start, calm, uncertain)
    return _told(blank, heard, offset_s, rules)


def _pick(
    traits: Features, found: Listening, speech: Sequence[Span], rules: EngineSettings
) -> tuple[Run, Start] | None:
    """Take the first run with a starter before it, else the first run."""
    known = levels(traits, speech)
    first: tuple[Run, Start] | None = None
    for noise in noises(found, tuning=rules.running):
        whole = run_of(found, noise[0][0], noise[-1][1])
        if not is_run(whole, tuning=rules.running):
            continue
        why: Start | None = None
        for piece in noise[:12]:
            if piece[0] - noise[0][0] > 15.0:
                break
            start = find_start(traits, known, runs_from_s=piece[0], per_rpm=found.per_rpm, tuning=rules.start)
            why = why or start
            run = run_of(found, piece[0], noise[-1][1])
            if start.why is None and is_run(run, tuning=rules.running):
                return run, start
        first = first or (whole, why or Start(why="no-starter"))
    return first


def _told(blank: EngineNote, heard: Heard, offset_s: float, rules: EngineSettings) -> EngineNote:
    run, start = heard.run, heard.start
    begins_s = start.turns[0][0] if start.turns else run.start_s
    runs_s = run.start_s if start.fires_s is None else start.fires_s
    note = replace(
        _drawn(blank, heard.found, max(0.0, begins_s - 1.5), run.end_s + 1.0, offset_s),
        first_turn_s=_moment(begins_s, offset_s) if start.turns else None,
        fires_s=None if start.fires_s is None else _moment(start.fires_s, offset_s),
        runs_from_s=_moment(runs_s, offset_s),
        runs_to_s=_moment(run.end_s, offset_s),
        heard_share=round(run.share, 3),
    )
    told = start_figures(start, per_rpm=heard.found.per_rpm, tuning=rules.start)
    if heard.doubt:
        told += untold((*SPEEDS, *BEATS), heard.doubt)
        return replace(note, figures=told.figures, untold=told.untold)
    told += speed_figures(heard.idle, start, tuning=rules.idle)
    told += beat_figures(_beats(heard, note.cylinders, rules), tuning=rules.beats)
    clear = run.fit >= rules.running.clear_fit and run.share >= rules.running.clear_share
    return replace(
        note,
        hearing=Hearing.CLEAR if clear else Hearing.FAIR,
        figures=told.figures,
        untold=told.untold,
        bursts=tuple(_later(one, offset_s) for one in _bursts(heard, runs_s, rules)),
        trace=Trace(
            tuple(_moment(float(time), offset_s) for time in run.times_s),
            tuple(round(float(rpm)) if there else None for rpm, there in zip(run.rpm, run.heard, strict=True)),
        ),
    )


def _beats(heard: Heard, cylinders: int, rules: EngineSettings) -> Beats:
    if clipped(heard.sound, rules.sound):
        return Beats(why="clipped")
    from_s = heard.idle.settled_s
    if from_s is None:
        from_s = heard.run.start_s + 1.0
    return compare_beats(
        heard.traits,
        heard.run,
        cylinders=cylinders,
        per_rpm=heard.found.per_rpm,
        from_s=from_s,
        tuning=rules.beats,
    )


def _bursts(heard: Heard, runs_s: float, rules: EngineSettings) -> tuple[Burst, ...]:
    return find_bursts(
        heard.sound,
        sound_hz=SOUND_HZ,
        start_s=runs_s + 0.7,
        end_s=heard.run.end_s,
        speech=heard.speech,
        tuning=rules.listen,
    )


def _why_no_run(traits: Features, found: Listening, rules: EngineSettings) -> str:
    if found.spoken.mean() > 1 - rules.running.heard_share:
        return "speech"
    return "wind" if windy(traits, rules.sound) else "no-engine"


def _nothing(blank: EngineNote, why: str) -> EngineNote:
    return replace(blank, untold=untold((*STARTS, *SPEEDS, *BEATS), why).untold)


def _drawn(blank: EngineNote, found: Listening, start_s: float, end_s: float, offset_s: float) -> EngineNote:
    picture = spectrogram(found, start_s=start_s, end_s=end_s, offset_s=offset_s)
    return replace(blank, spectrogram=picture)


def _moment(at_s: float, offset_s: float) -> float:
    return round(at_s + offset_s, 2)


def _later(burst: Burst, offset_s: float) -> Burst:
    return replace(
        burst,
        start_s=_moment(burst.start_s, offset_s),
        end_s=_moment(burst.end_s, offset_s),
        over_db=round(burst.over_db, 1),
    )
