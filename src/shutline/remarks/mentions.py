"""Name the things spoken of: part words with the side and end said with them, and 'the other one' after."""

from __future__ import annotations

from bisect import bisect_left
from dataclasses import dataclass
from itertools import pairwise

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

    @property
    def name(self) -> str:
        """The row, or ``back`` for what refers back, whichever side it says."""
        return "back" if self.kind == "back" else self.row


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


class _Gatherer:
    """Goes through the part words and the places of one text."""

    def __init__(self, text: Text, said: list[_Place]) -> None:
        self.norm, self.stem, self.marks = text.norm, text.stem, text.mark
        self.size = len(text.norm)
        self.said = said
        self.by_end = {place.match.end: place for place in said if place.row != NO_SIDE}
        self.by_first = {place.match.first: place for place in said}
        self.over = {
            at: place for place in said if place.row != NO_SIDE for at in range(place.match.first, place.match.end)
        }
        self.taken: set[int] = set()
        self.small = grammar()

    def noun(self, match: Match) -> Mention:
        """Make a mention of a part word, with the side and end said in, right before and after it."""
        inside = self.over.get(match.first)
        found = [] if inside is None else [inside]
        at = match.first - 1
        while at >= 0 and not self.marks[at + 1]:
            place = self.by_end.get(at + 1)
            if place is not None:
                found.append(place)
                at = place.match.first - 1
            elif self.norm[at] in self.small.determiners:
                at -= 1
            else:
                break
        behind = self._behind(match.end)
        if behind is not None:
            found.append(behind)
        self.taken.update(place.match.first for place in found)
        last = match.end - 1
        parts = tuple(dict.fromkeys(part for row in match.rows for part in row.senses))
        position = next((place.position for place in found if place.position), "")
        return Mention(
            first=match.first,
            end=match.end,
            parts=parts,
            side=next((place.side for place in found if place.side), ""),
            position=position or self._end_implied(parts[0], found),
            kind="noun",
            row=match.rows[0].id,
            lead=self.norm[at] if at >= 0 and not self.marks[at + 1] else "",
            plural=self.norm[last] != self.stem[last] and self.norm[last][-1] == "s",
            head=at < 0 or self.marks[at + 1] >= FULL_STOP,
            label=match.end < self.size and self.marks[match.end] > 0,
        )

    def _end_implied(self, part: str, found: list[_Place]) -> str:
        """Give the end that whose it is tells: the driver's seat is a front one."""
        said = {word for place in found for word in self.norm[place.match.first : place.match.end]}
        return "front" if part in self.small.front_ones and said & self.small.sits_in_front else ""

    def _behind(self, after: int) -> _Place | None:
        """Find a place said after a part word, small words between: 'wing on the nearside', 'tyre, front,'."""
        if after < self.size and 0 < self.marks[after] < FULL_STOP:
            place = self.by_first.get(after)
            alone = place is not None and (place.match.end >= self.size or self.marks[place.match.end] > 0)
            return place if place is not None and alone and place.position and not place.side else None
        for _ in range(3):
            if after >= self.size or self.marks[after]:
                return None
            place = self.by_first.get(after)
            if place is not None:
                return place if place.row != NO_SIDE else None
            if self.norm[after] not in self.small.links:
                return None
            after += 1
        return None

    def back(self, place: _Place) -> Mention | None:
        """Make a mention of a side or end that stands alone: 'the other one'; None for one that only tells where."""
        first, end = place.match.first, place.match.end
        before = self.norm[first - 1] if first and not self.marks[first] else ""
        one = end < self.size and self.norm[end] in ("one", "ones", "side") and not self.marks[end]
        alone = before == "the" or one or self.norm[first] in ("fronts", "rears", "backs")
        if not place.side and not (place.position and alone):
            return None
        if before == "the":
            before = self.norm[first - 2] if first > 1 and not self.marks[first - 1] else ""
        return Mention(
            first=first,
            end=end,
            parts=(),
            side=place.side,
            position=place.position,
            kind="back",
            row=place.row,
            lead=before,
            plural=False,
            head=self.marks[first] >= FULL_STOP,
            label=end < self.size and self.marks[end] > 0,
        )


NO_SIDE = "places.no_side"
"""The row of phrases that look like a side and are none: 'left the factory'."""

_PAIRED = 12
"""Tokens within which 'left' makes a 'right' a side."""

_BARE = frozenset({"places.bare_near", "places.bare_off", "places.bare_right"})


def sides_meant(text: Text, places: list[Match], parts: list[Match]) -> list[Match]:
    """Leave out 'near', 'off' and 'right' where they are no sides: 'a dent near the lamp', 'fell off', 'right then'."""
    small = grammar()
    heads = {match.first for match in parts}
    norm, marks, size = text.norm, text.mark, len(text.norm)
    left = [match.first for match in places if norm[match.first] == "left" and match.rows[0].id == "places.near"]

    def meant(match: Match) -> bool:
        at, end = match.first, match.end
        opened = marks[at] > 0
        before = "" if opened or not at else norm[at - 1]
        closed = end >= size or marks[end] > 0
        if not closed and (end in heads or norm[end] in small.side_before):
            return opened or before in small.side_after
        if before == "the" and (closed or norm[end] in small.side_alone):
            return True
        if norm[at] != "right":
            return opened and closed
        nearest = bisect_left(left, at)
        return opened and (
            (nearest > 0 and at - left[nearest - 1] <= _PAIRED)
            or (nearest < len(left) and left[nearest] - at <= _PAIRED)
        )

    return [match for match in places if match.rows[0].id not in _BARE or meant(match)]


def mentions(
    text: Text, parts: list[Match], places: list[Match], drive: Drive
) -> tuple[list[Mention], list[tuple[int, str, str, str]]]:
    """Put part words and places together.

    Returns
    -------
    list of Mention
        In the order they were said.
    list of tuple
        Every place said, as token, side, position, area.
    """
    said = [_Place(match, drive) for match in places]
    gatherer = _Gatherer(text, said)
    out = [gatherer.noun(match) for match in parts]
    covered = {at for match in parts for at in range(match.first, match.end)} | gatherer.taken
    for place in said:
        if place.match.first not in covered and place.row != NO_SIDE:
            mention = gatherer.back(place)
            if mention is not None:
                out.append(mention)
    out.sort(key=lambda m: (m.first, m.end))
    last: tuple[str, ...] = ("car",)
    for whole, piece in pairwise(out):
        if piece.first == whole.end and not text.mark[piece.first] and {whole.kind, piece.kind} == {"noun"}:
            piece.side = piece.side or whole.side
            piece.position = piece.position or whole.position
    for mention in out:
        if mention.kind == "noun":
            last = mention.parts
        else:
            mention.parts = last
    return out, [(p.match.first, p.side, p.position, p.area) for p in said if p.row != NO_SIDE]
