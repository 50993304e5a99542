"""What was not looked at, and what was put right since, in words: places of one part with one reason are one line."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import groupby

from shutline.car.carfile import CarFile
from shutline.car.findings import Position, Side
from shutline.car.prep_done import done_words
from shutline.publish.naming import place_name, walk_order
from shutline.publish.plain import one_line
from shutline.publish.report.model import SilentLine
from shutline.publish.report.summary import missing_fact_name
from shutline.publish.report.times import day
from shutline.publish.statement import statement
from shutline.publish.wording import joined, phrase
from shutline.survey import Breadth, Cover, Coverage, Covered, coverage, silences, unknown_facts

Lines = tuple[SilentLine, ...]


def gaps(car_file: CarFile, found: Coverage | None = None) -> tuple[Lines, Lines, Lines, Lines]:
    """Give what was not mentioned, what in passing only, the facts that are not known, and what was left out."""
    found = found or coverage(car_file)
    parts = {kept.id: kept.finding.part for kept in car_file.told()}
    silent: dict[str, SilentLine] = {}
    passing: list[SilentLine] = []
    for (_, breadth), group in groupby(silences(car_file, found=found), key=lambda one: (one.check, one.breadth)):
        same = list(group)
        name = joined(name_places(same[0].part, [(one.side, one.position) for one in same]))
        if breadth is Breadth.NOT_MENTIONED:
            # Two checks of one place are one line, with the reason of the costlier.
            silent.setdefault(name, SilentLine(name, same[0].why))
            continue
        words = little_said(breadth, [parts[touched] for one in same for touched in one.passing])
        passing.append(SilentLine(name, same[0].why, words))
    missing = tuple(SilentLine(missing_fact_name(one.name), one.why) for one in unknown_facts(car_file))
    left_out: dict[tuple[str, str], list[Covered]] = {}
    for one in found.of(Cover.LEFT_OUT):
        left_out.setdefault((one.asked.check.id, _why_left_out(one)), []).append(one)
    out = tuple(_left_out(words, same) for (_, words), same in left_out.items())
    return tuple(silent.values()), tuple(passing), missing, out


def put_right_lines(car_file: CarFile) -> tuple[SilentLine, ...]:
    """Say what was wrong and has been put right since, in walking order."""
    right = sorted(
        car_file.put_right(), key=lambda one: walk_order(one.finding.part, one.finding.side, one.finding.position)
    )
    return tuple(
        SilentLine(
            place_name(one.finding.part, one.finding.side, one.finding.position),
            phrase("put_right.done", done=one_line(done_words(one.put_right)), date=day(one.put_right.done_on)),
            statement(one.finding),
        )
        for one in right
        if one.put_right is not None
    )


def little_said(breadth: Breadth, parts: Sequence[str]) -> str:
    """Tell how little was said of what was touched in passing only; `parts` are what was spoken of."""
    if breadth is Breadth.PLACE_NOT_SAID:
        return phrase("silent.place_not_said")
    if breadth is Breadth.ANOTHER_MATTER:
        return phrase("silent.another_matter")
    return phrase("silent.as_whole", whole=joined([place_name(part, None, None) for part in dict.fromkeys(parts)]))


def _why_left_out(one: Covered) -> str:
    told = one.omission
    return "" if told is None else phrase("silent.left_out", author=one_line(told.author), reason=one_line(told.reason))


def _left_out(words: str, same: Sequence[Covered]) -> SilentLine:
    check = same[0].asked.check
    return SilentLine(
        joined(name_places(check.part, [(one.asked.side, one.asked.position) for one in same])), check.why, words
    )


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
