"""What somebody beside the car needs: its places by name, what is known of each, and the notes made there."""

from __future__ import annotations

import difflib
from dataclasses import dataclass, replace
from functools import cache
from typing import TYPE_CHECKING

from shutline.car.errors import Problem, UserError
from shutline.car.findings import Drive, FootingKind, Position, Side, State
from shutline.car.notes import Note, NoteKind
from shutline.car.vocabulary import vocabulary
from shutline.usecases.look import find_car

if TYPE_CHECKING:
    from shutline.car.carfile import CarFile
    from shutline.car.findings import Finding
    from shutline.store import Store


@dataclass(frozen=True, slots=True)
class Place:
    """One place of a car.

    `key` is its part, position and side joined by hyphens, ``tyre-front-off``, as the Plan has it; `zone` the stretch
    of the walk it belongs to.
    """

    key: str
    name: str
    zone: str
    part: str
    side: Side | None = None
    position: Position | None = None


@dataclass(frozen=True, slots=True)
class Offered:
    """A condition that a note may be said to show; `defect` is False for good news."""

    condition: str
    label: str
    defect: bool


@dataclass(frozen=True, slots=True)
class KnownThere:
    """A finding in a few words, and the keys of the places it may be of: several where no side or end was said."""

    finding: str
    places: tuple[str, ...]
    line: str
    state: State


@dataclass(frozen=True, slots=True)
class NoteThere:
    """A note, the key of its place, and what came of it.

    `sha256` names the bytes of a picture or a recording. `read` is False while spoken words are not heard to their
    end; `heard` are those that were. `shows` are the ids of the findings that stand on it.
    """

    note: Note
    place: str
    sha256: str | None = None
    read: bool = True
    heard: str = ""
    shows: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class AtTheCar:
    """All that is needed at one car. `places` are in walking order, `notes` newest first."""

    car: str
    title: str
    drive: Drive
    body: str | None
    doors: int | None
    places: tuple[Place, ...]
    known: tuple[KnownThere, ...]
    notes: tuple[NoteThere, ...]
    conditions: tuple[Offered, ...]


def at_the_car(store: Store, name: str) -> AtTheCar:
    """Give what is needed to make notes at a car.

    Parameters
    ----------
    store : Store
        Where it is kept.
    name : str
        Its name, or a beginning of it that no other has.

    Raises
    ------
    NotFoundError
        No car begins so.
    UserError
        Several do.
    """
    car = find_car(store, name)
    return AtTheCar(
        car=car.name,
        title=car.title,
        drive=car.drive,
        body=car.body,
        doors=car.doors,
        places=places(),
        known=_known(car),
        notes=_notes(car),
        conditions=tuple(Offered(one.id, one.label, one.defect) for one in vocabulary().conditions.values()),
    )


@cache
def places() -> tuple[Place, ...]:
    """Give all places of a car, in the order a walk comes to them."""
    from shutline.publish.naming import capitalised, place_name, walk_order, zone_of

    spots = [
        (part.id, side, position)
        for part in vocabulary().parts.values()
        for position in ((Position.FRONT, Position.REAR) if part.ended else (None,))
        for side in ((Side.NEAR, Side.OFF) if part.sided else (None,))
    ]
    return tuple(
        Place(key_of(*spot), capitalised(place_name(*spot)), zone_of(*spot).title, *spot)
        for spot in sorted(spots, key=lambda spot: walk_order(*spot))
    )


def key_of(part: str, side: Side | None, position: Position | None) -> str:
    """Give the key of a place.

    >>> key_of("tyre", Side.OFF, Position.FRONT), key_of("bonnet", None, None)
    ('tyre-front-off', 'bonnet')
    """
    return "-".join(word for word in (part, position, side) if word)


def find_place(text: str) -> Place:
    """Give the place of a key, or of a name as the list has it; capitals do not count.

    Raises
    ------
    UserError
        There is none (slug ``place-unknown``).
    """
    wanted = " ".join(text.split()).casefold()
    for place in places():
        if wanted in (place.key, place.name.casefold()):
            return place
    near = difflib.get_close_matches(wanted, [place.name.casefold() for place in places()], n=3)
    raise UserError(
        Problem(
            slug="place-unknown",
            where="place of the car",
            found=repr(text[:60]),
            allowed=f"near it: {', '.join(near)}" if near else "a place by its name, such as 'nearside front wing'",
            advice="Choose one of the list.",
        )
    )


def may_be_at(finding: Finding) -> tuple[str, ...]:
    """Give the keys of the places that a finding may be of: several where no side or end was said, or both."""
    return tuple(
        place.key
        for place in _places_of()[finding.part]
        if finding.side in (None, Side.BOTH, place.side) and finding.position in (None, Position.BOTH, place.position)
    )


def _notes(car: CarFile) -> tuple[NoteThere, ...]:
    shows: dict[str, list[str]] = {}
    for kept in car.told():
        for source in {footing.source for footing in kept.finding.footings}:
            shows.setdefault(source, []).append(kept.id)
    pictures = {picture.id: picture.original.sha256 for picture in car.pictures}
    recordings = {recording.id: recording for recording in car.recordings}
    found = []
    for note in reversed(car.notes):
        there = NoteThere(
            note,
            key_of(note.part, note.side, note.position),
            pictures.get(note.source),
            shows=tuple(shows.get(note.source or note.id, ())),
        )
        if note.kind is NoteKind.SPOKEN:
            recording = recordings[note.source]
            heard = " ".join(stretch.text for stretch in recording.stretches)
            there = replace(there, sha256=recording.original.sha256, read=recording.complete, heard=heard)
        found.append(there)
    return tuple(found)


def _known(car: CarFile) -> tuple[KnownThere, ...]:
    from shutline.publish.statement import statement

    return tuple(
        KnownThere(kept.id, there, _line(kept.finding, statement(kept.finding)), kept.finding.state)
        for kept in car.going_out()
        if (there := may_be_at(kept.finding))
    )


def _line(finding: Finding, said: str) -> str:
    kinds = {footing.kind for footing in finding.footings}
    on = ", ".join(kind.value for kind in FootingKind if kind in kinds)
    return f"{said} ({on})" if on else said


@cache
def _places_of() -> dict[str, tuple[Place, ...]]:
    found: dict[str, tuple[Place, ...]] = {}
    for place in places():
        found[place.part] = (*found.get(place.part, ()), place)
    return found
