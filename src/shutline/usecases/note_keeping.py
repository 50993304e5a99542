"""Notes made at the car, taken into its file: each once, at its place, with what the person says it shows."""

from __future__ import annotations

import re
from dataclasses import dataclass, replace
from datetime import UTC, datetime
from pathlib import Path
from typing import TYPE_CHECKING

from shutline.car.carfile import KeptFinding
from shutline.car.errors import NotFoundError, Problem, ShutlineError, UserError
from shutline.car.findings import Finding, Footing, FootingKind, Found, Severity
from shutline.car.notes import Note, NoteKind
from shutline.car.recordings import Kind
from shutline.usecases.add import AddedItem
from shutline.usecases.at_the_car import Place, find_place
from shutline.usecases.evidence import chosen_evidence
from shutline.usecases.film_stages import read_figures_on
from shutline.usecases.look import find_car
from shutline.usecases.progress import Stop, Tell, silent
from shutline.usecases.settings import author

if TYPE_CHECKING:
    from shutline.car.recordings import PrivateDetails, Probe
    from shutline.store import Store

LONGEST_WORDS = 4_000
"""Letters of a typed note, at most."""

_TOKEN = re.compile(r"[A-Za-z0-9_-]{8,64}")
_KINDS = {NoteKind.PICTURE: (Kind.PICTURE,), NoteKind.SPOKEN: (Kind.SOUND, Kind.FILM)}


@dataclass(frozen=True, slots=True)
class Says:
    """What a person says a note shows: a condition of the vocabulary, whether it is there, and how bad it is."""

    condition: str
    found: Found = Found.YES
    severity: Severity | None = None


@dataclass(frozen=True, slots=True)
class NoteKept:
    """A note as it is kept now; `new` is False when it had come in before.

    `finding` is the one that was entered with it, or that it was tied to. `problems` were met looking into its file.
    """

    car: str
    note: Note
    new: bool
    finding: KeptFinding | None = None
    problems: tuple[Problem, ...] = ()


def keep_file(
    store: Store,
    car: str,
    file: Path,
    *,
    kind: NoteKind,
    place: str,
    token: str,
    name: str,
    at: str | None = None,
    ours: bool = False,
    by: str | None = None,
) -> NoteKept:
    """Keep a picture or a spoken note made at a place.

    Spoken words are heard later, by `hear_notes`, and a picture is read by `read_picture`.

    Parameters
    ----------
    store : Store
        Where it is kept.
    car : str
        The car's name, or a beginning of it that no other has.
    file : Path
        The picture, the sound, or the film whose sound is the note.
    kind : NoteKind
        Which of them it is said to be.
    place : str
        Key or name of the place (see `at_the_car.places`).
    token : str
        8 to 64 letters, digits, hyphens or low lines; the same again adds nothing.
    name : str
        What the file was called; shown, never used as a path.
    at : str, optional
        When it was made, ISO 8601; now when left out.
    ours : bool
        The file lies on the disk of the store and nobody writes to it any more.
    by : str, optional
        Who made it; the name the user is logged in with when left out.

    Raises
    ------
    NotFoundError
        No such car.
    UserError
        The file is not what it is said to be (slug ``note-kind``) or nothing can be taken from it, or place, token or
        time is none (``place-unknown``, ``note-token``, ``note-time``).
    BrokenWorldError
        The disk or the store failed.
    """
    from shutline.capture.originals import take_in

    where, token, at = find_place(place), _checked_token(token), _checked_time(at)
    of = find_car(store, car).name
    kept = store.find_note(of, token)
    if kept is not None:
        return NoteKept(of, kept, new=False)
    probe, private, problems = _look(file, name, kind)
    original = replace(take_in(file, store.originals, ours=ours, kind=probe.kind), name=name)
    with store.together():
        if kind is NoteKind.PICTURE:
            width, height = probe.picture_size or (0, 0)
            source = store.add_picture(
                of, original, width=width, height=height, taken_at=probe.recorded_at, private=private
            ).id
            store.put_problems(problems, car=of, stage=f"picture {original.sha256[:16]}")
        else:
            source = store.add_recording(of, original).id
            store.set_probe(source, probe, private=private)
            store.put_problems(problems, car=of, recording=source, stage="probe")
        note = _add(store, of, kind, where, token=token, at=at, by=by, source=source)
    return NoteKept(of, note, new=True, problems=problems)


def keep_words(
    store: Store,
    car: str,
    words: str,
    *,
    place: str,
    token: str,
    says: Says | None = None,
    at: str | None = None,
    by: str | None = None,
) -> NoteKept:
    """Keep a typed note made at a place, and, where the person says what it tells, a finding that stands on it.

    Parameters
    ----------
    words : str
        What was typed, at most `LONGEST_WORDS` letters.
    says : Says, optional
        What it tells; left out, it is a note and no finding.
    store, car, place, token, at, by
        As for `keep_file`.

    Raises
    ------
    UserError
        There are no words, or too many (slug ``note-words``), or as for `keep_file`.
    """
    where, token, at = find_place(place), _checked_token(token), _checked_time(at)
    if not words.strip() or len(words) > LONGEST_WORDS:
        raise _refused("note-words", "typed note", f"{len(words)} letters", f"1 to {LONGEST_WORDS:,} letters")
    of = find_car(store, car).name
    new = store.find_note(of, token) is None
    with store.together():
        note = _add(store, of, NoteKind.TYPED, where, token=token, at=at, by=by, words=words.strip())
        finding = None if says is None else _enter(store, of, note, says, token=token, by=by)
    return NoteKept(of, note, new, finding)


def say_what_it_shows(store: Store, car: str, note: str, says: Says, *, token: str, by: str | None = None) -> NoteKept:
    """Enter what a note shows: a finding at its place that stands on it.

    Parameters
    ----------
    store, car, by
        As for `keep_file`.
    note : str
        The token the note was sent with.
    says : Says
        What it shows.
    token : str
        As for `keep_file`, another than the note's.

    Raises
    ------
    NotFoundError
        No such car, or no such note of it (slug ``note-unknown``).
    UserError
        The condition is not in the vocabulary, or as for `keep_file`.
    """
    token = _checked_token(token)
    of = find_car(store, car).name
    kept = _note(store, of, note)
    return NoteKept(of, kept, new=False, finding=_enter(store, of, kept, says, token=token, by=by))


def tie(store: Store, car: str, note: str, finding: str, *, by: str | None = None) -> NoteKept:
    """Let a finding that is there already stand on a note too; it stands then, for a person has looked.

    Done twice, it is done once. Whatever else was changed of the finding meanwhile stays.

    Parameters
    ----------
    store, car, note, by
        As for `say_what_it_shows`.
    finding : str
        Id of the finding.

    Raises
    ------
    NotFoundError
        No such car, or no such note or finding of it.
    """
    with store.together():
        file = find_car(store, car)
        kept = _note(store, file.name, note)
        there = next((one for one in file.findings if one.id == finding), None)
        if there is None:
            raise _unknown("statement-unknown", f"{file.name}, {finding[:40]!r}", "no finding of this car has that id")
        footing = _footing(kept)
        if footing not in there.finding.footings:
            there = store.change_finding(
                finding,
                action="amend",
                author=by or author(),
                expected_version=there.version,
                footings=(*there.finding.footings, footing),
            )
    return NoteKept(file.name, kept, new=False, finding=there)


def read_picture(
    store: Store,
    car: str,
    picture: str,
    *,
    figures: bool | None = None,
    tell: Tell = silent,
    stop: Stop | None = None,
) -> AddedItem:
    """Read what a picture that was kept by itself shows, unless that was done; all of it waits for a person.

    Parameters
    ----------
    store : Store
        Where it is kept.
    car : str
        The car's name, or a beginning of it that no other has.
    picture : str
        Id of the picture.
    figures : bool, optional
        Whether figures are read off it; as in the settings when left out.
    tell, stop
        Where progress is told, and a flag that ends the work before the picture is begun.

    Raises
    ------
    NotFoundError
        No such car, or no such picture of it (slug ``figure-source-unknown``).
    UserError
        The settings cannot be read.
    StoppedError
        `stop` was set.
    """
    file = find_car(store, car)
    kept = next((one for one in file.pictures if one.id == picture), None)
    if kept is None:
        raise _unknown("figure-source-unknown", f"{file.name}, {picture[:60]!r}", "the car has no picture of that id")
    problems: tuple[Problem, ...] = ()
    if chosen_evidence(figures=figures, engine=False).figures:
        problems = read_figures_on(store, file.name, picture, tell=tell, stop=stop or Stop())
        store.put_problems(problems, car=file.name, stage=f"figures {kept.original.sha256[:16]}")
    read = sum(figure.source == picture for figure in store.car_file(file.name).figures)
    return AddedItem(kept.original.name, file.name, Kind.PICTURE, figures=read, problems=problems)


def hear_notes(store: Store, *, stop: Stop | None = None) -> tuple[Problem, ...]:
    """Hear the spoken notes of all cars that are not heard to their end; one broken file does not stop the others.

    Raises
    ------
    StoppedError
        `stop` was set; what is done is kept, and the same call goes on.
    """
    from shutline.usecases.unfinished import go_on

    stop = stop or Stop()
    problems: list[Problem] = []
    for _, recording in store.unfinished():
        if store.spoken_at(recording) is None:
            continue
        stop.heed(recording)
        try:
            go_on(store, recording, stop=stop)
        except UserError as error:
            problems.append(error.problem)
    return tuple(problems)


def _look(file: Path, name: str, kind: NoteKind) -> tuple[Probe, PrivateDetails, tuple[Problem, ...]]:
    from shutline.capture.files import shown_name
    from shutline.capture.probe import probe

    def called(problem: Problem) -> Problem:
        return replace(problem, where=problem.where.replace(shown_name(file), shown_name(Path(name))))

    try:
        found, private, problems = probe(file)
    except UserError as error:
        raise type(error)(called(error.problem)) from error
    if found.kind not in _KINDS[kind]:
        allowed = "a picture" if kind is NoteKind.PICTURE else "a sound, or a film with sound"
        raise _refused("note-kind", name, f"a {found.kind} ({found.container})", allowed)
    # A note is spoken into no camera: that it has no picture is no trouble.
    wanted = (problem for problem in problems if kind is NoteKind.PICTURE or problem.slug != "no-picture-track")
    return found, private, tuple(called(problem) for problem in wanted)


def _add(
    store: Store,
    car: str,
    kind: NoteKind,
    where: Place,
    *,
    token: str,
    at: str,
    by: str | None,
    source: str = "",
    words: str = "",
) -> Note:
    return store.add_note(
        car,
        kind,
        part=where.part,
        side=where.side,
        position=where.position,
        author=by or author(),
        token=token,
        at=at,
        source=source,
        words=words,
    )


def _enter(store: Store, car: str, note: Note, says: Says, *, token: str, by: str | None) -> KeptFinding:
    finding = Finding(
        part=note.part,
        side=note.side,
        position=note.position,
        condition=says.condition,
        found=says.found,
        severity=says.severity,
        footings=(_footing(note),),
        why=("entered by a person beside the car",),
    )
    return store.add_finding(car, finding, author=by or author(), token=f"note {token}")


def _footing(note: Note) -> Footing:
    if note.kind is NoteKind.PICTURE:
        return Footing(FootingKind.SEEN, note.source)
    return Footing(FootingKind.SAID, note.source or note.id, quote=note.words)


def _note(store: Store, car: str, token: str) -> Note:
    kept = store.find_note(car, token)
    if kept is None:
        raise _unknown("note-unknown", f"{car}, note {token[:64]!r}", "no note was sent with that token")
    return kept


def _checked_token(token: str) -> str:
    if not _TOKEN.fullmatch(token):
        raise _refused("note-token", "note", repr(token[:64]), "8 to 64 letters, digits, hyphens and low lines")
    return token


def _checked_time(at: str | None) -> str:
    if at is None:
        return datetime.now(UTC).isoformat(timespec="seconds").replace("+00:00", "Z")
    try:
        datetime.fromisoformat(at)
    except ValueError:
        raise _refused("note-time", "note", repr(at[:40]), "a time such as 2026-03-01T10:15:00Z") from None
    return at


def _refused(slug: str, where: str, found: str, allowed: str) -> ShutlineError:
    return UserError(Problem(slug, where, found, allowed, "Make the note again with one of these."))


def _unknown(slug: str, where: str, found: str) -> NotFoundError:
    return NotFoundError(Problem(slug, where, found, "what the car file holds", "Look at the car for what is there."))
