"""Whether what is known covers all the places that are claimed: both sides, both ends, every one of several."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from shutline.car.findings import Position, Side
from shutline.claims.record import Known
from shutline.claims.sayings import Saying, Spot
from shutline.claims.written_data import small_words
from shutline.remarks.regions import regions


def covers(saying: Saying, spot: Spot, backing: Sequence[Known]) -> bool:
    """Tell whether all places claimed are spoken of: both sides where both are meant."""
    if (spot.side is Side.BOTH or _names_all(saying, spot)) and not on_both_sides(backing):
        return False
    if spot.position is None and of_every_one(saying, spot) and not _two_alone(saying, backing):
        # 'All the seats' are not the front ones alone.
        ends = {k.finding.position for k in backing}
        if ends in ({Position.FRONT}, {Position.REAR}):
            return False
    if spot.position is Position.BOTH:
        ends = {k.finding.position for k in backing}
        if not (ends & {None, Position.BOTH} or {Position.FRONT, Position.REAR} <= ends):
            return False
        if spot.side is Side.BOTH and not {c for k in backing for c in _corners(k.spot)} >= _CORNERS:
            return False
    if spot.side in (Side.NEAR, Side.OFF):
        return any(k.finding.side in (None, Side.BOTH, spot.side) for k in backing)
    return True


def on_both_sides(known: Iterable[Known]) -> bool:
    """Tell whether something is known of each side, or of the part on no one side."""
    sides = {k.finding.side for k in known}
    return bool(sides & {None, Side.BOTH}) or {Side.NEAR, Side.OFF} <= sides


def _two_alone(saying: Saying, backing: Sequence[Known]) -> bool:
    """Tell whether two are claimed, and one on each side is known: 'both doors' of a van."""
    two = "both" in saying.words and not (small_words().each - {"both", "pair", "two", "either"}) & saying.words
    return two and on_both_sides(k for k in backing if k.finding.side is not None)


def of_every_one(saying: Saying, spot: Spot) -> bool:
    """Tell whether every one of several is claimed of: 'all wire wheels tight'."""
    return spot.each and bool(small_words().each & saying.words)


def _names_all(saying: Saying, spot: Spot) -> bool:
    """Tell whether every one of what lies on both sides is named: 'all doors shut'."""
    return spot.side is None and spot.part in regions().sided and bool(small_words().names_all & saying.words)


_CORNERS = frozenset((side, end) for side in (Side.NEAR, Side.OFF) for end in (Position.FRONT, Position.REAR))


def _corners(spot: Spot) -> set[tuple[Side, Position]]:
    """Give the corners that a place covers: of a part on both sides and at both ends all four."""
    sides = (Side.NEAR, Side.OFF) if spot.side in (None, Side.BOTH) else (spot.side,)
    ends = (Position.FRONT, Position.REAR) if spot.position in (None, Position.BOTH) else (spot.position,)
    return {(side, end) for side in sides for end in ends}
