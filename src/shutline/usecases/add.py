"""Bring recordings and pictures into a car file, and read what was said."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import TYPE_CHECKING

from shutline.car.errors import Problem, ShutlineError, UserError
from shutline.car.findings import Drive
from shutline.car.recordings import Kind, Original, Probe
from shutline.usecases import pipeline
from shutline.usecases.evidence import chosen_evidence
from shutline.usecases.film_stages import read_figures_on
from shutline.usecases.progress import Step, Stop, Tell, silent
from shutline.usecases.read import check_transcript
from shutline.usecases.settings import author

if TYPE_CHECKING:
    from shutline.car.recordings import PrivateDetails
    from shutline.store import Store

_COPYING = "copying"


@dataclass(frozen=True, slots=True)
class AddedItem:
    """What came of one file.

    `new` is False when the same bytes were in the car file already. `recording` is the id of a recording, None for a
    picture. Counts are of the whole recording; `figures` are those read off it, and `engine` tells whether one was
    heard. `error` says why nothing could be taken; then the rest is empty.
    """

    name: str
    car: str = ""
    kind: Kind | None = None
    new: bool = False
    recording: str | None = None
    length_s: float | None = None
    words: int = 0
    findings: int = 0
    facts: int = 0
    stills: int = 0
    figures: int = 0
    engine: bool = False
    problems: tuple[Problem, ...] = ()
    error: Problem | None = None


@dataclass(frozen=True, slots=True)
class Added:
    """What came of bringing files in, in the order they were given."""

    items: tuple[AddedItem, ...]


@dataclass(frozen=True, slots=True)
class _Looked:
    """A file that was looked into and not yet taken in; `ours` when it lies in the store's folder."""

    path: Path
    name: str
    ours: bool
    probe: Probe
    private: PrivateDetails
    problems: tuple[Problem, ...]


def add(
    store: Store,
    files: Sequence[Path],
    *,
    car: str | None = None,
    title: str | None = None,
    drive: Drive | None = None,
    transcript: Path | None = None,
    from_sound: bool = False,
    link: bool = False,
    speech_model: Path | None = None,
    figures: bool | None = None,
    engine: bool | None = None,
    arrived: Mapping[Path, str] | None = None,
    by: str | None = None,
    tell: Tell = silent,
    stop: Stop | None = None,
) -> Added:
    """Bring files in and take each recording through every stage; one broken file does not stop the others.

    Parameters
    ----------
    store : Store
        Where to.
    files : sequence of Path
        Films, sounds, timed transcripts, pictures.
    car : str, optional
        The car they are of; made if there is none of that name. White space becomes a hyphen, and the words as they
        were given the title. Left out, each recording makes a car named after its file, and pictures go to the car of
        the one recording among `files`.
    title : str, optional
        How the car is shown; left out, it stays, and a new car is shown by its name.
    drive : Drive, optional
        Where the wheel is; left out, it is taken from the words, else right-hand drive.
    transcript : Path, optional
        A timed transcript of the one recording among `files`, taken in place of its sound. A recording whose words
        came from a file keeps them when it is added again without one.
    from_sound : bool
        Hear the sound all the same.
    link : bool
        Leave the originals where they are and keep the way to them.
    speech_model : Path, optional
        Folder of a more accurate recogniser.
    figures, engine : bool, optional
        Whether figures are read off films and pictures, and whether the engine is listened to; as in the settings when
        left out.
    arrived : mapping of Path to str, optional
        Files that were sent and lie in the store's folder under a name of its own, with the names they were sent
        under; nobody writes to them any more. They are not copied where the disk can do without.
    by : str, optional
        Who adds; left out, who is logged in.
    tell, stop
        Where progress is told, and a flag that ends the work at the next good moment.

    Returns
    -------
    Added
        One item a file.

    Raises
    ------
    StoppedError
        `stop` was set; what is done is kept, and the same call goes on.
    UserError
        A name that cannot be one, `transcript` with more than one recording, or pictures with no car to go to.
    BrokenWorldError
        The disk or the store failed.
    """
    from shutline.store.cars import checked_name

    stop = stop or Stop()
    if car is not None:
        title = title or (car.strip() if " " in car.strip() else None)
        car = checked_name("-".join(car.split()))
    arrived = arrived or {}
    by = by or author()
    looked = [_look(path, arrived.get(path)) for path in files]
    recordings = [one for one in looked if isinstance(one, _Looked) and one.probe.kind is not Kind.PICTURE]
    if transcript is not None and len(recordings) != 1:
        raise _one_recording("--transcript", f"{len(recordings)} recordings that can be read")
    if transcript is not None and recordings[0].probe.kind is Kind.TRANSCRIPT:
        raise _one_recording("--transcript", "a recording that is a transcript itself")
    words_name = "" if transcript is None else arrived.get(transcript, transcript.name)
    kept_transcript = None if transcript is None else _keep_transcript(store, transcript, arrived.get(transcript))
    settings = pipeline.Settings(
        drive=drive,
        transcript=kept_transcript,
        transcript_name=words_name,
        from_sound=from_sound,
        speech_model=speech_model,
        film=chosen_evidence(figures=figures, engine=engine),
    )
    items: list[tuple[str, AddedItem]] = []
    for one in sorted(looked, key=lambda one: isinstance(one, _Looked) and one.probe.kind is Kind.PICTURE):
        if isinstance(one, AddedItem):
            items.append((str(files[looked.index(one)]), one))
            continue
        stop.heed(one.name)
        try:
            goes_to = _car_for(one, recordings, dict(items)) if car is None else car
            brought = _bring(store, one, goes_to, settings, title=title, link=link, by=by, tell=tell, stop=stop)
            items.append((str(one.path), brought))
        except UserError as error:
            items.append((str(one.path), AddedItem(one.name, error=called_as(error.problem, one.path, one.name))))
    order = {str(path): i for i, path in enumerate(files)}
    return Added(tuple(item for _, item in sorted(items, key=lambda pair: order.get(pair[0], 0))))


def look_into(path: Path, *, name: str) -> Probe:
    """Say what a file is that was sent under a name, before it is taken in; nothing is kept of it.

    Raises
    ------
    UserError
        Nothing can be taken from it.
    """
    from shutline.capture.probe import probe

    try:
        return probe(path)[0]
    except UserError as error:
        raise type(error)(called_as(error.problem, path, name)) from error


def new_car(store: Store, title: str, *, name_of: str = "", drive: Drive | None = None, by: str | None = None) -> str:
    """Make a car that is shown by a title, or, without one, by a file's name; give its name, which no other has."""
    shown = " ".join(title.split()) or _title_of(name_of)
    return store.create_car(title=shown, drive=drive or Drive.RHD, author=by or author()).name


def _look(path: Path, name: str | None) -> _Looked | AddedItem:
    from shutline.capture.probe import probe

    try:
        found, private, problems = probe(path)
    except UserError as error:
        if name is None:
            return AddedItem(str(path), error=error.problem)
        return AddedItem(name, error=called_as(error.problem, path, name))
    if name is None:
        return _Looked(path, path.name, ours=False, probe=found, private=private, problems=problems)
    problems = tuple(called_as(problem, path, name) for problem in problems)
    return _Looked(path, name, ours=True, probe=found, private=private, problems=problems)


def called_as(problem: Problem, path: Path, name: str) -> Problem:
    """Say a problem of a file under the name it was sent under."""
    from shutline.capture.files import shown_name

    return replace(problem, where=problem.where.replace(shown_name(path), shown_name(Path(name))))


def _car_for(one: _Looked, recordings: Sequence[_Looked], done: dict[str, AddedItem]) -> str | None:
    """Find the car of a picture given together with a recording; a recording has none yet, and makes one."""
    if one.probe.kind is not Kind.PICTURE:
        return None
    if len(recordings) != 1:
        raise _one_recording(one.name, f"a picture among {len(recordings)} recordings that can be read")
    beside = done.get(str(recordings[0].path))
    if beside is None or not beside.car:
        raise _one_recording(one.name, f"a picture beside {recordings[0].name}, which could not be added")
    return beside.car


def _bring(
    store: Store,
    one: _Looked,
    car: str | None,
    settings: pipeline.Settings,
    *,
    title: str | None,
    link: bool,
    by: str,
    tell: Tell,
    stop: Stop,
) -> AddedItem:
    from shutline.capture.originals import original_path, take_in

    name = one.name
    original = take_in(
        one.path,
        store.originals,
        link=link,
        ours=one.ours,
        kind=one.probe.kind,
        on_progress=lambda done: tell(Step(name, _COPYING, done)),
        should_stop=stop.asked,
    )
    if one.ours:
        original = replace(original, name=name)
    linked = one.path.resolve() if link else None
    car = _settle_car(store, car, original, title=title, drive=settings.drive, by=by)
    before = store.car_file(car)
    if original.kind is Kind.PICTURE:
        return _bring_picture(store, one, original, car, settings, linked=linked, tell=tell, stop=stop)
    new = all(kept.original.sha256 != original.sha256 for kept in before.recordings)
    recording = store.add_recording(car, original, linked_path=linked)
    store.set_probe(recording.id, one.probe, private=one.private)
    elsewhere = tuple(_in_another_car(name, other) for other in store.cars_with(original.sha256) if other != car)
    store.put_problems((*one.problems, *elsewhere), car=car, recording=recording.id, stage="probe")
    kept_at = store.linked_path(original.sha256)
    pipeline.go(
        pipeline.Run(
            store=store,
            recording=store.recording(recording.id),
            car=car,
            path=kept_at or original_path(store.originals, original.sha256),
            settings=settings,
            tell=tell,
            stop=stop,
        )
    )
    return added_item(store, car, recording.id, new=new)


def _settle_car(
    store: Store, car: str | None, original: Original, *, title: str | None, drive: Drive | None, by: str
) -> str:
    """Give the name of the car to add to, making it where there is none."""
    if car is None:
        same = store.cars_with(original.sha256)
        car = same[0] if same else None
    if car is None:
        return new_car(store, title or "", name_of=original.name, drive=drive, by=by)
    present = store.car_named(car)
    if present is None:
        return store.create_car(car, title=title or car, drive=drive or Drive.RHD, author=by).name
    name = present.name
    if drive is not None and present.drive is not drive:
        store.set_car_details(name, author=by, drive=drive)
    if title is not None and present.title != title:
        store.set_car_details(name, author=by, title=title)
    return name


def _title_of(name: str) -> str:
    return re.sub(r"[\W_]+", " ", Path(name).stem).strip() or "car"


def _bring_picture(
    store: Store,
    one: _Looked,
    original: Original,
    car: str,
    settings: pipeline.Settings,
    *,
    linked: Path | None,
    tell: Tell,
    stop: Stop,
) -> AddedItem:
    width, height = one.probe.picture_size or (0, 0)
    new = all(kept.original.sha256 != original.sha256 for kept in store.car_file(car).pictures)
    picture = store.add_picture(
        car,
        original,
        width=width,
        height=height,
        taken_at=one.probe.recorded_at,
        private=one.private,
        linked_path=linked,
    )
    problems = one.problems
    if settings.film.figures:
        problems += read_figures_on(store, car, picture.id, tell=tell, stop=stop)
    store.put_problems(problems, car=car, stage=f"picture {original.sha256[:16]}")
    read = sum(figure.source == picture.id for figure in store.car_file(car).figures)
    return AddedItem(original.name, car, original.kind, new=new, figures=read, problems=problems)


def added_item(store: Store, car: str, recording: str, *, new: bool) -> AddedItem:
    """Say what came of a recording."""
    file = store.car_file(car)
    kept = next(one for one in file.recordings if one.id == recording)
    findings = [f for f in file.findings if any(footing.source == recording for footing in f.finding.footings)]
    return AddedItem(
        name=kept.original.name,
        car=car,
        kind=kept.probe.kind,
        new=new,
        recording=recording,
        length_s=kept.probe.length_s,
        words=sum(len(stretch.words) for stretch in kept.stretches),
        findings=len(findings),
        facts=sum(any(f.source == recording for f in fact.fact.footings) for fact in file.facts),
        stills=len({still.sha256 for finding in findings for still in finding.stills}),
        figures=sum(figure.source == recording for figure in file.figures),
        engine=any(note.note.recording == recording for note in file.engine_notes),
        problems=file.problems,
    )


def _keep_transcript(store: Store, transcript: Path, name: str | None) -> Path:
    """Keep a transcript given beside a recording among the originals, after looking whether it is one."""
    from shutline.capture.originals import original_path, take_in

    try:
        check_transcript(transcript)
    except UserError as error:
        raise type(error)(called_as(error.problem, transcript, name or transcript.name)) from error
    original = take_in(transcript, store.originals, ours=name is not None, kind=Kind.TRANSCRIPT)
    kept = store.add_original(replace(original, name=name or original.name))
    return original_path(store.originals, kept.sha256)


def _in_another_car(name: str, car: str) -> Problem:
    return Problem(
        slug="in-another-car",
        where=name,
        found=f"the same file is in the car file of {car!r} too",
        allowed="it was added to both; a recording is of one car as a rule",
        advice="Make sure that it is of this one.",
    )


def _one_recording(where: str, found: str) -> ShutlineError:
    return UserError(
        Problem(
            slug="which-recording",
            where=where,
            found=found,
            allowed="it goes with one recording",
            advice="Give one recording at a time, or name the car with --car.",
        )
    )
