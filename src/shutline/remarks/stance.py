"""Where the walk has got to at each part that is named: the side walked along, and the sides and ends said so far."""

from __future__ import annotations

from dataclasses import dataclass, field

from shutline.remarks.ground import Ground
from shutline.remarks.mentions import Mention
from shutline.remarks.regions import regions
from shutline.remarks.walk import decode, moves, shipped_moves

OPPOSITE = {"near": "off", "off": "near"}
_ALONG = frozenset({"side", "wheels"})
_EVEN = 1e-9
"""How far from even a chance must be to tell a side."""


@dataclass(slots=True)
class Stance:
    """Where the walk has got to, one entry for each mention.

    `said` is the last side said at all, `walk` the side being walked along and `near` the chance that it is the near
    one, in [0, 1]; `since` the mentions since a side was said, `away` the mentions of parts that lie on no side since
    then, `end` the last end said or implied, `own` the side the mention itself says, with 'this' and 'other' settled,
    `strong` the end of the last part on that side. `part_side` and `part_end` are what was last said with the same
    part. `ends_said` tells, for each part, the ends said with it anywhere: a car whose rear doors are named has four.
    """

    near: list[float]
    end: list[str]
    said: list[str] = field(default_factory=list)
    walk: list[str] = field(default_factory=list)
    since: list[int] = field(default_factory=list)
    away: list[int] = field(default_factory=list)
    own: list[str] = field(default_factory=list)
    strong: list[str] = field(default_factory=list)
    part_side: list[str] = field(default_factory=list)
    part_end: list[str] = field(default_factory=list)
    ends_said: dict[str, str] = field(default_factory=dict)


def stance(named: list[Mention], at: Ground) -> Stance:
    """Follow the walk along the mentions."""
    table = regions()
    walk = decode(moves(named, at), shipped_moves())
    said = strong = ""
    since = away = 99
    out = Stance(walk.near, at.end_at)
    side_of: dict[str, str] = {}
    end_of: dict[str, str] = {}
    for index, mention in enumerate(named):
        own = mention.side
        part = mention.parts[0]
        region = table.region.get(part, "")
        along = _likelier(walk.near[index])
        if own == "this":
            own = along or said
        elif own == "other":
            own = OPPOSITE.get(_likelier(walk.before[index]) or said, "")
        if own in OPPOSITE:
            said = own
            since = away = 0
        else:
            since += 1
            if region not in _ALONG:
                away += 1
        if mention.position in ("front", "rear"):
            strong = mention.position
        elif region == "side":
            strong = table.end.get(part, strong)
        out.said.append(said)
        out.walk.append(along)
        out.since.append(since)
        out.away.append(away)
        out.own.append(own)
        out.strong.append(strong)
        out.part_side.append(side_of.get(part, ""))
        out.part_end.append(end_of.get(part, ""))
        if own:
            side_of[part] = own
        if mention.position:
            end_of[part] = mention.position
    _gather(named, out)
    return out


def _gather(named: list[Mention], out: Stance) -> None:
    """Note which ends are said with each part anywhere: f, r and b for front, rear and both."""
    ends: dict[str, set[str]] = {}
    for mention in named:
        if mention.position:
            ends.setdefault(mention.parts[0], set()).add(mention.position[0])
    out.ends_said = {part: "".join(sorted(said)) for part, said in ends.items()}


def _likelier(near: float) -> str:
    """Give the likelier side; none where nothing tells."""
    return "near" if near > 0.5 + _EVEN else "off" if near < 0.5 - _EVEN else ""
