"""Pictures taken by hand, joined to the part they are of: by a person's word, or offered by clock and by cue."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from shutline.car.carfile import KeptFinding
from shutline.car.errors import NotFoundError, Problem, UserError
from shutline.car.findings import Footing, FootingKind, Position, Side
from shutline.car.notes import NoteKind
from shutline.car.vocabulary import vocabulary
from shutline.usecases.at_the_car import Place, find_place, key_of
from shutline.usecases.look import find_car
from shutline.usecases.part_times import PartTime, is_at, times_at, walks_of
from shutline.usecases.picture_times import Offer, offers
from shutline.usecases.review import Decided, as_wanted, lay_all_beside, one_of
from shutline.usecases.settings import author as present_author

if TYPE_CHECKING:
    from shutline.car.carfile import CarFile, Picture
    from shutline.car.picture_places import PicturePlace
    from shutline.car.places import Visit
    from shutline.car.recordings import Still
    from shutline.store import Store


@dataclass(frozen=True, slots=True)
class JoinedPicture:
    """A picture taken by hand, and what is known of where it belongs.

    `place` is the key of the place it is of and `name` what that is called, None where nobody has said. `by` is who
    said so and `version` how often it was said; 0 for one that was taken at its place (a note made at the car).
    `offers` are places that clock or cue speak for while nobody has said. `shows` are the ids of the findings that
    stand on it.
    """

    id: str
    sha256: str
    called: str
    width: int
    height: int
    taken_at: str | None
    place: str | None
    name: str | None
    by: str | None
    version: int
    offers: tuple[Offer, ...]
    shows: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class ShownFinding:
    """A finding in a few words, with its stills and the moment it was said."""

    id: str
    line: str
    version: int
    stills: tuple[Still, ...]
    recording: str | None
    start_s: float | None


@dataclass(frozen=True, slots=True)
class PartPictures:
    """All that shows one place of the car."""

    place: str
    name: str
    zone: str
    findings: tuple[ShownFinding, ...]
    pictures: tuple[JoinedPicture, ...]
    times: tuple[PartTime, ...]


@dataclass(frozen=True, slots=True)
class CarPictures:
    """The pictures of a car by part, in walking order; `loose` are those that nobody has placed."""

    car: str
    title: str
    parts: tuple[PartPictures, ...]
    loose: tuple[JoinedPicture, ...]

    def all_pictures(self) -> tuple[JoinedPicture, ...]:
        """Give all pictures taken by hand, placed or not."""
        return (*(one for part in self.parts for one in part.pictures), *self.loose)


@dataclass(frozen=True, slots=True)
class Joined:
    """A picture as it is joined now."""

    car: str
    picture: JoinedPicture


def car_pictures(store: Store, name: str) -> CarPictures:
    """Give the pictures of a car by part.

    Parameters
    ----------
    store : Store
        Where it is kept.
    name : str
        Its name, or a beginning of it that no other has.

    Raises
    ------
    NotFoundError, UserError
        No car begins so, or several do.
    """
    from shutline.publish.naming import capitalised, place_name, walk_order, zone_of

    car = find_car(store, name)
    walks = walks_of(car)
    joined = _joined(store, car, walks)
    spots: dict[tuple[str, Side | None, Position | None], list[KeptFinding]] = {}
    for kept in car.going_out():
        spots.setdefault((kept.finding.part, kept.finding.side, kept.finding.position), []).append(kept)
    placed: dict[str, list[JoinedPicture]] = {}
    for picture in joined:
        if picture.place is not None:
            placed.setdefault(picture.place, []).append(picture)
    for key in placed:
        spots.setdefault(spot_of(key), [])
    parts = []
    for spot in sorted(spots, key=lambda one: walk_order(*one)):
        key = key_of(*spot)
        parts.append(
            PartPictures(
                place=key,
                name=capitalised(place_name(*spot)),
                zone=zone_of(*spot).title,
                findings=tuple(_shown(car, kept) for kept in spots[spot]),
                pictures=tuple(placed.get(key, ())),
                times=_times(car, spot, walks),
            )
        )
    return CarPictures(car.name, car.title, tuple(parts), tuple(one for one in joined if one.place is None))


def pictures_at(store: Store, car: CarFile, place: Place) -> tuple[Picture, ...]:
    """Give the pictures taken by hand that people said are of a place, in the order they came in."""
    said = _said(store, car)
    return tuple(
        picture
        for picture in car.pictures
        if picture.id in said and said[picture.id][0] is not None and is_at(place, *spot_of(said[picture.id][0] or ""))
    )


def place_picture(
    store: Store, car: str, picture: str, place: str | None, *, version: int | None = None, author: str | None = None
) -> Joined:
    """Say which part a picture is of; what was said of it before is kept.

    Parameters
    ----------
    store : Store
        Where it is kept.
    car : str
        The car's name, or a beginning of it that no other has.
    picture : str
        Id of the picture, or a beginning of it that no other of this car has.
    place : str or None
        Key or name of the place (see `at_the_car.places`), or the key of an offer; None for none in particular.
    version : int, optional
        The version the person had before them; whatever is kept now when left out.
    author : str, optional
        Who says so; the name the user is logged in with when left out.

    Raises
    ------
    NotFoundError
        No such car or picture (slug ``picture-unknown``).
    UserError
        There is no such place (``place-unknown``), or somebody has said something else meanwhile (``stale-picture``).
    """
    file = find_car(store, car)
    kept = picture_of(file, picture)
    spot = (None, None, None) if place is None else spot_of(place)
    store.place_picture(
        kept.id,
        spot[0],
        side=spot[1],
        position=spot[2],
        author=author or present_author(),
        expected_version=version,
    )
    return _now(store, file.name, kept.id)


def show_with_picture(
    store: Store,
    car: str,
    picture: str,
    finding: str,
    *,
    shows: bool = True,
    version: int | None = None,
    author: str | None = None,
) -> Decided:
    """Let a finding stand on a picture too, as seen; or no longer. It stands then, for a person has looked.

    Parameters
    ----------
    finding : str
        Id of the finding, or a beginning of it that no other of this car has.
    shows : bool
        False takes the picture out of what the finding stands on.
    version : int, optional
        The version of the finding the person had before them; whatever is kept now when left out.
    store, car, picture, author
        As for `place_picture`.

    Raises
    ------
    NotFoundError
        No such car, picture or finding.
    UserError
        It is a fact (slug ``picture-of-fact``).
    StaleError
        Somebody changed the finding meanwhile.
    """
    with store.together():
        file = find_car(store, car)
        of = picture_of(file, picture)
        kept = one_of(file, finding)
        if not isinstance(kept, KeptFinding):
            raise UserError(_of_fact(file, finding))
        seen = Footing(FootingKind.SEEN, of.id)
        others = tuple(one for one in kept.finding.footings if (one.kind, one.source) != (seen.kind, seen.source))
        footings = (*others, seen) if shows else others
        if footings != kept.finding.footings:
            with as_wanted("confirm"):
                kept = store.change_finding(
                    kept.id,
                    action="amend",
                    author=author or present_author(),
                    expected_version=kept.version if version is None else version,
                    footings=footings,
                )
        lay_all_beside(store, file)
    return Decided(file.name, (kept,))


def picture_of(car: CarFile, text: str) -> Picture:
    """Give the picture of a car that an id, or the beginning of one, names (NotFoundError ``picture-unknown``)."""
    begins = [picture for picture in car.pictures if text and picture.id.startswith(text.lower())]
    if len(begins) == 1:
        return begins[0]
    raise NotFoundError(
        Problem(
            slug="picture-unknown",
            where=f"{car.name}, picture {text[:40]!r}",
            found="no picture begins so" if not begins else f"{len(begins)} pictures begin so",
            allowed=f"one of the {len(car.pictures)} pictures of this car, by its id or the start of it",
            advice=f"See them with `shutline pictures {car.name}`.",
        )
    )


def spot_of(text: str) -> tuple[str, Side | None, Position | None]:
    """Give part, side and end of a key such as ``arch-rear-near`` or ``sill``, or of a place's name.

    What is said of both sides or ends is of none in particular.

    >>> spot_of("sill"), spot_of("arch-rear-off"), spot_of("headlight-both")
    (('sill', None, None), ('arch', <Side.OFF: 'off'>, <Position.REAR: 'rear'>), ('headlight', None, None))

    Raises
    ------
    UserError
        There is none (slug ``place-unknown``).
    """
    part, *more = text.split("-")
    if part in vocabulary().parts and set(more) <= {"near", "off", "front", "rear", "both"}:
        side = next((Side(word) for word in more if word in {"near", "off"}), None)
        position = next((Position(word) for word in more if word in {"front", "rear"}), None)
        if key_of(part, side, position) == text.replace("-both", ""):
            return part, side, position
    place = find_place(text)
    return place.part, place.side, place.position


def place_at(text: str) -> Place:
    """Give the place of a key or a name, as `spot_of`; of a part with sides it may be the part alone."""
    from shutline.publish.naming import capitalised, place_name, zone_of

    spot = spot_of(text)
    return Place(key_of(*spot), capitalised(place_name(*spot)), zone_of(*spot).title, *spot)


def _now(store: Store, car: str, picture: str) -> Joined:
    file = find_car(store, car)
    return Joined(file.name, next(one for one in _joined(store, file, walks_of(file)) if one.id == picture))


def _joined(store: Store, car: CarFile, walks: dict[str, tuple[Visit, ...]]) -> tuple[JoinedPicture, ...]:
    from shutline.publish.naming import capitalised, place_name

    said = _said(store, car)
    free = [picture for picture in car.pictures if picture.id not in said]
    devices = _devices(store, car) if free else {}
    offered = offers(car, free, walks, devices)
    made = []
    for picture in car.pictures:
        place, by, version = said.get(picture.id, (None, None, 0))
        made.append(
            JoinedPicture(
                id=picture.id,
                sha256=picture.original.sha256,
                called=picture.original.name,
                width=picture.width,
                height=picture.height,
                taken_at=picture.taken_at,
                place=place,
                name=None if place is None else capitalised(place_name(*spot_of(place))),
                by=by,
                version=version,
                offers=offered.get(picture.id, ()),
                shows=_stands_on(car, picture.id),
            )
        )
    return tuple(made)


def _said(store: Store, car: CarFile) -> dict[str, tuple[str | None, str, int]]:
    """Give what people said of pictures: the key of the place, who said it, and how often something was said."""
    found: dict[str, tuple[str | None, str, int]] = {
        note.source: (key_of(note.part, note.side, note.position), note.author, 0)
        for note in car.notes
        if note.kind is NoteKind.PICTURE
    }
    places: dict[str, tuple[PicturePlace, ...]] = store.picture_places([picture.id for picture in car.pictures])
    for picture, all_said in places.items():
        last = all_said[-1]
        key = None if last.part is None else key_of(last.part, last.side, last.position)
        found[picture] = (key, last.author, last.version)
    return found


def _devices(store: Store, car: CarFile) -> dict[str, str | None]:
    found: dict[str, str | None] = {}
    for original in (*(one.original for one in car.recordings), *(one.original for one in car.pictures)):
        private = store.private_details(original.sha256)
        found[original.sha256] = None if private is None else private.device
    return found


def _stands_on(car: CarFile, picture: str) -> tuple[str, ...]:
    return tuple(
        kept.id
        for kept in car.going_out()
        if any(one.kind is FootingKind.SEEN and one.source == picture for one in kept.finding.footings)
    )


def _shown(car: CarFile, kept: KeptFinding) -> ShownFinding:
    from shutline.publish.statement import statement

    films = {one.id for one in car.recordings}
    said = next((one for one in kept.finding.footings if one.source in films and one.start_s is not None), None)
    return ShownFinding(
        id=kept.id,
        line=statement(kept.finding),
        version=kept.version,
        stills=kept.stills,
        recording=None if said is None else said.source,
        start_s=None if said is None else said.start_s,
    )


def _times(
    car: CarFile, spot: tuple[str, Side | None, Position | None], walks: dict[str, tuple[Visit, ...]]
) -> tuple[PartTime, ...]:
    return times_at(car, Place(key_of(*spot), "", "", *spot), walks)


def _of_fact(car: CarFile, finding: str) -> Problem:
    return Problem(
        slug="picture-of-fact",
        where=f"{car.name}, {finding[:40]!r}",
        found="a fact",
        allowed="findings of parts stand on pictures; figures in a picture are read by themselves",
        advice="Name a finding.",
    )
