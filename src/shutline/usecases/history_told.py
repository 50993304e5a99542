"""The parts of a car's history, each told from what is known."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import replace
from typing import TYPE_CHECKING

from shutline.car.findings import Found, State
from shutline.car.past import DateOf
from shutline.car.vocabulary import vocabulary
from shutline.history.chassis import chassis_number, differing
from shutline.history.countries import HOME
from shutline.history.doubts import doubt
from shutline.history.marks import Proof, mark_told
from shutline.history.mileage import Explained, MileagePoint, mileage_told
from shutline.history.returning import SAME_OCCASION_DAYS
from shutline.history.spans import span_words
from shutline.usecases.car_history import ChassisLine, ChassisPair, DefectLine, MarkLine, ReturnLine, TestedLine
from shutline.usecases.kept_tests import plain_mark
from shutline.usecases.past import DATE_WORDS
from shutline.usecases.told_facts import values_of

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence
    from datetime import date

    from shutline.car.carfile import CarFile
    from shutline.history.doubts import Doubt
    from shutline.history.mileage import MileageTold
    from shutline.history.returning import Returning
    from shutline.history.spans import Span
    from shutline.usecases.history_known import Known
    from shutline.usecases.told_facts import ToldFact

_MOST_MILES = 9_999_999
_DIFFER = {
    DateOf.REGISTERED: "registered-differs",
    DateOf.USED: "used-differs",
    DateOf.IMPORTED: "imported-differs",
}
_BEFORE_MADE = {
    DateOf.REGISTERED: "registered-before-made",
    DateOf.USED: "used-before-made",
    DateOf.IMPORTED: "imported-before-made",
}
_LATE_DAYS = 730
"""Registered more than this after the last day it may have been made, it may have come from abroad."""


def count_words(one: ToldFact) -> str:
    """Say how many keepers were told: '3 keepers', '1 keeper before the present one'."""
    count = "1 keeper" if one.value == 1 else f"{one.value} keepers"
    return f"{count} before the present one" if one.before else count


# Marks and chassis numbers --------------------------------------------------------------------------------------------


def mark_lines(known: Known) -> tuple[MarkLine, ...]:
    """Tell each mark against the first registration."""
    how: dict[str, list[str]] = defaultdict(list)
    for one in known.of("registration_mark"):
        how[plain_mark(str(one.value))].append(one.how)
    for record in known.records:
        how[record.mark].append("test history")
    for test in known.tests:
        if test.mark:
            how[plain_mark(test.mark)].append(f"at the test of {test.day.isoformat()}")
    return tuple(MarkLine(mark_told(mark, first_registered=known.begun), _each(ways)) for mark, ways in how.items())


def never_historic(marks: Sequence[MarkLine]) -> bool:
    """Tell whether a car has a Q mark."""
    return any(one.told.form == "gb-q" for one in marks)


def chassis_lines(known: Known) -> tuple[ChassisLine, ...]:
    """Take each chassis number apart."""
    how: dict[str, list[str]] = defaultdict(list)
    for one in known.facts:
        if one.name == "chassis_number":
            how["".join(str(one.value).split()).upper()].append(one.how)
    return tuple(ChassisLine(chassis_number(number), _each(ways)) for number, ways in how.items())


def _each(ways: Sequence[str]) -> tuple[str, ...]:
    return tuple(sorted(set(ways)))


def chassis_pairs(numbers: Sequence[object]) -> tuple[ChassisPair, ...]:
    """Tell chassis numbers of one car that differ, and whether one may be a misreading of the other."""
    plain = [str(getattr(one, "plain", one)) for one in numbers]
    return tuple(ChassisPair(one, other, _pair_words(one, other)) for one, other in differing(plain))


def _pair_words(one: str, other: str) -> str:
    from shutline.gauge.seen.forms import alike

    if len(one) != len(other):
        return f"{one} and {other} differ in length: a sign was left out or put in, or they are two numbers."
    apart = [(at, a, b) for at, (a, b) in enumerate(zip(one, other, strict=True), 1) if a != b]
    misread = all(b in alike(a) for _, a, b in apart)
    places = ", ".join(f"sign {at} is {a} in one and {b} in the other" for at, a, b in apart[:4])
    if misread:
        return f"{one} and {other}: {places}. Such signs are often taken for one another; look which it is."
    more = f", and {len(apart) - 4} more" if len(apart) > 4 else ""
    return f"{one} and {other}: {places}{more}. That is no usual misreading."


# Mileages -------------------------------------------------------------------------------------------------------------


def mileage_of(known: Known, day: date) -> tuple[MileageTold, tuple[str, ...]]:
    """Weigh all mileages that have a day; give those that have none in words."""
    exact: dict[tuple[date, int, str], list[str]] = defaultdict(list)
    rough: list[tuple[date, int, str, str]] = []
    undated = []
    for test in known.tests:
        if test.mileage is not None:
            exact[test.day, test.mileage, test.unit].append("test")
    for one in known.of("odometer"):
        value, unit = one.value, one.unit if one.unit in {"mi", "km"} else "mi"
        if not isinstance(value, int) or not 0 <= value <= _MOST_MILES:
            continue
        how = one.how if one.unit else f"{one.how}, unit not said, taken as miles"
        if one.day is None:
            undated.append(f"{value:,} {unit}, {how}.")
        elif one.rough and value % 100 == 0 and value:
            rough.append((one.day, value, unit, how))
        else:
            exact[one.day, value, unit].append(how)
    points = [MileagePoint(*key, ", ".join(_each(ways))) for key, ways in exact.items()]
    points += [_fitted(one, points) for one in rough]
    last = max((one.day for one in points), default=day)
    told = mileage_told(points, day=max(day, last))
    if undated and not points:
        told = replace(told, sentence="Of no mileage the day is known, so none can be held against another.")
    return told, tuple(dict.fromkeys(undated))


def _fitted(rough: tuple[date, int, str, str], exact: Sequence[MileagePoint]) -> MileagePoint:
    """Take a round figure that was said for the nearest that goes with the exact ones, within half its rounding."""
    day, said, unit, how = rough
    half = 500 if said % 1000 == 0 else 50
    value = said
    for one in exact:
        if one.unit == unit and one.day <= day and value < one.value <= said + half:
            value = one.value
    for one in exact:
        if one.unit == unit and one.day >= day and said - half <= one.value < value:
            value = one.value
    told = how if value == said else f"{how} as about {said:,}, a round figure"
    return MileagePoint(day, value, unit, told)


# Tests ----------------------------------------------------------------------------------------------------------------


def tested_lines(known: Known) -> tuple[TestedLine, ...]:
    """Put the tests into lines."""
    found = []
    before = None
    for test in known.tests:
        again = before is not None and not before.passed and (test.day - before.day).days <= SAME_OCCASION_DAYS
        words = f"{test.mileage:,} {test.unit}" if test.mileage is not None else f"no mileage: {test.why}"
        defects = tuple(DefectLine(one.text, one.severity.lower(), one.dangerous) for one in test.defects)
        found.append(TestedLine(test.day, test.passed, words.rstrip(": "), again, defects))
        before = test
    return tuple(found)


def return_line(one: Returning, car: CarFile) -> ReturnLine:
    """Join what returns to a part of ours, and to what the car file says of it."""
    from shutline.car.plan import spoken_name

    named = one.named
    place = spoken_name(named.part, named.side, named.position) if named.part else ""
    condition = vocabulary().conditions[named.condition].label if named.condition else ""
    years = ", ".join(dict.fromkeys(str(day.year) for day in one.days))
    about = ", ".join(part for part in (place, condition) if part) if place else one.about
    last = ", at the last test too" if one.last else ", and not at the last test"
    findings = []
    for kept in car.told() if named.part else ():
        finding = kept.finding
        sides = finding.side in {None, named.side} or named.side is None
        ends = finding.position in {None, named.position} or named.position is None
        if finding.part == named.part and sides and ends:
            state = "stands" if finding.state is State.STANDS else "heard"
            state = "put right since" if kept.put_right is not None else state
            what = vocabulary().conditions[finding.condition].label
            found = {Found.NO: f"no {what}", Found.UNSURE: f"perhaps {what}"}.get(finding.found, what)
            findings.append(f"{spoken_name(finding.part, finding.side, finding.position)}: {found} ({state})")
    ask = "" if findings or not place else "Nothing in the car file speaks of it: look there."
    sentence = f"{about[:1].upper()}{about[1:]}: noted {years}{last}."
    return ReturnLine(named.part, place, condition, one.about, one.days, sentence, tuple(dict.fromkeys(findings)), ask)


# What does not add up -------------------------------------------------------------------------------------------------


def doubts_of(
    known: Known,
    marks: Sequence[MarkLine],
    chassis: Sequence[ChassisLine],
    pairs: Sequence[ChassisPair],
    mileage: MileageTold,
) -> tuple[Doubt, ...]:
    """Give what does not add up, each with its rule and whom to ask; keepers and countries have theirs."""
    found = [
        doubt(_newer(one, known.imported), one.told.sentence, stands_on=", ".join(one.how))
        for one in marks
        if one.told.proof is Proof.IMPOSSIBLE
    ]
    told = values_of(known.of("registration_mark"))
    if len({plain_mark(str(one)) for one in told}) > 1:
        found.append(doubt("marks-differ", f"The marks told of the car differ: {', '.join(map(str, told))}."))
    own = {record.mark for record in known.records} | {plain_mark(str(one)) for one in told}
    at_test = {plain_mark(test.mark): test.day for test in known.tests if test.mark}
    found += [
        doubt("mark-at-test", f"At the test of {day.isoformat()} it carried {mark}.", stands_on="test history")
        for mark, day in at_test.items()
        if mark not in own
    ]
    found += [doubt("chassis-differs", one.sentence) for one in pairs]
    found += [
        doubt("check-digit", one.told.sentence, stands_on=", ".join(one.how))
        for one in chassis
        if one.told.check == "fails"
    ]
    found += [*_date_doubts(known), *_identity_doubts(known, chassis)]
    found += [
        doubt("mileage", one.sentence, stands_on=one.point.source)
        for one in mileage.points
        if one.explained is not Explained.AS_READ
    ]
    keepers = [one for one in known.of("keepers") if one.value in values_of(known.of("keepers"))]
    # Two before the present one are three in all.
    if len({one.value + one.before for one in keepers if isinstance(one.value, int)}) > 1:
        words = " and as ".join(dict.fromkeys(map(count_words, keepers)))
        found.append(doubt("keepers-differ", f"Told as {words}."))
    return tuple(dict.fromkeys(found))


def _newer(one: MarkLine, imported: Span | None) -> str:
    """Give the rule that a mark breaks which is newer than the car: one of an import may be of the day it came."""
    here = imported is not None and mark_told(one.told.text, first_registered=imported).proof is not Proof.IMPOSSIBLE
    return "mark-of-import" if here else "mark-newer"


def _date_doubts(known: Known) -> Iterator[Doubt]:
    """Give what does not add up among the dates of the car and its tests."""
    for of, rule in _DIFFER.items():
        spans = [span for span, _ in known.told[of]]
        if spans and max(start for start, _ in spans) > min(end for _, end in spans):
            words = " and ".join(f"{span_words(span)} ({how})" for span, how in known.told[of])
            yield doubt(rule, f"{DATE_WORDS[of].capitalize()} is told as {words}.")
    for made, how in known.told[DateOf.MADE]:
        for of, rule in _BEFORE_MADE.items():
            span = known.spans.get(of)
            if span is not None and span[1] < made[0]:
                words = f"{DATE_WORDS[of].capitalize()} {span_words(span)}, and made {span_words(made)}."
                yield doubt(rule, words, stands_on=how)
    registered = known.registered
    if registered is None:
        return
    # One that came from abroad is registered late here, and nothing is odd with it.
    abroad = known.imported is not None or any(one.of != HOME for one in known.stays)
    for made, how in known.told[DateOf.MADE]:
        if not abroad and (registered[0] - made[1]).days > _LATE_DAYS:
            words = f"Made by {made[1].isoformat()}, and first registered from {registered[0].isoformat()}."
            yield doubt("registered-late", words, stands_on=how)
    early = [test.day for test in known.tests if test.day < registered[0]]
    if early:
        words = f"Tested on {early[0].isoformat()}, before it was registered on {registered[0].isoformat()}."
        yield doubt("tested-before", words, stands_on="test history")


def _identity_doubts(known: Known, chassis: Sequence[ChassisLine]) -> Iterator[Doubt]:
    """Give what makes it doubtful whether a number or a test history is of this car."""
    if known.made is not None:
        made_years = range(known.made[0].year - 1, known.made[1].year + 2)
        for one in chassis:
            if one.told.years and not set(one.told.years) & set(made_years):
                years = " or ".join(map(str, one.told.years))
                words = f"The number's tenth sign stands for {years}; the car is said to be of {known.made[0].year}."
                yield doubt("model-year", words, stands_on=", ".join(one.how))
    title = known.car.title.lower()
    for record in known.records:
        if record.make and record.make.lower() not in title:
            words = f"The test history calls it {record.make} {record.model}; here it is {known.car.title}."
            yield doubt("other-make", words.replace(" ;", ";"), stands_on="test history")
