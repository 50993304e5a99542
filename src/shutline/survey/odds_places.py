"""Whether two findings are of the same place, or one of a place within the other's."""

from __future__ import annotations

from functools import cache

from shutline.car.findings import Finding, Position, Side
from shutline.car.vocabulary import vocabulary
from shutline.survey.odds_data import OddsTables


class Places:
    """How places lie to each other, by the tables."""

    def __init__(self, tables: OddsTables) -> None:
        self._holders = cache(tables.holders)
        self._whole = tables.whole

    def overlap(self, first: Finding, second: Finding) -> bool:
        """Tell whether two findings of one part are surely of one place.

        A sided part whose side was told only once may be another one; 'both' is each of them. `second` is the one that
        is good news: of a part that is spoken of as one it is of all of it without a side.
        """
        part = vocabulary().parts[first.part]
        sided = part.sided and not (second.side is None and part.id in self._whole)
        return _meet(first.side, second.side, Side.BOTH, told=sided) and _meet(
            first.position, second.position, Position.BOTH, told=part.ended
        )

    def within(self, inner: Finding, outer: Finding) -> bool:
        """Tell whether a finding lies within the whole that another speaks of.

        'No rust underneath on the nearside' speaks of what lies on the nearside only.
        """
        # What counts is the condition that the whole was spoken of with.
        if outer.part not in self._holders(outer.condition).get(inner.part, ()):
            return False
        side = outer.side in (None, Side.BOTH) or inner.side in (outer.side, Side.BOTH)
        end = outer.position in (None, Position.BOTH) or inner.position in (outer.position, Position.BOTH)
        return side and end


def _meet(first: Side | Position | None, second: Side | Position | None, both: object, *, told: bool) -> bool:
    if first == second or both in (first, second):
        return True
    return not told and (first is None or second is None)
