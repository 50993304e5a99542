"""Name the things that are spoken of: part words with the side and end said with them, and 'the other one' after them."""

from __future__ import annotations

from dataclasses import dataclass

from shutline.car.findings import Drive
from shutline.remarks.grammar import grammar
from shutline.remarks.phrases import Match
from shutline.remarks.tokens import FULL_STOP, Text


@dataclass(slots=True)
class Mention:
    """A part spoken of, tokens `first` up to and without `end`.

    `parts` are the parts it may be, likeliest first. `side` is near, off, both, ``this``, ``other`` or empty;
    `position` front, rear, both or empty, as said right at it. `kind` is ``noun`` for a part word and ``back`` for a
    side or an end that refers back to the part word before. `lead` is the word before it; `plural` is True for 'doors';
    `head` when a sentence opens with it; `label` when a mark follows it at once ('Bonnet.').
    """

    first: int
    end: int
    parts: tuple[str, ...]
    side: str
    position: str
    kind: str
    row: str
    lead: str
    plural: bool
    head: bool
    label: bool


def _side(value: str, drive: Drive) -> str:
    if value == "driver":
        return "off" if drive is Drive.RHD else "near"
    if value == "passenger":
        return "near" if drive is Drive.RHD else "off"
    return value


class _Place:
    """The side, end or area that a place match says."""

    __slots__ = ("area", "match", "position", "row", "side")

    def __init__(self, match: Match, drive: Drive) -> None:
        self.match = match
        self.row = match.rows[0].id
        self.side = self.position = self.area = ""
        for row in match.rows:
            value = row.senses[0]
            if row.kind == "side":
                self.side = _side(value, drive)
            elif row.kind in ("this", "other"):
                self.side = row.kind
            elif row.kind == "position":
                self.position = value
            elif row.kind == "area":
                self.area = value
                if value in ("front", "rear"):
                    self.position = value


def mentions(
    text: Text, parts: list[Match], places: list[Match], conditions: list[Match], drive: Drive
) -> tuple[list[Mention], list[tuple[int, str, str, str]]]:
    """Put part words and places together.

    Returns
    -------
    list of Mention
        In the order they were said.
    list of tuple
        Every place said, as token, side, position, area.
    """
    norm, marks = text.norm, text.mark
    size = len(norm)
    small = grammar()
    said = [_Place(match, drive) for match in places]
    by_end = {place.match.end: place for place in said}
    by_first = {place.match.first: place for place in said}
    taken: set[int] = set()
    out: list[Mention] = []
    for match in parts:
        side = position = ""
        at = match.first - 1
        while at >= 0 and not marks[at + 1]:
            place = by_end.get(at + 1)
            if place is not None and place.row != "places.no_side":
                side = side or place.side
                position = position or place.position
                taken.add(place.match.first)
                at = place.match.first - 1
            elif norm[at] in small.determiners:
                at -= 1
            else:
                break
        lead = norm[at] if at >= 0 and not marks[at + 1] else ""
        head = marks[at + 1] >= FULL_STOP or (at < 0)
        inside = by_first.get(match.first)
        if inside is not None and inside.match.end <= match.end:
            side = side or inside.side
            position = position or inside.position
            taken.add(match.first)
        after = match.end
        steps = 0
        while after < size and not marks[after] and steps < 3:
            place = by_first.get(after)
            if place is not None:
                if place.row != "places.no_side":
                    side = side or place.side
                    position = position or place.position
                    taken.add(after)
                break
            if norm[after] not in small.links:
                break
            after += 1
            steps += 1
        out.append(
            Mention(
                match.first,
                match.end,
                match.rows[0].senses
                if len(match.rows) == 1
                else tuple(dict.fromkeys(s for r in match.rows for s in r.senses)),
                side,
                position,
                "noun",
                match.rows[0].id,
                lead,
                norm[match.end - 1] != text.stem[match.end - 1] and norm[match.end - 1][-1] == "s",
                head,
                match.end < size and marks[match.end] > 0,
            )
        )
    covered = {at for match in parts for at in range(match.first, match.end)}
    for place in said:
        first, end = place.match.first, place.match.end
        if first in taken or first in covered or place.row == "places.no_side":
            continue
        before = norm[first - 1] if first and not marks[first] else ""
        one = end < size and norm[end] in ("one", "ones", "side") and not marks[end]
        if place.side or (place.position and (before == "the" or one or norm[first] in ("fronts", "rears", "backs"))):
            out.append(
                Mention(
                    first,
                    end,
                    (),
                    place.side,
                    place.position,
                    "back",
                    place.row,
                    before if before != "the" else (norm[first - 2] if first > 1 and not marks[first - 1] else ""),
                    False,
                    marks[first] >= FULL_STOP,
                    end < size and marks[end] > 0,
                )
            )
    out.sort(key=lambda m: (m.first, m.end))
    last: tuple[str, ...] = ()
    for mention in out:
        if mention.kind == "noun":
            last = mention.parts
        else:
            mention.parts = last
    out = [mention for mention in out if mention.parts]
    return out, [(p.match.first, p.side, p.position, p.area) for p in said if p.row != "places.no_side"]
