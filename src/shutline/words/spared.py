"""Good news of several places, told of those of them alone in which no fault stands."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import replace
from itertools import product

from shutline.car.carfile import KeptFinding
from shutline.car.findings import Finding, Found, Position, Severity, Side
from shutline.car.vocabulary import vocabulary
from shutline.words.choice import is_good

_AGAINST = {"works": frozenset({"fault"}), "original": frozenset({"nonoriginal"}), "present": frozenset({"missing"})}


def spared(kept: Iterable[KeptFinding], bad: Sequence[Finding], *, grave: bool = False) -> list[KeptFinding]:
    """Take the places in which a fault or a doubt stands out of what good news is told of.

    'Both sills are sound' beside rust of the nearside one becomes 'the offside sill is sound'. News of one place alone,
    the like of which is said of no other, stays; that of which no place is left goes.

    Parameters
    ----------
    kept : iterable of KeptFinding
        Good news and other findings; the others come back as they are. What is left of one keeps its id.
    bad : sequence of Finding
        Faults and doubts.
    grave : bool
        Take only those places out in which a grave fault stands.
    """
    out: list[KeptFinding] = []
    given = list(kept)
    said = Counter(_said(one.finding) for one in given)
    for one in given:
        against = [fault for fault in bad if against_it(one.finding, fault) and (not grave or _grave(fault))]
        pieces = _pieces(one.finding)
        left = [piece for piece in pieces if not any(_meets(piece, fault) for fault in against)]
        alone = len(pieces) == 1 and said[_said(one.finding)] == 1
        if alone or len(left) == len(pieces):
            out.append(one)
        else:
            out += [replace(one, finding=piece) for piece in left]
    return out


def against_it(good: Finding, fault: Finding) -> bool:
    """Tell whether good news of a place cannot be told of it beside a fault or doubt there, wherever each is."""
    if good.part != fault.part or not is_good(good) or is_good(fault):
        return False
    if good.found is Found.NO:
        return fault.condition == good.condition
    return good.condition == "sound" or fault.condition in _AGAINST.get(good.condition, ())


def _said(finding: Finding) -> tuple[str, str, Found]:
    return finding.part, finding.condition, finding.found


def _grave(fault: Finding) -> bool:
    return fault.severity is Severity.SEVERE or fault.condition == "perforation"


def _pieces(finding: Finding) -> list[Finding]:
    """Give a finding of both sides or both ends as one for each."""
    part = vocabulary().parts[finding.part]
    sides = (Side.NEAR, Side.OFF) if part.sided and finding.side is Side.BOTH else (finding.side,)
    ends = (Position.FRONT, Position.REAR) if part.ended and finding.position is Position.BOTH else (finding.position,)
    return [replace(finding, side=side, position=end) for side, end in product(sides, ends)]


def _meets(piece: Finding, fault: Finding) -> bool:
    """Tell whether a fault is, or may be, at a place: of a side or an end that nobody said it may be either."""
    part = vocabulary().parts[piece.part]
    side = not part.sided or piece.side in (None, fault.side) or fault.side in (None, Side.BOTH)
    end = not part.ended or piece.position in (None, fault.position) or fault.position in (None, Position.BOTH)
    return side and end
