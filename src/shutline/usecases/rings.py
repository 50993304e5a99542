"""Rings: a person marks where on a still, or a picture, a finding is; drawn over it, never into it."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from typing import TYPE_CHECKING

from shutline.car.carfile import CarFile, KeptFinding
from shutline.car.errors import NotFoundError, Problem, UserError
from shutline.car.rings import LEAST_RADIUS, MOST_RADIUS, Circle, Ring, shows_of
from shutline.usecases.look import find_car
from shutline.usecases.review import one_of
from shutline.usecases.settings import author as present_author

if TYPE_CHECKING:
    from shutline.store import Store


@dataclass(frozen=True, slots=True)
class Ringed:
    """What a decision about a ring gave."""

    car: str
    ring: Ring


def rings_of(store: Store, findings: Iterable[KeptFinding]) -> dict[tuple[str, str], Ring]:
    """Give the rings of findings by finding and picture, those too that were taken back."""
    return {(one.finding, one.picture): one for one in store.rings([kept.id for kept in findings])}


def ring(
    store: Store,
    car: str,
    finding: str,
    *,
    x: float,
    y: float,
    radius: float,
    picture: str | None = None,
    version: int | None = None,
    author: str | None = None,
) -> Ringed:
    """Ring where a finding is; a ring that it has on the picture already is moved.

    Parameters
    ----------
    store : Store
        Where it is kept.
    car : str
        The car's name, or a beginning of it that no other has.
    finding : str
        Id of the finding, or a beginning of it that no other of this car has.
    x, y, radius : float
        As `Circle` has them: shares of the upright picture as it is shown, the radius of its width.
    picture : str, optional
        SHA-256 of one of its stills, or SHA-256 or id of a picture it stands on, or a beginning of one; may be left
        out where one picture alone shows it.
    version : int, optional
        The version of the ring that the person had before them, 0 for none; whatever is kept now when left out.
    author : str, optional
        Who says so; the name the user is logged in with when left out.

    Raises
    ------
    NotFoundError
        No such car or finding, or no such picture of it (slug ``ring-picture-unknown``).
    UserError
        It is a fact, or there is no such circle (slug ``ring-refused``).
    StaleError
        Somebody changed the ring meanwhile.
    """
    file = find_car(store, car)
    kept = _finding(file, finding)
    on = _which(file, kept, picture)
    try:
        circle = Circle(x, y, radius)
    except ValueError:
        allowed = f"x and y from 0 to 1, a radius from {LEAST_RADIUS} to {MOST_RADIUS} of the width"
        found = f"a ring at {x:g},{y:g} of {radius:g}"
        raise _refused(f"{file.name}, {finding[:12]}", found, allowed, "Ring the place on the picture.") from None
    there = rings_of(store, [kept]).get((kept.id, on))
    if there is not None and there.holds and there.circle == circle:
        # Sent twice: a phone without signal does not know that it came.
        return Ringed(file.name, there)
    drawn = store.put_ring(kept.id, on, circle, author=author or present_author(), expected_version=version)
    return Ringed(file.name, drawn)


def take_ring_back(
    store: Store,
    car: str,
    finding: str,
    *,
    picture: str | None = None,
    version: int | None = None,
    author: str | None = None,
) -> Ringed:
    """Take a ring away again; it is kept with who and when, and drawn no more. Otherwise as `ring`.

    Raises
    ------
    UserError
        There is no ring to take back (slug ``ring-refused``), or as `ring`.
    """
    file = find_car(store, car)
    kept = _finding(file, finding)
    there = rings_of(store, [kept]).get((kept.id, _which(file, kept, picture)))
    if there is not None and not there.holds and version is not None:
        return Ringed(file.name, there)
    if there is None or not there.holds:
        allowed = "a ring that somebody drew"
        raise _refused(f"{file.name}, {finding[:12]}", "no ring is drawn there", allowed, "Nothing is to be done.")
    taken = store.put_ring(
        kept.id,
        there.picture,
        there.circle,
        holds=False,
        author=author or present_author(),
        expected_version=version,
    )
    return Ringed(file.name, taken)


def _finding(file: CarFile, id_: str) -> KeptFinding:
    kept = one_of(file, id_)
    if isinstance(kept, KeptFinding):
        return kept
    raise _refused(f"{file.name}, {id_[:40]!r}", "not a finding", "findings alone have a place", "Name a finding.")


def _which(file: CarFile, kept: KeptFinding, text: str | None) -> str:
    there = shows_of(file, kept)
    wanted = (text or "").lower()
    found = [one for one in there if one.sha256.startswith(wanted) or (one.picture and one.picture.startswith(wanted))]
    if len(found) == 1:
        return found[0].sha256
    among = ", ".join(one.sha256[:12] for one in there[:6])
    raise NotFoundError(
        Problem(
            slug="ring-picture-unknown",
            where=f"{file.name}, finding {kept.id[:12]}",
            found=f"{len(found)} pictures that show it" + (f" and begin with {text[:40]!r}" if text else ""),
            allowed=f"one of those that show it: {among}" if there else "a finding with a still or a picture",
            advice="Name the still or the picture by its SHA-256, or the start of it."
            if there
            else "Choose a still for it first.",
        )
    )


def _refused(where: str, found: str, allowed: str, advice: str) -> UserError:
    return UserError(Problem("ring-refused", where, found, allowed, advice))
