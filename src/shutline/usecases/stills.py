"""Another still for a finding: the frame that a person stopped the film at."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from shutline.car.carfile import CarFile, KeptFinding, Recording
from shutline.car.errors import NotFoundError, Problem, UserError
from shutline.car.recordings import Kind, Still
from shutline.usecases.look import find_car
from shutline.usecases.review import Decided, one_of
from shutline.usecases.settings import author as present_author

if TYPE_CHECKING:
    from shutline.capture.stills import ChosenStill
    from shutline.store import Store


def choose_still(
    store: Store,
    car: str,
    id_: str,
    at_s: float,
    *,
    recording: str | None = None,
    version: int | None = None,
    author: str | None = None,
) -> Decided:
    """Let the frame that stands at a moment of the film show a finding; those before are put aside, for undo.

    Parameters
    ----------
    store : Store
        Where it is kept.
    car : str
        The car's name, or a beginning of it that no other has.
    id_ : str
        Id of the finding, or a beginning of it that no other of this car has.
    at_s : float
        Seconds from the start of the recording.
    recording : str, optional
        Id of the film; the one the finding was said in when left out.
    version : int, optional
        The version the person had before them; whatever is kept now when left out.
    author : str, optional
        Who chose; the name the user is logged in with when left out.

    Raises
    ------
    NotFoundError
        No such car, finding or recording.
    UserError
        There is no such moment, or no picture there (slugs ``no-such-moment``, ``still-not-taken``).
    StaleError
        Somebody changed the finding meanwhile.
    """
    file = find_car(store, car)
    kept = one_of(file, id_)
    if not isinstance(kept, KeptFinding):
        raise _no_still(f"{file.name}, {id_!r}", "a fact has no still")
    film = which_film(file, recording or _said_in(file, kept))
    still = take_still(store, film, at_s)
    if still is None:
        raise _no_still(film.original.name, f"no frame could be read at {at_s:.1f} s")
    chosen = store.choose_stills(
        kept.id,
        film.id,
        [still],
        author=author or present_author(),
        expected_version=kept.version if version is None else version,
    )
    return Decided(file.name, (chosen,))


def frame(store: Store, car: str, recording: str, at_s: float) -> ChosenStill | None:
    """Give the frame that stands at a moment of a recording, and keep nothing; None where there is no picture.

    Raises
    ------
    NotFoundError
        No such car or recording.
    UserError
        There is no such moment (slug ``no-such-moment``).
    """
    return _frame(store, which_film(find_car(store, car), recording), at_s)


def take_still(store: Store, film: Recording, at_s: float) -> Still | None:
    """Keep the frame that stands at a moment of a film among the files of the store; None where it has no picture."""
    from shutline.capture.originals import write_once

    taken = _frame(store, film, at_s)
    if taken is None:
        return None
    return Still(
        at_s=taken.at_s,
        sha256=write_once(store.derived, taken.jpeg),
        width=taken.width,
        height=taken.height,
        sharpness=taken.sharpness,
        steadiness=taken.steadiness,
    )


def which_film(car: CarFile, recording: str | None) -> Recording:
    """Give a recording of a car by its id, or the only one it has.

    Raises
    ------
    NotFoundError
        There is none of that id, or several and none was named (slug ``which-film``).
    """
    found = [one for one in car.recordings if recording is None or one.id == recording]
    if len(found) == 1:
        return found[0]
    raise NotFoundError(
        Problem(
            slug="which-film",
            where=car.name,
            found=f"{len(car.recordings)} recordings, and none of the id {recording!r}"
            if recording
            else f"{len(car.recordings)} recordings",
            allowed="the id of one of them; it may be left out where there is one only",
            advice=f"See the ids with `shutline show {car.name} --json`.",
        )
    )


def check_moment(film: Recording, at_s: float) -> None:
    """Refuse a moment that a recording does not have (slug ``no-such-moment``)."""
    length_s = film.probe.length_s
    if math.isfinite(at_s) and at_s >= 0 and (length_s is None or at_s <= length_s + 1):
        return
    raise UserError(
        Problem(
            slug="no-such-moment",
            where=film.original.name,
            found=f"{at_s:.1f} s",
            allowed="from 0 s" + ("" if length_s is None else f" to {length_s:.1f} s, where it ends"),
            advice="Name a moment of the recording.",
        )
    )


def _frame(store: Store, film: Recording, at_s: float) -> ChosenStill | None:
    from shutline.capture.one_frame import frame_at
    from shutline.capture.originals import original_path

    check_moment(film, at_s)
    if film.original.kind is not Kind.FILM:
        return None
    path = store.linked_path(film.original.sha256) or original_path(store.originals, film.original.sha256)
    return frame_at(path, at_s)


def _said_in(car: CarFile, kept: KeptFinding) -> str | None:
    known = {one.id for one in car.recordings}
    return next((footing.source for footing in kept.finding.footings if footing.source in known), None)


def _no_still(where: str, found: str) -> UserError:
    return UserError(
        Problem(
            slug="still-not-taken",
            where=where,
            found=found,
            allowed="a moment of a film with a picture; the stills are as they were",
            advice="Choose another moment.",
        )
    )
