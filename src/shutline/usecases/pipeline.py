"""The order of the stages: what happens to one recording, from its original to what the film itself tells.

Nobody else knows this order. Each stage is done once with one key, which says all that its result depends on; a run
that was stopped finds the stages that are done and goes on with the next.
"""

from __future__ import annotations

import hashlib
import logging
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, field
from functools import cache
from pathlib import Path
from typing import TYPE_CHECKING

from shutline.car.errors import BrokenWorldError, Problem, StoppedError, UserError
from shutline.car.findings import Drive, Fact
from shutline.car.recordings import Kind, Still
from shutline.car.speech import Segment, Stretch, StretchOrigin
from shutline.usecases.evidence import Evidence
from shutline.usecases.film_stages import ENGINE, FIGURES, engine_key, figures_key, hear_engine, read_figures
from shutline.usecases.own_words import own_words
from shutline.usecases.placed_words import read_at
from shutline.usecases.progress import Step, Stop, Tell
from shutline.usecases.readings import spoken_readings
from shutline.usecases.second import lay_beside

if TYPE_CHECKING:
    from shutline.car.carfile import CarFile, KeptFinding, Recording
    from shutline.speech.heard import Recogniser, Sound
    from shutline.store import Store

SPEECH, REMARKS, STILLS = "words", "remarks", "stills"
_log = logging.getLogger(__name__)
_LOOKED_AT_S = 3.0
"""Length of the end of a remark in which its still is sought, seconds; before it the camera may be on its way."""


@dataclass(frozen=True, slots=True)
class Settings:
    """What a person may choose for a run.

    `drive` None means: as said, else right-hand drive. `transcript` is a file whose words are taken in place of the
    sound's, and `transcript_name` what it was called; `speech_model` the folder of a more accurate recogniser.
    `words_as_they_are` leaves words that were read to their end before as they are, however they were come by;
    `from_sound` hears the sound although the words came from a file before. `film` says what is taken from the
    film itself.
    """

    drive: Drive | None = None
    transcript: Path | None = None
    transcript_name: str = ""
    speech_model: Path | None = None
    words_as_they_are: bool = False
    from_sound: bool = False
    film: Evidence = field(default_factory=Evidence)


@dataclass(frozen=True, slots=True)
class Run:
    """One recording on its way; `path` is its original."""

    store: Store
    recording: Recording
    car: str
    path: Path
    settings: Settings
    tell: Tell
    stop: Stop

    def share(self, stage: str) -> Callable[[float], None]:
        """Give the function a stage tells its share to, 0 to 1."""
        return lambda done: self.tell(Step(self.recording.original.name, stage, min(done, 1.0)))


def go(run: Run) -> None:
    """Take one recording through the stages that are not done yet.

    Raises
    ------
    StoppedError
        A stop was asked for; what is done is kept.
    BadInputError
        The original can no longer be read.
    """
    for stage in STAGES:
        run.stop.heed(run.recording.original.name)
        if not stage.wanted(run.settings):
            continue
        try:
            _do(run, stage)
        except (StoppedError, BrokenWorldError):
            raise
        except UserError as error:
            if not stage.further:
                raise
            _told(run, stage, error.problem)
        except Exception as error:
            if not stage.further:
                raise
            _log.exception("%s: %s", run.recording.original.name, stage.name)
            _told(run, stage, _failed(run, stage, error))
    run.store.complete(run.recording.id)


def _do(run: Run, stage: Stage) -> None:
    key = stage.key(run)
    share = run.share(stage.name)
    if run.store.begin_stage(run.recording.id, stage.name, key).done:
        share(1.0)
        return
    share(0.0)
    keep = stage.work(run)
    with run.store.together():
        keep()
        run.store.finish_stage(run.recording.id, stage.name, key)
    share(1.0)


def _told(run: Run, stage: Stage, problem: Problem) -> None:
    """Keep why a stage failed; it is not done, and tried again with the next run."""
    run.store.put_problems((problem,), car=run.car, recording=run.recording.id, stage=stage.name)


def _failed(run: Run, stage: Stage, error: Exception) -> Problem:
    return Problem(
        slug="stage-failed",
        where=run.recording.original.name,
        found=f"the program failed on its {stage.name} ({type(error).__name__})",
        allowed="all else of it is read",
        advice="Add it again; if that fails too, report it with what stands in the log.",
    )


Keep = Callable[[], None]
"""Writes what a stage gave; called in one transaction with the note that the stage is done."""


# Words ----------------------------------------------------------------------------------------------------------------


def _speech_key(run: Run) -> str:
    if run.settings.words_as_they_are or _words_given(run):
        done = [stage.key for stage in run.store.stages(run.recording.id) if stage.name == SPEECH and stage.done]
        if done:
            return done[-1]
    if run.settings.transcript is not None:
        return _key("transcript", run.settings.transcript.read_bytes())
    if run.recording.probe.kind is Kind.TRANSCRIPT:
        return _key("transcript", run.recording.original.sha256)
    return _key("heard", _recogniser(run).id, *_terms())


def _words_given(run: Run) -> bool:
    """Tell whether the words in force came from a file: added again without one, a recording keeps them."""
    return not (run.settings.transcript or run.settings.from_sound) and any(
        stretch.origin is StretchOrigin.TRANSCRIPT for stretch in run.recording.stretches
    )


def _words(run: Run) -> Keep:
    if run.settings.transcript is not None or run.recording.probe.kind is Kind.TRANSCRIPT:
        from shutline.speech.transcripts import parse_transcript

        if run.settings.transcript is None:
            parsed = parse_transcript(run.path.read_bytes(), name=run.recording.original.name)
            return _keep_words(run, parsed.stretches, parsed.problems)
        parsed = parse_transcript(run.settings.transcript.read_bytes(), name=run.settings.transcript_name)
        return _keep_words(run, parsed.stretches, (_words_from_a_file(run), *parsed.problems))
    stretches, problems = _hear(run)
    return _keep_words(run, stretches, problems)


def _words_from_a_file(run: Run) -> Problem:
    return Problem(
        slug="words-from-a-file",
        where=run.recording.original.name,
        found=f"its words were taken from {run.settings.transcript_name!r} (SHA-256 {_speech_source(run)[:16]}…)",
        allowed="the sound was not listened to",
        advice="Add the recording again without --transcript to have it listened to.",
    )


def _speech_source(run: Run) -> str:
    return run.settings.transcript.name if run.settings.transcript else run.recording.original.sha256


def _hear(run: Run) -> tuple[tuple[Stretch, ...], tuple[Problem, ...]]:
    from shutline.capture.sound import sound_blocks
    from shutline.speech.recognise import recognise

    recogniser = _recogniser(run)
    sha256 = run.recording.original.sha256
    heard_with = _key(recogniser.id, *_terms())
    length_s = run.recording.probe.length_s or 0.0
    share = run.share(SPEECH)

    def on_segment(segment: Segment) -> None:
        run.store.put_segment(sha256, heard_with, segment)
        share(segment.stretch.end_s / length_s if length_s else 0.0)

    blocks = sound_blocks(run.path)

    def samples() -> Iterator[Sound]:
        for block in blocks:
            yield block.samples

    stretches, problems = recognise(
        samples(),
        recogniser=recogniser,
        terms=_terms(),
        resume=run.store.segments(sha256, heard_with),
        on_segment=on_segment,
        should_stop=run.stop.asked,
        where=run.recording.original.name,
    )
    run.stop.heed(run.recording.original.name)
    # Said once: the look inside told of a missing track, and where there is no sound there is no speech.
    told = {problem.slug for problem in blocks.problems}
    aside = {"no-sound-track"} | ({"no-speech"} if told & {"no-sound-track", "no-sound"} else set())
    return stretches, tuple(p for p in (*blocks.problems, *problems) if p.slug not in aside)


def _keep_words(run: Run, stretches: Sequence[Stretch], problems: Sequence[Problem]) -> Keep:
    def keep() -> None:
        run.store.replace_stretches(run.recording.id, stretches)
        run.store.put_problems(problems, car=run.car, recording=run.recording.id, stage=SPEECH)

    return keep


def _recogniser(run: Run) -> Recogniser:
    return _loaded(run.settings.speech_model)


@cache
def _loaded(speech_model: Path | None) -> Recogniser:
    from shutline.remarks.company import shipped_company
    from shutline.speech.accurate import accurate
    from shutline.speech.bundled import bundled

    return bundled(company=shipped_company()) if speech_model is None else accurate(speech_model)


def _terms() -> tuple[str, ...]:
    from shutline.speech.terms import trade_terms

    return trade_terms()


# Remarks --------------------------------------------------------------------------------------------------------------


def _remarks_key(run: Run) -> str:
    from shutline import remarks

    drive = run.settings.drive.value if run.settings.drive else "as said"
    at = run.store.spoken_at(run.recording.id)
    place = () if at is None else (at.part, at.side or "", at.position or "")
    return _key("remarks", remarks.edition(), own_words().edition, drive, _speech_key(run), *place)


def _remarks(run: Run) -> Keep:
    recording = run.store.recording(run.recording.id)
    # Where no word says otherwise the wheel stays where it was taken to be.
    usual = run.store.car_file(run.car).drive
    at = run.store.spoken_at(recording.id)
    reading, drive = read_at(recording.stretches, at, drive=run.settings.drive, usual=usual, recording=recording.id)
    # Why there are no words was told with them.
    problems = reading.problems if recording.stretches else ()

    def keep() -> None:
        run.store.put_findings(recording.id, reading.findings)
        run.store.put_facts(recording.id, reading.facts)
        run.store.add_readings(run.car, spoken_readings(recording, at, drive=drive))
        run.store.put_problems(problems, car=run.car, recording=recording.id, stage=REMARKS)
        _settle_details(run, drive, reading.facts)
        lay_beside(run.store, run.car, recording.id)

    return keep


def _settle_details(run: Run, drive: Drive, facts: Sequence[Fact]) -> None:
    """Let the words choose the drawing of the car where no person has."""
    car = run.store.car_file(run.car)
    body = {str(fact.value) for fact in facts if fact.name == "body"}
    doors = {int(fact.value) for fact in facts if fact.name == "doors"}
    details: dict[str, object] = {}
    if drive is not car.drive:
        details["drive"] = drive
    if car.body is None and len(body) == 1:
        details["body"] = body.pop()
    if car.doors is None and len(doors) == 1:
        details["doors"] = doors.pop()
    # What a person has settled, or has said is not known, they alone change.
    by_hand = {field for change in car.changes if change.author != "program" for field in change.after}
    details = {field: value for field, value in details.items() if field not in by_hand}
    if details:
        run.store.set_car_details(run.car, author="program", **details)  # type: ignore[arg-type]


# Stills ---------------------------------------------------------------------------------------------------------------


def _stills_key(run: Run) -> str:
    return _key("stills", _remarks_key(run))


def _stills(run: Run) -> Keep:
    from shutline.capture.originals import write_once
    from shutline.capture.stills import Moment, choose_stills

    wanted = [kept for kept in _findings_of(run.store.car_file(run.car), run.recording.id) if not kept.stills]
    if run.recording.probe.kind is not Kind.FILM or not wanted:
        return lambda: None
    moments = [Moment(*_spoken(kept, run.recording.id), part=_part_of(kept)) for kept in wanted]
    chosen, problems = choose_stills(run.path, moments, on_progress=run.share(STILLS), should_stop=run.stop.asked)
    stills = {
        kept.id: (
            Still(
                at_s=one.at_s,
                sha256=write_once(run.store.derived, one.jpeg),
                width=one.width,
                height=one.height,
                sharpness=one.sharpness,
                steadiness=one.steadiness,
            ),
        )
        for kept, one in zip(wanted, chosen, strict=True)
        if one is not None
    }

    def keep() -> None:
        run.store.attach_stills(run.recording.id, stills)
        run.store.put_problems(problems, car=run.car, recording=run.recording.id, stage=STILLS)

    return keep


def _findings_of(car: CarFile, recording: str) -> list[KeptFinding]:
    return [
        kept
        for kept in car.findings
        if any(f.source == recording and f.start_s is not None for f in kept.finding.footings)
    ]


def _part_of(kept: KeptFinding) -> str:
    found = kept.finding
    return f"{found.part} {found.side or ''} {found.position or ''}"


def _spoken(kept: KeptFinding, recording: str) -> tuple[float, float]:
    """Give the moment to look at: the end of the words, for people name the part and then point at its flaw."""
    said = next(f for f in kept.finding.footings if f.source == recording and f.start_s is not None)
    start_s = said.start_s or 0.0
    end_s = max(start_s, said.end_s or start_s)
    return max(start_s, end_s - _LOOKED_AT_S), end_s


def _key(*parts: str | bytes) -> str:
    plain = b"\x1f".join(part if isinstance(part, bytes) else part.encode() for part in parts)
    return hashlib.sha256(plain).hexdigest()[:32]


@dataclass(frozen=True, slots=True)
class Stage:
    """One stage: its name, what names all that its result depends on, its work, and whether it is wanted.

    Nothing rests on a `further` one: what goes wrong in it is told, and the others go on.
    """

    name: str
    key: Callable[[Run], str]
    work: Callable[[Run], Keep]
    wanted: Callable[[Settings], bool] = lambda _: True
    further: bool = False


STAGES = (
    Stage(SPEECH, _speech_key, _words),
    Stage(REMARKS, _remarks_key, _remarks),
    Stage(STILLS, _stills_key, _stills),
    Stage(
        FIGURES,
        lambda run: _key(FIGURES, figures_key(run)),
        read_figures,
        lambda settings: settings.film.figures,
        further=True,
    ),
    Stage(
        ENGINE,
        lambda run: _key(ENGINE, engine_key(run)),
        hear_engine,
        lambda settings: settings.film.engine,
        further=True,
    ),
)
"""All stages, in order."""
