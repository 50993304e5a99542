"""Which side is being walked along at each part that is named: two sides, decoded as a sequence."""

from __future__ import annotations

import csv
from dataclasses import dataclass
from functools import cache
from importlib.resources import files
from math import exp

from shutline.remarks.grammar import grammar
from shutline.remarks.ground import Ground
from shutline.remarks.mentions import Mention
from shutline.remarks.regions import regions

ONE_SIDE = frozenset({"near", "off"})
_ALONG = frozenset({"side", "wheels"})
_STEPS = 9
"""Tokens before a part in which a word of moving counts."""

Move = tuple[str, ...]


@dataclass(slots=True)
class Moves:
    """What stands between one part named and the next.

    `steps` are the names of what speaks for a change of sides or against it; `said` is near, off or empty, and `heed`
    the name of how the side was said: it tells how far the side said is the side walked along.
    """

    steps: list[Move]
    said: str
    heed: Move


_TELLING = frozenset({"front", "rear", "under", "inside", "engine", "boot", "road", "top"})
"""Regions that tell, when one is passed, which side comes next: after the front or the rear it is the other."""


def _zone(mention: Mention) -> str:
    """Give the region of a part; along a side with the end it lies at."""
    table = regions()
    part = mention.parts[0]
    region = table.region.get(part, "")
    if region not in _ALONG:
        return region
    end = mention.position or table.end.get(part, "")
    return f"{region}.{end}" if end in ("front", "rear") else region


def _count(number: int) -> str:
    return str(number) if number < 3 else "3" if number < 6 else "6" if number < 12 else "12"


def _lead(mention: Mention) -> str:
    small = grammar()
    return "compare" if mention.lead in small.comparing else "move" if mention.lead in small.moving else ""


def _bounds(mention: Mention) -> str:
    return ("head" if mention.head else "") + ("label" if mention.label else "")


class _Follower:
    """Goes along the mentions and names the moves between them."""

    def __init__(self, at: Ground) -> None:
        self.at = at
        self.zone = self.along = self.passed = ""
        self.seen: dict[tuple[str, str], int] = {}
        self.since = self.until = 0
        self._places = iter([*at.places, (1 << 30, "", "", "")])
        self._place = next(self._places)

    def follow(self, index: int, mention: Mention) -> Moves:
        """Name what stands between the mention before and this one."""
        noun = mention.kind == "noun"
        zone = _zone(mention)
        region = zone.partition(".")[0] if noun else "back"
        area = self._area(mention.end)
        steps: list[Move] = [("turn",)]
        if area:
            steps.append(("area", area))
        if noun:
            steps.append((self.zone, zone))
            steps += self._passing(index, mention, zone, region)
            self.zone = zone
        one_side = mention.side in ONE_SIDE
        if not one_side:
            steps += self._pointing(mention, region)
        if mention.head:
            steps.append(("head", "label" if mention.label else "", region))
        if one_side:
            self.since = index
        else:
            steps.append(("since", _count(index - self.since)))
        self.until = mention.end
        if one_side:
            return Moves(steps, mention.side, ("heed", region, _lead(mention), _bounds(mention)))
        return Moves(steps, "", ())

    def _area(self, end: int) -> str:
        """Give the area named since the mention before: 'round the back', 'hop inside'."""
        area = ""
        while self._place[0] < end:
            area = self._place[3] or area
            self._place = next(self._places)
        if area in _TELLING:
            self.passed = area
        return area

    def _passing(self, index: int, mention: Mention, zone: str, region: str) -> list[Move]:
        """Name what was passed since the last part of a side, and how long ago this part was named before."""
        if region not in _ALONG:
            if region in _TELLING:
                self.passed = region
            return []
        steps: list[Move] = [("by", self.along, zone, self.passed), ("by", self.passed)]
        last = self.seen.get((mention.parts[0], mention.position))
        if last is not None and not mention.plural:
            steps.append(("again", _count(index - last), "head" if mention.head else "", region))
        self.passed = ""
        self.along = zone
        self.seen[mention.parts[0], mention.position] = index
        return steps

    def _closing(self, end: int) -> str:
        """Tell whether a mark follows within a word or two: 'round to the other side now.'."""
        return "end" if any(self.at.text.mark[end : end + 3]) else ""

    def _pointing(self, mention: Mention, region: str) -> list[Move]:
        """Name words of moving before the part, and 'this' and 'other'."""
        known = grammar().steps
        word = ""
        for token in self.at.text.norm[max(self.until, mention.first - _STEPS) : mention.first]:
            if token in known:
                word = token
        steps: list[Move] = [("word", word, region)] if word else []
        if mention.side:
            steps += [
                (mention.side, mention.kind, _lead(mention)),
                (mention.side, mention.row, mention.kind, _bounds(mention)),
                (mention.side, region, word),
                (mention.side, self.at.text.stem[mention.end - 1], _lead(mention) or word, self._closing(mention.end)),
            ]
        return steps


def moves(named: list[Mention], at: Ground) -> list[Moves]:
    """Name what speaks for a change of sides before each mention: the parts passed, the words, 'this' and 'other'."""
    follower = _Follower(at)
    return [follower.follow(index, mention) for index, mention in enumerate(named)]


class Weighing:
    """The weights of moves, with what is looked up kept as factors."""

    def __init__(self, weights: dict[str, float]) -> None:
        self._weights = weights
        self._kept: dict[Move, float] = {}

    def of(self, move: Move) -> float:
        """Give the weight of a move; one that was never learnt weighs nothing."""
        kept = self._kept.get(move)
        if kept is None:
            kept = self._kept[move] = self._weights.get(">".join(move), 0.0)
        return kept


@cache
def shipped_moves() -> Weighing:
    """Read the weights of moves that come with the package, once."""
    lines = files("shutline.remarks").joinpath("data/moves.csv").read_text(encoding="utf-8").splitlines()
    return Weighing({row["move"]: int(row["hundredths"]) / 100 for row in csv.DictReader(lines)})


@dataclass(slots=True)
class Walk:
    """For each mention the chance, in [0, 1], that the walk goes along the near side there; a half knows nothing.

    `before` is the chance that it did before that mention moved it.
    """

    near: list[float]
    before: list[float]


def decode(listed: list[Moves], weighing: Weighing) -> Walk:
    """Weigh all walks at once, forwards and backwards; linear in the mentions.

    The chances are those of a chain of two states that knows no difference between near and off but what was said.
    """
    turns: list[float] = []
    heeds: list[float] = []
    for moves_here in listed:
        turns.append(exp(min(20.0, sum(map(weighing.of, moves_here.steps)))))
        heeds.append(exp(weighing.of(moves_here.heed)) if moves_here.said else 1.0)
    a = b = 0.5
    ahead: list[tuple[float, float]] = []
    for here, turn, heed in zip(listed, turns, heeds, strict=True):
        a, b = a + b * turn, b + a * turn
        if here.said == "near":
            a *= heed
        elif here.said == "off":
            b *= heed
        total = a + b
        a, b = a / total, b / total
        ahead.append((a, b))
    near = [0.5] * len(listed)
    before = [0.5] * len(listed)
    c = d = 1.0
    for index in range(len(listed) - 1, -1, -1):
        a, b = ahead[index]
        near[index] = a * c / (a * c + b * d)
        here, turn, heed = listed[index], turns[index], heeds[index]
        if here.said == "near":
            c *= heed
        elif here.said == "off":
            d *= heed
        c, d = c + d * turn, d + c * turn
        total = c + d
        c, d = c / total, d / total
        if index:
            a, b = ahead[index - 1]
            before[index] = a * c / (a * c + b * d)
    return Walk(near, before)
