"""Covers that nobody has confirmed and that hide most of a picture: told to the house before anything goes out."""

from __future__ import annotations

import tomllib
from collections.abc import Iterable, Iterator, Sequence
from functools import cache
from importlib.resources import files
from itertools import groupby
from typing import TYPE_CHECKING

from shutline.car.masks import KeptMask, MaskState
from shutline.publish.naming import capitalised, place_name
from shutline.publish.private import joined_spans
from shutline.publish.report.times import moment
from shutline.publish.wording import choose, joined, phrase
from shutline.usecases.look import find_car
from shutline.usecases.mask_looks import look_before_going_out, shots, sources_of
from shutline.usecases.mask_policy import applies, mask_policy
from shutline.usecases.progress import Stop, Tell, silent

if TYPE_CHECKING:
    from shutline.car.carfile import CarFile
    from shutline.gauge.masks.settings import Policy
    from shutline.publish.private import Span
    from shutline.store import Store

_Wide = tuple[KeptMask, "Span"]


def wide_covers_told(store: Store, car: CarFile) -> tuple[str, ...]:
    """Name the moments at which a cover that nobody has confirmed hides most of what is shown, and what to do.

    Parameters
    ----------
    store : Store
        Where the car is kept.
    car : CarFile
        The car whose pictures and films go out.

    Returns
    -------
    tuple of str
        One sentence for all stills, one for all films and one for all pictures; none where there is no such cover.
    """
    policy = mask_policy()
    wide = [
        (kept, span)
        for kept in store.masks(sources_of(car))
        if applies(kept, policy) and kept.mask.state is MaskState.PROPOSED
        for span in _wide_spans(kept, policy)
    ]
    in_films = list(_film_places(car, wide))
    in_pictures = list(_picture_places(car, wide))
    in_stills = list(_still_places(car, wide, policy))
    stills = tuple(_told("masks.wide_still", car, in_stills))
    return (*stills, *_told("masks.wide_film", car, in_films), *_told("masks.wide_picture", car, in_pictures))


def told_before_going_out(store: Store, name: str, *, tell: Tell = silent, stop: Stop | None = None) -> tuple[str, ...]:
    """Look through the pictures that go out, as `look_before_going_out`, and give `wide_covers_told`.

    Films are looked through when their copies are made: what is found in them is told with the page.
    """
    look_before_going_out(store, name, tell=tell, stop=stop)
    return wide_covers_told(store, find_car(store, name))


def _told(key: str, car: CarFile, places: list[str]) -> Iterator[str]:
    if places:
        yield capitalised(choose(key, len(places), places=joined(places), car=car.name))


def _film_places(car: CarFile, wide: Sequence[_Wide]) -> Iterator[str]:
    """Give each stretch of a film at which such covers lie, with their ids; the film's name where there are several."""
    for film in car.recordings:
        there = [one for one in wide if one[0].mask.source == film.id]
        for span in joined_spans([one[1] for one in there]):
            ids = _ids(kept for kept, (first_s, _) in there if span[0] <= first_s <= span[1])
            named = f"{film.original.name} " if len(car.recordings) > 1 else ""
            yield f"{named}{_when(span)} ({ids})"


def _still_places(car: CarFile, wide: Sequence[_Wide], policy: Policy) -> Iterator[str]:
    """Give each still that goes out and that such covers lie over, by its moment and what it shows, with their ids."""
    for shot in shots(car):
        there = [
            kept
            for kept, (first_s, last_s) in wide
            if kept.mask.source == shot.source and first_s - policy.slack_s <= shot.at_s <= last_s + policy.slack_s
        ]
        if shot.sha256 is not None and there:
            of = dict.fromkeys(
                place_name(one.finding.part, one.finding.side, one.finding.position)
                for one in car.going_out()
                if any(still.sha256 == shot.sha256 for still in one.stills)
            )
            named = f"{shot.name} " if len(car.recordings) > 1 else ""
            yield f"{named}{moment(shot.at_s)}, {' and '.join(of)} ({_ids(there)})"


def _picture_places(car: CarFile, wide: Sequence[_Wide]) -> Iterator[str]:
    for picture in car.pictures:
        there = [kept for kept, _ in wide if kept.mask.source == picture.id]
        if there:
            yield f"{picture.original.name} ({_ids(there)})"


def _ids(masks: Iterable[KeptMask]) -> str:
    return " ".join(dict.fromkeys(kept.id[:8] for kept in masks))


def _when(span: Span) -> str:
    first, last = moment(span[0]), moment(span[1])
    return first if first == last else phrase("masks.from_to", first=first, last=last)


def _wide_spans(kept: KeptMask, policy: Policy) -> Iterator[Span]:
    """Give the stretches over which a cover, with its margin, hides so much; seconds, a picture's from 0 to 0."""
    margin = policy.margin_of(kept.mask.kind) + (policy.film_margin if len(kept.mask.way) > 1 else 0.0)
    for wide, group in groupby(kept.mask.way, key=lambda one: one.box.grown(margin).area >= _least_share()):
        times = [one.at_s for one in group]
        if wide:
            yield times[0], times[-1]


@cache
def _least_share() -> float:
    text = files("shutline.usecases").joinpath("data/wide_covers.toml").read_text(encoding="utf-8")
    return float(tomllib.loads(text)["least_share"])
