"""Lay pictures taken by hand on the films of a car: by the clocks of both, and by the words 'picture of this'.

Nothing is decided here: each place is offered with what speaks for it and how far it may be off.
"""

from __future__ import annotations

import tomllib
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from enum import StrEnum
from functools import cache
from importlib.resources import files
from typing import TYPE_CHECKING

from shutline.car.findings import Position, Side
from shutline.publish.naming import capitalised, place_name
from shutline.publish.report.times import moment
from shutline.usecases.at_the_car import key_of
from shutline.usecases.picture_cues import PictureCue, picture_cues

if TYPE_CHECKING:
    from shutline.car.carfile import CarFile, Picture, Recording
    from shutline.car.places import Visit

_QUARTER_S = 900
_FURTHEST_ZONE_S = 14 * 3600


class Speaks(StrEnum):
    """What speaks for a place of a picture."""

    CLOCKS = "clocks"
    """The clock of the picture and that of the film."""
    CUE = "cue"
    """The clocks, and words near that moment that a picture is being taken."""
    ORDER = "order"
    """As many such words as pictures without a time: taken in the order both came."""


@dataclass(frozen=True, slots=True)
class Offer:
    """A place that a picture may be of.

    `place` is its key, `name` what it is called. `at_s` is the moment in the recording, give or take `doubt_s`, which
    is None where no clock tells. `reason` says it in a sentence.
    """

    place: str
    name: str
    speaks: Speaks
    recording: str
    at_s: float
    doubt_s: float | None
    reason: str


@dataclass(frozen=True, slots=True)
class _Clocks:
    same_device_doubt_s: float
    other_device_doubt_s: float
    beside_film_s: float
    most_offered: int
    cue_slack_s: float


@dataclass(frozen=True, slots=True)
class When:
    """Where in a recording a picture was taken by the two clocks, seconds, and how far that may be off."""

    at_s: float
    doubt_s: float
    why: str


def offers(
    car: CarFile,
    pictures: Sequence[Picture],
    walks: Mapping[str, Sequence[Visit]],
    devices: Mapping[str, str | None],
) -> dict[str, tuple[Offer, ...]]:
    """Offer places for some pictures of a car.

    Parameters
    ----------
    car : CarFile
        With its recordings.
    pictures : sequence of Picture
        Those that nobody has placed, in the order they came in.
    walks : mapping
        Where the speaker was in each recording, by its id.
    devices : mapping
        What each original was taken with, by its SHA-256; None where it does not tell.

    Returns
    -------
    dict
        By the id of the picture, the likeliest first; empty for one that nothing is known of.
    """
    cues = {one.id: picture_cues(one.stretches) for one in car.recordings}
    found: dict[str, tuple[Offer, ...]] = {}
    for picture in pictures:
        made: list[Offer] = []
        for recording in car.recordings:
            one, other = devices.get(picture.original.sha256), devices.get(recording.original.sha256)
            when = taken_in(picture.taken_at, recording, same_device=one is not None and one == other)
            if when is not None:
                made += _by_clock(recording, when, walks[recording.id], cues[recording.id])
        found[picture.id] = tuple(made[: _settings().most_offered])
    return found | _by_order(car, [one for one in pictures if not found[one.id]], walks, cues)


def taken_in(taken_at: str | None, recording: Recording, *, same_device: bool = False) -> When | None:
    """Say when in a recording a picture was taken, by the clocks of both; None where it was not, or no clock tells.

    A clock may stand for the start of a film or for its end, as cameras differ (common practice, no source); and one of
    the two may not say its zone. Where more than one of these would put the picture in the film, the doubt is as wide
    as they are apart.
    """
    length_s = recording.probe.length_s
    begun = _time(recording.probe.recorded_at)
    taken = _time(taken_at)
    if begun is None or taken is None or not length_s:
        return None
    settings = _settings()
    base_s = settings.same_device_doubt_s if same_device else settings.other_device_doubt_s
    zoned = (begun.tzinfo is None) == (taken.tzinfo is None)
    shifts = [0] if zoned else range(-_FURTHEST_ZONE_S, _FURTHEST_ZONE_S + 1, _QUARTER_S)
    away_s = (taken.replace(tzinfo=None) - begun.replace(tzinfo=None)) / timedelta(seconds=1)
    if zoned and taken.tzinfo is not None:
        away_s = (taken - begun) / timedelta(seconds=1)
    # The clock as the start of the film, then as its end.
    for ended_s in (0.0, length_s):
        fits = [
            at_s
            for shift_s in shifts
            if -settings.beside_film_s <= (at_s := away_s + shift_s + ended_s) <= length_s + settings.beside_film_s
        ]
        if fits:
            at_s = min(fits, key=lambda one: max(-one, one - length_s, 0.0))
            also_end = not ended_s and zoned and 0 <= at_s + length_s <= length_s + base_s
            doubt_s = base_s + (max(fits) - min(fits)) + (length_s if also_end and at_s < 0 else 0.0)
            why = "by the two clocks" if zoned else "by the two clocks, of which one does not say its time zone"
            if ended_s:
                why += ", the film's taken for when it ended"
            return When(min(max(at_s, 0.0), length_s), max(doubt_s, -at_s, at_s - length_s), why)
    return None


def _by_clock(recording: Recording, when: When, walk: Sequence[Visit], cues: Sequence[PictureCue]) -> list[Offer]:
    settings = _settings()
    made: list[Offer] = []
    near = [cue for cue in cues if abs(cue.start_s - when.at_s) <= when.doubt_s + settings.cue_slack_s]
    for cue in sorted(near, key=lambda one: abs(one.start_s - when.at_s)):
        visit = _visit_at(walk, cue.start_s)
        if visit is not None:
            reason = f"at {moment(cue.start_s)} was said: {cue.quote}; it was taken about then, {when.why}"
            made.append(_offer(visit, Speaks.CUE, recording, cue.start_s, doubt_s=when.doubt_s, reason=reason))
    for visit in sorted(walk, key=lambda one: (_away(one, when.at_s), one.start_s)):
        if _away(visit, when.at_s) <= when.doubt_s:
            reason = f"taken about {moment(when.at_s)} into the film {when.why}, give or take {when.doubt_s:.0f} s"
            made.append(_offer(visit, Speaks.CLOCKS, recording, when.at_s, doubt_s=when.doubt_s, reason=reason))
    return list({offer.place: offer for offer in reversed(made)}.values())[::-1]


def _by_order(
    car: CarFile,
    pictures: Sequence[Picture],
    walks: Mapping[str, Sequence[Visit]],
    cues: Mapping[str, Sequence[PictureCue]],
) -> dict[str, tuple[Offer, ...]]:
    """Lay pictures that no clock places beside the cues, where there are as many of them."""
    said = [(recording, cue) for recording in car.recordings for cue in cues[recording.id]]
    if not pictures or len(said) != len(pictures):
        return {}
    made: dict[str, tuple[Offer, ...]] = {}
    for picture, (recording, cue) in zip(pictures, said, strict=True):
        visit = _visit_at(walks[recording.id], cue.start_s)
        if visit is not None:
            reason = (
                f"at {moment(cue.start_s)} was said: {cue.quote}; as many pictures have no time as such words were said"
            )
            made[picture.id] = (_offer(visit, Speaks.ORDER, recording, cue.start_s, doubt_s=None, reason=reason),)
    return made


def _offer(
    visit: Visit, speaks: Speaks, recording: Recording, at_s: float, *, doubt_s: float | None, reason: str
) -> Offer:
    # What was said of both sides or ends says nothing of the one in the picture.
    side = None if visit.side is Side.BOTH else visit.side
    position = None if visit.position is Position.BOTH else visit.position
    return Offer(
        place=key_of(visit.part, side, position),
        name=capitalised(place_name(visit.part, side, position)),
        speaks=speaks,
        recording=recording.id,
        at_s=at_s,
        doubt_s=doubt_s,
        reason=reason,
    )


def _visit_at(walk: Sequence[Visit], at_s: float) -> Visit | None:
    """Give the place where the speaker was: the last one come to, for whoever takes a picture stands before it."""
    before = [visit for visit in walk if visit.start_s <= at_s]
    return before[-1] if before else (walk[0] if walk else None)


def _away(visit: Visit, at_s: float) -> float:
    return max(visit.start_s - at_s, at_s - visit.end_s, 0.0)


def _time(text: str | None) -> datetime | None:
    try:
        return None if text is None else datetime.fromisoformat(text)
    except ValueError:
        return None


@cache
def _settings() -> _Clocks:
    text = files("shutline.usecases").joinpath("data/picture_times.toml").read_text(encoding="utf-8")
    return parse_clocks(text)


def parse_clocks(text: str) -> _Clocks:
    """Read the settings from TOML; raises ValueError that names what is missing or unknown."""
    raw = tomllib.loads(text)
    known = set(_Clocks.__dataclass_fields__)
    entries = raw.get("clocks", {})
    if set(raw) != {"clocks"} or set(entries) != known:
        raise ValueError(f"picture_times.toml: {sorted(set(entries) ^ known)} missing or unknown; allowed: [clocks]")
    return _Clocks(**entries)
