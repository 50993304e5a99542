"""What was heard and nobody has confirmed: where on the car, and when, and no word of what it was."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from shutline.car.carfile import KeptFinding
from shutline.car.findings import Footing, Position, Side
from shutline.publish.naming import place_name, walk_order
from shutline.publish.report.model import SilentLine
from shutline.publish.report.times import moment
from shutline.publish.wording import joined, phrase

Place = tuple[str, Side | None, Position | None]


def footings_by_place(heard: Sequence[KeptFinding]) -> Mapping[Place, tuple[Footing, ...]]:
    """Give what findings stand on by their places, in walking order; a place has all that is told of it."""
    found: dict[Place, list[Footing]] = {}
    for kept in heard:
        finding = kept.finding
        found.setdefault((finding.part, finding.side, finding.position), []).extend(finding.footings)
    return {place: tuple(found[place]) for place in sorted(found, key=lambda one: walk_order(*one))}


def waiting_lines(heard: Sequence[KeptFinding], recordings: Mapping[str, int]) -> tuple[SilentLine, ...]:
    """Name the places of findings with the moments they were spoken of at, and say no more of them."""
    return tuple(
        SilentLine(place_name(*place), joined(list(dict.fromkeys(_moments(footings, recordings)))))
        for place, footings in footings_by_place(heard).items()
    )


def _moments(footings: Sequence[Footing], recordings: Mapping[str, int]) -> list[str]:
    told = []
    for one in footings:
        if one.start_s is None:
            continue
        words = phrase("heard.at", moment=moment(one.start_s))
        if len(recordings) > 1 and one.source in recordings:
            words = phrase("footing.in_recording", what=words, number=recordings[one.source])
        told.append(words)
    return told
