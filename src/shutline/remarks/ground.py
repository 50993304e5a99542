"""What is looked up again and again beside the tokens: marks counted, and the end and region last spoken of."""

from __future__ import annotations

from dataclasses import dataclass

from shutline.remarks.mentions import Mention
from shutline.remarks.regions import regions
from shutline.remarks.tokens import FULL_STOP, Text, structure_words


def shape(norm: list[str], marks: list[int], first: int, end: int) -> str:
    """Write the shape of a stretch of tokens: its structure words and marks, other words as x.

    >>> shape(["door", "is", "badly"], [3, 0, 0], 1, 3)
    'is_x'
    """
    words = structure_words()
    out = []
    for at in range(first, end):
        if marks[at]:
            out.append(".,"[marks[at] < FULL_STOP])
        out.append(norm[at] if norm[at] in words else "x")
    if end < len(marks) and marks[end] and end > first - 1:
        out.append(".,"[marks[end] < FULL_STOP])
    return "_".join(out)


@dataclass(slots=True)
class Ground:
    """What the option finder looks up again and again: token counts of marks, and the ends said so far."""

    text: Text
    named: list[Mention]
    firsts: list[int]
    commas: list[int]
    stops: list[int]
    end_at: list[str]
    region_at: list[str]
    places: list[tuple[int, str, str, str]]
    last_region: str


def ground(text: Text, named: list[Mention], places: list[tuple[int, str, str, str]]) -> Ground:
    """Count the marks before each token, and note the end and region last spoken of at each mention."""
    commas, stops = [0], [0]
    for mark in text.mark:
        commas.append(commas[-1] + (1 if mark and mark < FULL_STOP else 0))
        stops.append(stops[-1] + (1 if mark >= FULL_STOP else 0))
    where = regions()
    end, region = "", ""
    said = iter([*places, (1 << 30, "", "", "")])
    place = next(said)
    end_at, region_at = [], []
    for mention in named:
        while place[0] <= mention.first:
            if place[3]:
                region = place[3]
                if place[3] in ("front", "rear"):
                    end = place[3]
            place = next(said)
        end_at.append(end)
        region_at.append(region)
        if mention.kind == "noun" and len(mention.parts) == 1:
            own = where.end.get(mention.parts[0], "")
            if mention.position in ("front", "rear"):
                own = mention.position
            if own:
                end = own
            region = where.region.get(mention.parts[0], region)
    return Ground(text, named, [m.first for m in named], commas, stops, end_at, region_at, places, region)
