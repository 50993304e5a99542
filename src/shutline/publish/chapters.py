"""Chapters: the film cut where the walk moves on to another place of the car."""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass

from shutline.car.carfile import KeptFinding
from shutline.car.findings import Position, Side, State
from shutline.car.places import Visit
from shutline.publish.naming import capitalised, how_far_back, place_name, zone_of
from shutline.publish.webvtt import Cue
from shutline.publish.wording import chapter_phrases, limits

_Place = tuple[str, Side | None, Position | None]


@dataclass(slots=True)
class _Stay:
    """A time at one place of the walk, and how long each part of it was spoken of, seconds."""

    key: tuple[str, int]
    start_s: float
    end_s: float
    held: dict[_Place, float]


def chapters(visits: Sequence[Visit], *, length_s: float, findings: Sequence[KeptFinding] = ()) -> tuple[Cue, ...]:
    """Cut a film into chapters that follow the walk.

    Parameters
    ----------
    visits : sequence of Visit
        Where the speaker is; when empty, the moments of `findings` stand in for them.
    length_s : float
        Length of the film; the last chapter ends there.
    findings : sequence of KeptFinding
        Struck ones are left out.

    Returns
    -------
    tuple of Cue
        One after the other from 0 to the end, each with its name; one chapter for the whole film where nothing is
        known of the walk; empty for a film without length.
    """
    if not math.isfinite(length_s) or length_s < 0.001:
        return ()
    stays = _stays(list(visits) or _from_findings(findings), length_s)
    stays = _settled(stays, limits("chapters")["shortest_s"])
    if not stays:
        return (Cue(0, round(length_s * 1000), chapter_phrases()["whole_film"]),)
    edges = [0, *(round(stay.start_s * 1000) for stay in stays[1:]), round(length_s * 1000)]
    named = zip(edges, edges[1:], stays, strict=False)
    return tuple(Cue(start, end, _name(stay)) for start, end, stay in named if end > start)


def _from_findings(findings: Sequence[KeptFinding]) -> list[Visit]:
    shown = [kept.finding for kept in findings if kept.finding.state is not State.STRUCK]
    # What a person entered for a moment is no place that the walk came to.
    timed = [(f.start_s, f) for f in shown if f.start_s is not None and not f.by_hand]
    return [Visit(start, start, f.part, f.side, f.position) for start, f in sorted(timed, key=lambda item: item[0])]


def _stays(visits: list[Visit], length_s: float) -> list[_Stay]:
    """Put neighbouring visits of one stretch of the walk together; each lasts until the next begins."""
    inside = [v for v in visits if math.isfinite(v.start_s) and 0 <= v.start_s < length_s]
    inside.sort(key=lambda v: v.start_s)
    stays: list[_Stay] = []
    for index, visit in enumerate(inside):
        end = inside[index + 1].start_s if index + 1 < len(inside) else length_s
        zone = zone_of(visit.part, visit.side, visit.position)
        rank = how_far_back(visit.part, visit.position)
        key = (zone.id, 0 if not rank else 1 if rank <= 2 else 2 if rank <= 5 else 3)
        place = (visit.part, visit.side, visit.position)
        if stays and stays[-1].key == key:
            stays[-1].end_s = end
        else:
            stays.append(_Stay(key, visit.start_s, end, defaultdict(float)))
        stays[-1].held[place] += end - visit.start_s
    if stays:
        stays[0].start_s = 0.0
    return stays


def _settled(stays: list[_Stay], shortest_s: float) -> list[_Stay]:
    """Merge the shortest stay into a neighbour until every stay that is left was held for a while."""
    while len(stays) > 1:
        at = min(range(len(stays)), key=lambda i: (stays[i].end_s - stays[i].start_s, i))
        short = stays[at]
        if short.end_s - short.start_s >= shortest_s:
            break
        before = stays[at - 1] if at else None
        after = stays[at + 1] if at + 1 < len(stays) else None
        if before and after and before.key == after.key:
            # A glance aside: the place before it goes on after it.
            before.end_s = after.end_s
            _take(before, after)
            del stays[at : at + 2]
        elif before and (after is None or _likes(before, short) >= _likes(after, short)):
            before.end_s = short.end_s
            _take(before, short)
            del stays[at]
        elif after:
            after.start_s = short.start_s
            _take(after, short)
            del stays[at]
    return stays


def _likes(stay: _Stay, short: _Stay) -> tuple[bool, float]:
    """Weigh a neighbour: one on the same side of the car first, then the longer one."""
    return (stay.key[0] == short.key[0], stay.end_s - stay.start_s)


def _take(stay: _Stay, other: _Stay) -> None:
    """Add the parts of a stay that is given up, if they are of the same stretch of the walk."""
    if stay.key[0] == other.key[0]:
        for place, seconds in other.held.items():
            stay.held[place] += seconds


def _name(stay: _Stay) -> str:
    """Name a chapter: the stretch of the walk, or on a side the two parts spoken of longest."""
    places = sorted(stay.held, key=lambda place: -stay.held[place])
    if stay.key[1] == 0:
        return zone_of(*places[0]).title
    names = list(dict.fromkeys(place_name(*place) for place in places))[:2]
    if len(names) == 2:
        names[1] = _without_shared_beginning(names[0], names[1])
        return capitalised(chapter_phrases()["joined"].format(first=names[0], second=names[1]))
    return capitalised(names[0])


def _without_shared_beginning(first: str, second: str) -> str:
    """Leave out what two names begin with: ``nearside front wing``, ``nearside front arch`` gives ``arch``."""
    ahead, words = first.split(), second.split()
    while len(words) > 1 and ahead and words[0] == ahead[0]:
        ahead, words = ahead[1:], words[1:]
    return " ".join(words)
