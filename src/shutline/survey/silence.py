"""What nobody has looked at or spoken of, in order of weight; silence is never good news."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from enum import StrEnum

from shutline.car.carfile import CarFile
from shutline.car.findings import Finding, Position, Side, State
from shutline.survey.expected import Expected, ExpectedFact, expected, expected_facts


class Breadth(StrEnum):
    """How silent the car file is about a part."""

    NOT_MENTIONED = "not mentioned"
    """Nothing at all was said, seen, measured or written of it."""
    ONLY_AS_A_WHOLE = "only as a whole"
    """Something that contains it was spoken of ('paintwork', 'the whole car'), not the part itself."""
    PLACE_NOT_SAID = "place not said"
    """It was spoken of without its side or end, where it has more than one."""


@dataclass(frozen=True, slots=True)
class Silence:
    """One part, at one place, that a buyer would want looked at and that has no footing of its own.

    `expected` is the id of the row it comes from; `why` one clause; `weight` 1 to 10; `passing` the ids of the kept
    findings that spoke of it in passing, empty unless `breadth` says so.
    """

    expected: str
    part: str
    side: Side | None
    position: Position | None
    breadth: Breadth
    why: str
    weight: int
    passing: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class FactSilence:
    """One fact that a buyer would want to know and that has no footing."""

    name: str
    why: str
    weight: int


def silences(car_file: CarFile, *, rows: Sequence[Expected] | None = None) -> tuple[Silence, ...]:
    """List the parts that nobody looked at, or that were spoken of only in passing.

    A finding that was struck is no footing. One that is unsure is: the part was looked at.

    Parameters
    ----------
    car_file : CarFile
    rows : sequence of Expected, optional
        What to look for; the shipped list when left out.

    Returns
    -------
    tuple of Silence
        The weightiest first; among equals those without any mention first, then in the order of the list.
    """
    kept: dict[str, list[tuple[int, str, Finding]]] = defaultdict(list)
    for number, one in enumerate(car_file.going_out()):
        if one.finding.footings:
            kept[one.finding.part].append((number, one.id, one.finding))
    found: list[tuple[int, int, int, Silence]] = []
    for order, row in enumerate(expected() if rows is None else rows):
        if not row.applies(car_file.body, car_file.doors):
            continue
        for side in row.sides:
            for position in row.positions:
                silence = _silence(row, side, position, kept)
                if silence is not None:
                    passing = 0 if silence.breadth is Breadth.NOT_MENTIONED else 1
                    found.append((-row.weight, passing, order, silence))
    found.sort(key=lambda item: item[:3])
    return tuple(item[-1] for item in found)


def unknown_facts(car_file: CarFile, *, rows: Sequence[ExpectedFact] | None = None) -> tuple[FactSilence, ...]:
    """List the facts that nobody told, the weightiest first; a fact that was struck is not known."""
    shown = [k.fact for k in car_file.facts if k.fact.state is not State.STRUCK and not k.withdrawn]
    known = {fact.name for fact in shown if fact.footings}
    missing = [row for row in (expected_facts() if rows is None else rows) if row.id not in known]
    return tuple(FactSilence(row.id, row.why, row.weight) for row in sorted(missing, key=lambda row: -row.weight))


def _silence(
    row: Expected, side: Side | None, position: Position | None, kept: Mapping[str, Sequence[tuple[int, str, Finding]]]
) -> Silence | None:
    same = kept.get(row.part, ())
    if any(_covers(finding, side, position) for _, _, finding in same):
        return None
    breadth = Breadth.NOT_MENTIONED
    passing: tuple[str, ...] = ()
    vague = tuple(name for _, name, finding in same if _vague(finding, side, position))
    # In the order of the car file, whichever part they are of.
    whole = tuple(name for _, name in sorted(one[:2] for part in set(row.as_whole) for one in kept.get(part, ())))
    if vague:
        breadth, passing = Breadth.PLACE_NOT_SAID, vague
    elif whole:
        breadth, passing = Breadth.ONLY_AS_A_WHOLE, whole
    return Silence(row.id, row.part, side, position, breadth, row.why, row.weight, passing)


def _covers(finding: Finding, side: Side | None, position: Position | None) -> bool:
    on_side = side is None or finding.side in (side, Side.BOTH)
    at_end = position is None or finding.position in (position, Position.BOTH)
    return on_side and at_end


def _vague(finding: Finding, side: Side | None, position: Position | None) -> bool:
    on_side = side is None or finding.side in (None, side, Side.BOTH)
    at_end = position is None or finding.position in (None, position, Position.BOTH)
    return on_side and at_end
