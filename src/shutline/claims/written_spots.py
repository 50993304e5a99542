"""Where on the car the parts lie that one written sentence names."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from shutline.car.findings import Position, Side
from shutline.claims.relations import relations
from shutline.claims.sayings import Spot, Topic
from shutline.claims.written_data import small_words
from shutline.remarks.analysis import Analysis
from shutline.remarks.context import Context
from shutline.remarks.mentions import Mention
from shutline.remarks.regions import regions

_STUFF = frozenset({"paintwork", "bodywork", "wood_trim"})
"""What panels and posts are made of or coated with."""


_OWN_WITHIN = 3
"""The most words from 'its' to the piece that it names: 'its first factory paint'."""
_WITHIN = 3
"""Words at the start of a clause that tell which one it speaks of."""
_END_WORDS = {"rear": Position.REAR, "rears": Position.REAR, "back": Position.REAR, "behind": Position.REAR}
_END_WORDS |= {"front": Position.FRONT, "fronts": Position.FRONT}
_WINGS = {Position.FRONT: "front_wing", Position.REAR: "rear_wing"}
_AT_END = {"front_wing": _WINGS, "rear_wing": _WINGS}
"""Parts that have a name of their own at each end."""
_PAIR = frozenset({"pair", "two", "ones", "rears", "fronts"})


def elsewhere(spot: Spot, words: Sequence[str]) -> Spot:
    """Give where a clause that names no part lies, from a part spoken of before: 'the other one', 'the rear pair'."""
    ends = [_END_WORDS[word] for word in words if word in _END_WORDS]
    led = bool(ends) and any(word in _END_WORDS for word in words[:_WITHIN])
    other = any(word in small_words().other_one for word in words[:_WITHIN])
    if ends and (other or led) and (spot.position is not None or spot.part in _AT_END):
        side = Side.BOTH if _PAIR.intersection(words) and spot.part in regions().sided else spot.side
        if spot.part in _AT_END:
            return replace(spot, part=_AT_END[spot.part][ends[0]], side=side, others=())
        return replace(spot, position=ends[0], side=side)
    return spot.opposite() if other else spot


class Spots:
    """Finds the part that a mention stands for, and its side and end, given what was spoken of last."""

    def __init__(self, analysis: Analysis, context: Context, whole: str) -> None:
        self.text, self.context, self.whole = analysis.text, context, whole

    def spot(self, mention: Mention, topic: Topic) -> Spot:
        """Give where a mention lies; a part that was named with its place just before, and now without, lies there."""
        where = regions()
        parts = mention.parts
        if topic.spots and self._belongs(mention, topic.spots[-1].part):
            return topic.spots[-1]
        if topic.headed and len(topic.spots) == 1 and self._is_stuff_of(mention, topic.spots[0].part):
            # 'Roof: paint has lost its gloss' is the roof.
            return topic.spots[0]
        if mention.kind == "back" and parts == (self.whole,) and topic.spots:
            parts = (topic.spots[-1].part,)
        part, *others = self._likeliest_first(mention, parts)
        if part == "front_wing" and mention.position == "rear":
            part = "rear_wing"
        if part == "tailgate" and mention.side in ("near", "off"):
            # 'The door behind on the left' is no tailgate.
            part, mention = "door", replace(mention, position=mention.position or "rear")
        small = small_words()
        norm = self.text.norm
        near = {mention.lead, *norm[max(0, mention.first - 3) : mention.first], *norm[mention.end : mention.end + 4]}
        led = {mention.lead, norm[mention.first], *norm[max(0, mention.first - 2) : mention.first]}
        if led & small.every_one and mention.side != "both":
            # 'All the lamp lenses' are not those at the back alone.
            part, *others = self._whole_first([part, *others])
        each = part in where.sided and (
            mention.side == "both"
            or (mention.plural and mention.side not in ("near", "off"))
            or bool(near & {"either"})
            or (mention.kind == "back" and norm[mention.end : mention.end + 1] in (["pair"], ["two"], ["ones"]))
        )
        each = (
            each
            or (part in where.ended and mention.position == "both")
            or (mention.plural and bool(near & small.each))
            or norm[mention.first] in small.every_one
            or mention.lead in ("every", "each")
        )
        side = Side(mention.side) if mention.side in ("near", "off", "both") else None
        if side is None and each and part in where.sided:
            side = Side.BOTH
        position = None
        if mention.position in ("front", "rear", "both") and part not in where.end:
            position = Position(mention.position)
        if side is None and position is None and not mention.plural and mention.lead in ("the", "its"):
            # 'The front bumper …, and the bumper is not bent': the same one.
            same = next((spot for spot in topic.spots if spot.part == part), None)
            if same is not None:
                return same
        return Spot(part, side, position, each, tuple(others))

    @staticmethod
    def _whole_first(parts: list[str]) -> list[str]:
        """Give the whole alone where a word stands for it and for pieces of it, else the parts as they are."""
        whole = relations().whole
        return [part for part in parts if part in whole and whole[part].union({part}).issuperset(parts)][:1] or parts

    @staticmethod
    def _is_stuff_of(mention: Mention, part: str) -> bool:
        """Tell whether a word only names what the part of a heading is made of or coated with."""
        return mention.parts[0] in _STUFF and part not in relations().whole and regions().group.get(part) == "body"

    def _belongs(self, mention: Mention, part: str) -> bool:
        """Tell whether a word names a piece of what was spoken of last: 'the headlamps …, their rims …'."""
        norm = self.text.norm
        if mention.first == 0 or norm[mention.first - 1] not in ("its", "their"):
            return False
        return self._names_of_it(mention, part)

    def is_of_its(self, mention: Mention, part: str, first: int) -> bool:
        """Tell whether a word names a piece of the part before it in the clause: 'the wing wears its first paint'."""
        norm = self.text.norm[max(first, mention.first - _OWN_WITHIN) : mention.first]
        return bool({"its", "their"}.intersection(norm)) and self._names_of_it(mention, part)

    def _names_of_it(self, mention: Mention, part: str) -> bool:
        norm = self.text.norm
        named = frozenset(norm[mention.first : mention.end])
        return any(row.words & named and (not row.of or part in row.of) for row in relations().of_its)

    def _likeliest_first(self, mention: Mention, parts: tuple[str, ...]) -> list[str]:
        """Order the parts that a word may stand for by what the network takes it to name."""
        if len(parts) < 2:
            return list(parts)
        numbers = self.context.network.parts
        chances = self.context.named[mention.first : mention.end].max(axis=0)
        plain = float(chances[numbers[parts[0]]])
        best = max(parts, key=lambda part: float(chances[numbers[part]]))
        if float(chances[numbers[best]]) > 0.8 and plain < 0.1:
            return [best, *(part for part in parts if part != best)]
        return list(parts)
