"""What was not looked at, put into words: places of one part with one reason become one line."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import groupby

from shutline.car.carfile import CarFile
from shutline.car.findings import Position, Side
from shutline.publish.naming import place_name
from shutline.publish.plain import one_line
from shutline.publish.report.model import SilentLine
from shutline.publish.report.summary import missing_fact_name
from shutline.publish.wording import joined, phrase
from shutline.survey import Breadth, Cover, Coverage, Covered, coverage, silences, unknown_facts

Lines = tuple[SilentLine, ...]


def gaps(car_file: CarFile, found: Coverage | None = None) -> tuple[Lines, Lines, Lines, Lines]:
    """Give what was not mentioned, what in passing only, the facts that are not known, and what was left out."""
    found = found or coverage(car_file)
    parts = {kept.id: kept.finding.part for kept in car_file.going_out()}
    silent: dict[str, SilentLine] = {}
    passing: list[SilentLine] = []
    for (_, breadth), group in groupby(silences(car_file, found=found), key=lambda one: (one.check, one.breadth)):
        same = list(group)
        name = joined(name_places(same[0].part, [(one.side, one.position) for one in same]))
        if breadth is Breadth.NOT_MENTIONED:
            # Two checks of one place are one line, with the reason of the costlier.
            silent.setdefault(name, SilentLine(name, same[0].why))
            continue
        if breadth is Breadth.PLACE_NOT_SAID:
            words = phrase("silent.place_not_said")
        elif breadth is Breadth.ANOTHER_MATTER:
            words = phrase("silent.another_matter")
        else:
            wholes = dict.fromkeys(parts[touched] for one in same for touched in one.passing)
            words = phrase("silent.as_whole", whole=joined([place_name(part, None, None) for part in wholes]))
        passing.append(SilentLine(name, same[0].why, words))
    missing = tuple(SilentLine(missing_fact_name(one.name), one.why) for one in unknown_facts(car_file))
    left_out = groupby(found.of(Cover.LEFT_OUT), key=lambda one: (one.asked.check.id, one.omission))
    return tuple(silent.values()), tuple(passing), missing, tuple(_left_out(list(group)) for _, group in left_out)


def _left_out(same: Sequence[Covered]) -> SilentLine:
    check, told = same[0].asked.check, same[0].omission
    words = (
        "" if told is None else phrase("silent.left_out", author=one_line(told.author), reason=one_line(told.reason))
    )
    name = joined(name_places(check.part, [(one.asked.side, one.asked.position) for one in same]))
    return SilentLine(name, check.why, words)


def name_places(part: str, places: Sequence[tuple[Side | None, Position | None]]) -> list[str]:
    """Name the places of one part, closed up where both sides or both ends are meant."""
    ends: dict[Position | None, set[Side | None]] = {}
    for side, end in places:
        ends.setdefault(end, set()).add(side)
    both = {Side.NEAR, Side.OFF}
    if set(ends) == {Position.FRONT, Position.REAR} and ends[Position.FRONT] == ends[Position.REAR]:
        sides = ends[Position.FRONT]
        if sides == both:
            return [place_name(part, Side.BOTH, Position.BOTH)]
        return [place_name(part, side, Position.BOTH) for side in sides]
    names = []
    for position, sides in ends.items():
        if sides == both:
            names.append(place_name(part, Side.BOTH, position))
        else:
            names += [place_name(part, side, position) for side in sides]
    return names
