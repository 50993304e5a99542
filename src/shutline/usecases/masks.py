"""Masks of a car: listed, drawn, moved, confirmed, struck; and laid over what goes out."""

from __future__ import annotations

import math
import secrets
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from shutline.car.errors import NotFoundError, Problem, UserError
from shutline.car.masks import Box, BoxAt, KeptMask, Mask, MaskKind, MaskState
from shutline.car.recordings import Kind
from shutline.publish.masks import MaskAccount, mask_sentences
from shutline.usecases.look import find_car
from shutline.usecases.mask_looks import (
    SOUGHT,
    Shot,
    film_looked_at,
    look_at_shot,
    look_in_film,
    looked_shots,
    shots,
    sources_of,
)
from shutline.usecases.mask_policy import applies, mask_policy
from shutline.usecases.settings import author as present_author
from shutline.usecases.stills import check_moment
from shutline.usecases.wide_covers import wide_covers_told

if TYPE_CHECKING:
    from shutline.car.carfile import CarFile, Recording
    from shutline.gauge.masks.found import Picture
    from shutline.gauge.masks.settings import Policy
    from shutline.store import Store
    from shutline.store.masks import MaskAction

Covering = Callable[["Picture", float], "Picture"]
"""Gives a picture, upright in sRGB, with what is to be covered in it covered; the second is its moment, seconds."""


@dataclass(frozen=True, slots=True)
class MaskedShot:
    """A picture that goes out, whether it was looked through, and the ids of the masks that lie in it, struck too."""

    shot: Shot
    looked_at: bool
    masks: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class CarMasks:
    """All masks of a car.

    `masks` are by source and in the order of time; `shots` the pictures that go out; `covers` what the house covers,
    and `told` what the report says of it, and which covers nobody confirmed hide most of a picture.
    """

    car: str
    title: str
    covers: str
    shots: tuple[MaskedShot, ...]
    masks: tuple[KeptMask, ...]
    told: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class MaskDecided:
    """What a decision gave."""

    car: str
    mask: KeptMask


def car_masks(store: Store, name: str) -> CarMasks:
    """Give the masks of a car.

    Raises
    ------
    NotFoundError, UserError
        No car begins so, or several do; the house's policy cannot be read.
    """
    car = find_car(store, name)
    policy = mask_policy()
    kept = store.masks(sources_of(car))
    looked = looked_shots(store, car)
    listed = tuple(
        MaskedShot(
            shot,
            (shot.source, shot.at_s) in looked,
            tuple(one.id for one in kept if _at(one.mask, shot.source, shot.at_s, policy.slack_s)),
        )
        for shot in shots(car)
    )
    told = (*report_told(store, car), *wide_covers_told(store, car))
    return CarMasks(car.name, car.title, policy.covers, listed, kept, told)


def add_mask(
    store: Store,
    name: str,
    source: str,
    kind: MaskKind,
    way: Sequence[BoxAt],
    *,
    token: str | None = None,
    author: str | None = None,
) -> MaskDecided:
    """Keep a mask that a person drew; it stands.

    Parameters
    ----------
    store : Store
        Where the car is kept.
    name : str
        Its name, or a beginning of it that no other has.
    source : str
        Id of one of its pictures or recordings.
    kind : MaskKind
        What is covered.
    way : sequence of BoxAt
        One box for a picture or a frame; for a stretch of film several, each later than the last.
    token : str, optional
        The same token again adds nothing.
    author : str, optional
        Who drew it; the name the user is logged in with when left out.

    Raises
    ------
    NotFoundError
        No such car, or nothing of it of that id (slug ``mask-source-unknown``).
    UserError
        There is no such moment (``no-such-moment``), or the way is none (``mask-way``).
    """
    car = find_car(store, name)
    _check_way(car, source, way)
    mask = Mask(source, kind, tuple(way))
    kept = store.add_mask(mask, author=author or present_author(), token=token or secrets.token_hex(16))
    return MaskDecided(car.name, kept)


def decide_mask(
    store: Store,
    name: str,
    id_: str,
    action: MaskAction,
    *,
    kind: MaskKind | None = None,
    box: Box | None = None,
    at_s: float | None = None,
    version: int | None = None,
    author: str | None = None,
) -> MaskDecided:
    """Confirm, strike, change or restore a mask.

    Parameters
    ----------
    store : Store
        Where the car is kept.
    name : str
        Its name, or a beginning of it that no other has.
    id_ : str
        Id of the mask, or a beginning of it that no other of this car has.
    action : MaskAction
        What is done.
    kind : MaskKind, optional
        With ``amend``: what it covers from now on.
    box : Box, optional
        With ``amend``: where it lies at `at_s`. A mask that is followed through a film is moved and sized as a whole.
    at_s : float, optional
        The moment that `box` is meant for; the mask's first when left out.
    version : int, optional
        The version the person had before them; whatever is kept now when left out.
    author : str, optional
        Who decided; the name the user is logged in with when left out.

    Raises
    ------
    NotFoundError
        No such car or mask (slug ``mask-unknown``).
    StaleError
        Somebody changed it meanwhile; it carries both versions.
    UserError
        The mask does not reach to that moment (``mask-way``), or was not struck (``nothing-to-restore``).
    """
    car = find_car(store, name)
    kept = _one(store, car, id_)
    way = None if box is None else _fitted(kept.mask, box, kept.mask.start_s if at_s is None else at_s)
    changed = store.change_mask(
        kept.id,
        action=action,
        author=author or present_author(),
        expected_version=kept.version if version is None else version,
        kind=kind,
        way=way,
    )
    return MaskDecided(car.name, changed)


def picture_covering(
    store: Store, car: CarFile, source: str, *, at_s: float = 0.0, sha256: str | None = None
) -> Callable[[Picture], Picture] | None:
    """Give what covers a picture before it goes out; it is looked at first if it was not.

    Parameters
    ----------
    store : Store
        Where it is kept.
    car : CarFile
        The car it is of.
    source : str
        Id of the picture, or of the recording that it is a frame of.
    at_s : float
        Its moment in the recording, seconds.
    sha256 : str, optional
        The file of a still.

    Returns
    -------
    callable or None
        Takes the picture, upright in sRGB at any size, and gives it covered; None where nothing is to be covered.
    """
    policy = mask_policy()
    if policy.covers == "nothing":
        return None
    if source in _pictures(car):
        shot = Shot(source, 0.0, None, "", 0, 0)
    else:
        still = (one for one in shots(car) if sha256 is not None and one.sha256 == sha256)
        shot = next(still, Shot(source, at_s, sha256, "", 0, 0))
    if policy.covers == "proposed":
        look_at_shot(store, car, shot, [])
    masks = _applied(store.masks([shot.source]), policy)
    if not any(mask.at(shot.at_s, slack_s=policy.slack_s) for mask in masks):
        return None
    return lambda picture: _laid_over(picture, masks, shot.at_s, policy)


def film_covering(
    store: Store, car: CarFile, recording: Recording, *, start_s: float = 0.0, end_s: float | None = None
) -> Covering | None:
    """Give what covers the frames of a film or of a stretch of it before it goes out; it is looked through first.

    Returns
    -------
    callable or None
        Takes a frame, upright in sRGB at any size, and its moment; None where nothing is to be covered in it.
    """
    del car
    policy = mask_policy()
    if policy.covers == "nothing" or recording.original.kind is not Kind.FILM:
        return None
    if policy.covers == "proposed":
        look_in_film(store, recording, start_s=start_s, end_s=end_s, problems=[])
    masks = _applied(store.masks([recording.id]), policy)
    ends_s = math.inf if end_s is None else end_s
    if not any(mask.start_s - policy.slack_s <= ends_s and mask.end_s + policy.slack_s >= start_s for mask in masks):
        return None
    return lambda picture, at_s: _laid_over(picture, masks, at_s, policy)


def report_told(store: Store, car: CarFile, *, to_stranger: bool = False) -> tuple[str, ...]:
    """Say what is covered in the pictures of a report, and to the house what was looked for and not found."""
    shown = {footing.source for kept in car.going_out() for footing in kept.finding.footings}
    there = [shot for shot in shots(car) if shot.sha256 is not None or shot.source in shown]
    return shown_told(store, car, [(shot.source, shot.at_s) for shot in there], to_stranger=to_stranger)


def shown_told(
    store: Store, car: CarFile, there: Sequence[tuple[str, float]], *, to_stranger: bool = False
) -> tuple[str, ...]:
    """Say what is covered in pictures that go out, and what was looked for and not found.

    Parameters
    ----------
    there : sequence of tuple
        Of each the id of the picture, or of the recording it is a frame of, and its moment in seconds, 0 for a picture.
    to_stranger : bool
        As for `mask_sentences`.
    """
    policy = mask_policy()
    looked = looked_shots(store, car)
    kept = [one for one in store.masks(sources_of(car)) if applies(one, policy)]
    within = [one for one in kept if any(_at(one.mask, source, at_s, policy.slack_s) for source, at_s in there)]
    looked_at = sum(one in looked for one in there)
    account = _account(within, policy, pictures=len(there), looked_at=looked_at)
    return mask_sentences(account, to_stranger=to_stranger)


def film_told(
    store: Store,
    recording: Recording,
    *,
    start_s: float = 0.0,
    end_s: float | None = None,
    to_stranger: bool = False,
) -> tuple[str, ...]:
    """Say what is covered in a film that goes out, or a stretch of it, and to the house what was not found."""
    policy = mask_policy()
    length_s = recording.probe.length_s or 0.0
    ends_s = length_s if end_s is None else end_s
    kept = [
        one
        for one in store.masks([recording.id])
        if applies(one, policy) and one.mask.start_s <= ends_s and one.mask.end_s >= start_s
    ]
    looked = film_looked_at(store, recording.id, start_s, min(ends_s, length_s or ends_s))
    account = replace(_account(kept, policy, pictures=1, looked_at=int(looked)), film=True)
    return mask_sentences(account, to_stranger=to_stranger)


def masks_mark(store: Store, car: CarFile) -> str:
    """Give a text that changes whenever something else would be covered in what goes out."""
    policy = mask_policy()
    kept = store.masks(sources_of(car))
    return "\n".join([repr(policy), *(f"{one.id} {one.version}" for one in kept)])


def _account(kept: Sequence[KeptMask], policy: Policy, *, pictures: int, looked_at: int) -> MaskAccount:
    covered = {kind: sum(one.mask.kind is kind for one in kept) for kind in MaskKind}
    return MaskAccount(
        pictures=pictures,
        looked_at=looked_at,
        covered=covered,
        unconfirmed=sum(one.mask.state is MaskState.PROPOSED for one in kept),
        not_found=tuple(kind for kind in SOUGHT if not covered[kind] and kind in policy.kinds),
        covers=policy.covers,
    )


def _applied(kept: Sequence[KeptMask], policy: Policy) -> list[Mask]:
    return [one.mask for one in kept if applies(one, policy)]


def _laid_over(picture: Picture, masks: Sequence[Mask], at_s: float, policy: Policy) -> Picture:
    from shutline.gauge.masks.cover import covered

    aspect = picture.shape[1] / picture.shape[0]
    boxes = []
    for mask in masks:
        box = mask.at(at_s, slack_s=policy.slack_s)
        if box is not None:
            more = policy.film_margin if len(mask.way) > 1 else 0.0
            boxes.append(box.grown(policy.margin_of(mask.kind) + more, aspect=aspect))
    return covered(picture, boxes, colour=policy.colour)


def _at(mask: Mask, source: str, at_s: float, slack_s: float) -> bool:
    return mask.source == source and mask.at(at_s, slack_s=slack_s) is not None


def _pictures(car: CarFile) -> set[str]:
    return {one.id for one in car.pictures}


def _one(store: Store, car: CarFile, id_: str) -> KeptMask:
    found = [one for one in store.masks(sources_of(car)) if id_ and one.id.startswith(id_)]
    exact = [one for one in found if one.id == id_]
    if len(exact or found) == 1:
        return (exact or found)[0]
    raise NotFoundError(
        Problem(
            slug="mask-unknown",
            where=f"{car.name}, mask {id_[:60]!r}",
            found=f"{len(found)} masks of this car begin so" if found else "no mask of this car begins so",
            allowed="the id of one, or a beginning of it that no other has",
            advice=f"List them: shutline mask {car.name}",
        )
    )


def _check_way(car: CarFile, source: str, way: Sequence[BoxAt]) -> None:
    recording = next((one for one in car.recordings if one.id == source), None)
    if recording is None and source not in _pictures(car):
        raise NotFoundError(
            Problem(
                slug="mask-source-unknown",
                where=f"{car.name}, {source[:60]!r}",
                found="the car has no picture and no recording of that id",
                allowed="the id of one of its own",
                advice=f"See the ids with `shutline show {car.name} --json`.",
            )
        )
    times = [one.at_s for one in way]
    if recording is None:
        if times != [0.0]:
            raise _no_way(car.name, f"{len(times)} boxes at {times[:3]} s", "one box, at 0 s, in a picture")
        return
    for at_s in times:
        check_moment(recording, at_s)
    if not times or sorted(set(times)) != times:
        raise _no_way(car.name, f"boxes at {times[:4]} s", "one box or more, each later than the last")


def _fitted(mask: Mask, box: Box, at_s: float) -> tuple[BoxAt, ...]:
    """Give the way of a mask, moved and sized as a whole so that it lies in `box` at a moment."""
    here = mask.at(at_s, slack_s=math.inf if len(mask.way) == 1 else 0.05)
    if here is None:
        raise _no_way("mask", f"{at_s:.1f} s", f"a moment from {mask.start_s:.1f} to {mask.end_s:.1f} s")
    if len(mask.way) == 1:
        return (BoxAt(mask.start_s, box),)
    moves = [there - one for one, there in zip(here.edges, box.edges, strict=True)]
    return tuple(BoxAt(one.at_s, _shifted(one.box, moves)) for one in mask.way)


def _shifted(box: Box, moves: Sequence[float]) -> Box:
    """Move each edge; a box that would lose its inside or leave the picture keeps a sliver of a thousandth."""
    left, top, right, bottom = (min(max(edge + move, 0.0), 1.0) for edge, move in zip(box.edges, moves, strict=True))
    left, top = min(left, 0.999), min(top, 0.999)
    return Box(left, top, max(right, left + 0.001), max(bottom, top + 0.001))


def _no_way(where: str, found: str, allowed: str) -> UserError:
    return UserError(Problem(slug="mask-way", where=where, found=found, allowed=allowed, advice="Draw it again."))
