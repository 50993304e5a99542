"""What a car is called and drawn as; that two cars are one; and a car that is set aside. All of it has a way back."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Any

from shutline.car.carfile import CarFile, CarSummary, Change
from shutline.car.errors import NotFoundError, Problem, UserError
from shutline.car.findings import Drive, State
from shutline.usecases.settings import author as present_author

if TYPE_CHECKING:
    from shutline.store import Store

FIELDS = ("title", "body", "doors", "drive")
"""What may be settled by hand."""

LONGEST_TITLE = 200

_TOLD = ("body", "doors")
"""Facts that say what a car is drawn as."""


@dataclass(frozen=True, slots=True)
class BodyOffered:
    """A body that can be drawn, and how many doors it may be said to have."""

    id: str
    doors: tuple[int, ...]


@dataclass(frozen=True, slots=True)
class Under:
    """A car that was joined with this one: what it was called, and when and by whom it was joined."""

    name: str
    title: str
    at: str
    author: str


@dataclass(frozen=True, slots=True)
class Particulars:
    """A car's own details, the cars that came under it, and who changed what when, the oldest first.

    `told` is what the recordings say of its body and doors and nobody has struck, by the name of the fact.
    """

    car: CarSummary
    joined: tuple[Under, ...]
    changes: tuple[Change, ...]
    bodies: tuple[BodyOffered, ...]
    told: dict[str, tuple[str, ...]]


@dataclass(frozen=True, slots=True)
class Coming:
    """What would come of one car under another, and how it stands there after.

    `same` names the recordings and pictures that both have: they would be shown once, and what was drawn from them
    told once. `after` is counted by doing it and taking it back; its version and time are those of now.
    """

    car: CarSummary
    other: CarSummary
    notes: int
    same: tuple[str, ...]
    after: CarSummary


def particulars(store: Store, car: str) -> Particulars:
    """Give a car's own details.

    Parameters
    ----------
    store : Store
        Where it is kept.
    car : str
        Its name, or a beginning of it that no other has.

    Raises
    ------
    NotFoundError
        No car begins so.
    UserError
        Several do.
    """
    summary = _find(store, car)
    file = store.car_file(summary.name)
    return Particulars(
        car=summary,
        joined=tuple(Under(one.name, one.title, one.at, one.author) for one in store.joined_cars(summary.name)),
        changes=file.changes,
        bodies=bodies_offered(),
        told=_told(file),
    )


def bodies_offered() -> tuple[BodyOffered, ...]:
    """Give the bodies that can be drawn."""
    from shutline.car.plan.bodies import bodies

    return tuple(BodyOffered(body.name, body.door_counts) for body in bodies().values())


def settle(
    store: Store, car: str, fields: Mapping[str, str], *, version: int | None = None, author: str | None = None
) -> Particulars:
    """Say by hand how a car is shown and what it is drawn as; what stood before is kept.

    Parameters
    ----------
    store, car
        As for `particulars`.
    fields : mapping of str to str
        Those of `FIELDS` that are settled, as words; an empty body or count of doors while it is not known.
    version : int, optional
        The version the person had before them; whatever is kept now when left out.
    author : str, optional
        Who says so; the name the user is logged in with when left out.

    Raises
    ------
    NotFoundError
        No such car.
    StaleError
        Somebody changed it meanwhile; it carries both versions.
    UserError
        A value is none of those allowed (slugs ``car-title``, ``car-detail``, ``unknown-body``,
        ``unknown-door-count``).
    """
    from shutline.car.plan.bodies import choose_body

    unknown = [name for name in fields if name not in FIELDS]
    if unknown or not fields:
        found = ", ".join(repr(name[:40]) for name in unknown) or "nothing to change"
        raise _refused("car-detail", "the change", found, ", ".join(FIELDS))
    values: dict[str, Any] = {}
    if "title" in fields:
        values["title"] = _title(fields["title"])
    if "drive" in fields:
        values["drive"] = _drive(fields["drive"].strip())
    if "body" in fields:
        values["body"] = fields["body"].strip() or None
    if "doors" in fields:
        values["doors"] = _doors(fields["doors"].strip())
    with store.together():
        summary = _find(store, car)
        choose_body(values.get("body", summary.body), values.get("doors", summary.doors))
        store.set_car_details(summary.name, author=author or present_author(), expected_version=version, **values)
        return particulars(store, summary.name)


def coming(store: Store, car: str, other: str) -> Coming:
    """Say what would come of one car under another; nothing is done. Parameters and errors as for `join`."""
    summary, under = _find(store, car), _find(store, other)
    notes = len(store.car_file(under.name).notes)
    names = tuple(store.original(sha256).name for sha256 in store.films_of_both(summary.name, under.name))
    after = store.try_join(summary.name, under.name, author=present_author())
    return Coming(summary, under, notes, names, replace(after, version=summary.version, changed_at=summary.changed_at))


def join(store: Store, car: str, other: str, *, version: int | None = None, author: str | None = None) -> Particulars:
    """Say that two cars are one: all that is kept of the other is shown under the first, with who and when.

    Nothing is moved and nothing lost: `separate` takes it out again. What both have is shown once.

    Parameters
    ----------
    store : Store
        Where they are kept.
    car : str
        The one that stays, by its name or a beginning of it that no other has.
    other : str
        The one that comes under it.
    version : int, optional
        The version of the first that the person had before them; whatever is kept now when left out.
    author : str, optional
        Who says so; the name the user is logged in with when left out.

    Raises
    ------
    NotFoundError
        No such car.
    StaleError
        The first was changed meanwhile.
    UserError
        They cannot be joined (slugs ``join-itself``, ``join-chain``, ``join-unread``); nothing was done.
    """
    with store.together():
        first = _find(store, car).name
        wanted = "-".join(other.split()).lower()
        there = any(one.name == wanted for one in store.joined_cars(first))
        second = wanted if there else _find(store, other).name
        store.join_cars(first, second, author=author or present_author(), expected_version=version)
        return particulars(store, first)


def separate(store: Store, car: str, other: str, *, author: str | None = None) -> Particulars:
    """Take a car out again from under another; what was decided meanwhile stays with what it was decided about.

    Parameters
    ----------
    store, car
        As for `particulars`.
    other : str
        The name of one that is under it, or a beginning of it that no other of these has.
    author : str, optional
        Who says so; the name the user is logged in with when left out.

    Returns
    -------
    Particulars
        Of the car that was taken out.

    Raises
    ------
    NotFoundError
        No such car.
    UserError
        None of that name is under it, or a later one has to be taken out first (slugs ``not-joined``,
        ``join-order``); nothing was done.
    """
    with store.together():
        first = _find(store, car).name
        wanted = "-".join(other.split()).lower()
        names = [one.name for one in store.joined_cars(first)]
        begins = [wanted] if wanted in names else [name for name in names if wanted and name.startswith(wanted)]
        second = begins[0] if len(begins) == 1 else wanted or "-"
        if second not in names:
            raise _not_under(first, other, names)
        store.separate_cars(first, second, author=author or present_author())
        return particulars(store, second)


def set_aside(store: Store, car: str, *, version: int | None = None, author: str | None = None) -> Particulars:
    """Leave a car out of the yard until it is asked for; nothing of it is deleted. As `settle` otherwise."""
    return _aside(store, car, aside=True, version=version, author=author)


def bring_back(store: Store, car: str, *, version: int | None = None, author: str | None = None) -> Particulars:
    """Bring a car that was set aside back into the yard. As `settle` otherwise."""
    return _aside(store, car, aside=False, version=version, author=author)


def _aside(store: Store, car: str, *, aside: bool, version: int | None, author: str | None) -> Particulars:
    with store.together():
        name = _find(store, car).name
        store.set_car_aside(name, aside=aside, author=author or present_author(), expected_version=version)
        return particulars(store, name)


def _find(store: Store, car: str) -> CarSummary:
    return store.find_car("-".join(car.split()))


def _told(file: CarFile) -> dict[str, tuple[str, ...]]:
    told: dict[str, dict[str, None]] = {}
    for kept in file.facts:
        if kept.fact.name in _TOLD and kept.fact.state is not State.STRUCK:
            told.setdefault(kept.fact.name, {})[str(kept.fact.value)] = None
    return {name: tuple(values) for name, values in told.items()}


def _title(text: str) -> str:
    title = " ".join(text.split())
    if not title or len(title) > LONGEST_TITLE or not title.isprintable():
        found = f"{len(title)} letters" if title.isprintable() else "signs that cannot be shown"
        raise _refused("car-title", "title of the car", found, f"1 to {LONGEST_TITLE} letters that can be shown")
    return title


def _drive(text: str) -> Drive:
    try:
        return Drive(text)
    except ValueError:
        raise _refused("car-detail", "drive", repr(text[:40]), " or ".join(one.value for one in Drive)) from None


def _doors(text: str) -> int | None:
    if not text:
        return None
    if text.isascii() and text.isdigit() and len(text) == 1:
        return int(text)
    raise _refused("car-detail", "doors", repr(text[:40]), "a whole number, or nothing while it is not known")


def _refused(slug: str, where: str, found: str, allowed: str) -> UserError:
    return UserError(Problem(slug, where, found, allowed, "Take one of these; nothing was changed."))


def _not_under(car: str, other: str, names: list[str]) -> NotFoundError:
    return NotFoundError(
        Problem(
            slug="not-joined",
            where=f"{car}, {other[:60]!r}",
            found="no car of that name is under it",
            allowed=f"one of these: {', '.join(names)}" if names else "none was joined with it; nothing was done",
            advice="Look at its particulars for those that are.",
        )
    )
