"""The parts of a car's history, each told from what is known."""

from __future__ import annotations

from collections import defaultdict
from typing import TYPE_CHECKING

from shutline.car.findings import Found, State
from shutline.car.vocabulary import vocabulary
from shutline.history.chassis import chassis_number, differing
from shutline.history.doubts import doubt
from shutline.history.marks import Proof, mark_told
from shutline.history.mileage import Explained, MileagePoint, mileage_told
from shutline.history.returning import SAME_OCCASION_DAYS
from shutline.history.timeline import Event, EventKind
from shutline.usecases.car_history import ChassisLine, ChassisPair, DefectLine, MarkLine, ReturnLine, TestedLine
from shutline.usecases.kept_tests import plain_mark
from shutline.usecases.told_facts import ToldFact, day_of, values_of

if TYPE_CHECKING:
    from collections.abc import Sequence
    from datetime import date

    from shutline.car.carfile import CarFile
    from shutline.history.doubts import Doubt
    from shutline.history.mileage import MileageTold
    from shutline.history.returning import Returning
    from shutline.usecases.history_known import Known

_MOST_MILES = 9_999_999
_LATE_DAYS = 730
"""Registered more than this after the last day it may have been made, it may have come from abroad."""


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
    return tuple(
        MarkLine(mark_told(mark, first_registered=known.registered), tuple(dict.fromkeys(ways)))
        for mark, ways in how.items()
    )


def never_historic(marks: Sequence[MarkLine]) -> bool:
    """Tell whether a car has a Q mark."""
    return any(one.told.form == "gb-q" for one in marks)


def chassis_lines(known: Known) -> tuple[ChassisLine, ...]:
    """Take each chassis number apart."""
    how: dict[str, list[str]] = defaultdict(list)
    for one in known.facts:
        if one.name == "chassis_number":
            how["".join(str(one.value).split()).upper()].append(one.how)
    return tuple(ChassisLine(chassis_number(number), tuple(dict.fromkeys(ways))) for number, ways in how.items())


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
    points = [MileagePoint(*key, ", ".join(dict.fromkeys(ways))) for key, ways in exact.items()]
    points += [_fitted(one, points) for one in rough]
    last = max((one.day for one in points), default=day)
    return mileage_told(points, day=max(day, last)), tuple(dict.fromkeys(undated))


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
    for kept in car.going_out() if named.part else ():
        finding = kept.finding
        sides = finding.side in {None, named.side} or named.side is None
        ends = finding.position in {None, named.position} or named.position is None
        if finding.part == named.part and sides and ends:
            state = "stands" if finding.state is State.STANDS else "heard"
            what = vocabulary().conditions[finding.condition].label
            found = {Found.NO: f"no {what}", Found.UNSURE: f"perhaps {what}"}.get(finding.found, what)
            findings.append(f"{spoken_name(finding.part, finding.side, finding.position)}: {found} ({state})")
    ask = "" if findings or not place else "Nothing in the car file speaks of it: look there."
    sentence = f"{about[:1].upper()}{about[1:]}: noted {years}{last}."
    return ReturnLine(named.part, place, condition, one.about, one.days, sentence, tuple(dict.fromkeys(findings)), ask)


# Keepers and events ---------------------------------------------------------------------------------------------------


def keeper_lines(known: Known) -> tuple[str, ...]:
    """Tell the keepers as the facts say: how many, and by when. No name is kept."""
    found = []
    for one in known.of("keepers"):
        count = "1 keeper" if one.value == 1 else f"{one.value} keepers"
        when = f" on {one.day.isoformat()}" if one.day is not None else ""
        found.append(f"{count}, {one.how}{when}; from when to when each kept it is not known.")
    return tuple(dict.fromkeys(found))


def events_of(known: Known, day: date) -> tuple[Event, ...]:
    """Give the events of the timeline, by day."""
    events = []
    if known.registered is not None:
        source = known.registrations[0][1]
        events.append(Event(EventKind.REGISTERED, known.registered[0], "first registered", source))
    before = None
    for test in known.tests:
        kind = EventKind.TEST_PASSED if test.passed else EventKind.TEST_FAILED
        noted = f", {len(test.defects)} noted" if test.defects else ""
        events.append(Event(kind, test.day, f"{kind.value}{noted}", "test history"))
        near = before is not None and (test.day - before.day).days <= SAME_OCCASION_DAYS
        if before is not None and near and test.passed and not before.passed:
            words = f"put right for the test between {before.day.isoformat()} and {test.day.isoformat()}"
            events.append(Event(EventKind.WORK, test.day, words, "test history"))
        before = test
    events += _services(known.of("last_service"))
    events += _renewed(known.car)
    first = known.registered[0] if known.registered is not None else None
    counted = [one for one in known.of("keepers") if one.value in values_of(known.of("keepers"))]
    dated = [one for one in counted if one.day is not None]
    if dated:
        last = max(dated, key=lambda one: one.day or day)
        count = "1 keeper" if last.value == 1 else f"{last.value} keepers"
        until = last.day or day
        begin = min(first, until) if first is not None else until
        events.append(Event(EventKind.KEEPERS, begin, f"{count} by then, days not known", last.how, until))
    for recording in known.car.recordings:
        made = day_of(recording.probe.recorded_at)
        if made is not None:
            events.append(Event(EventKind.OURS, made, "walked round and filmed", "recording"))
    read = {day_of(one.reading.measured_at) for one in known.car.readings if one.state is State.STANDS}
    events += [Event(EventKind.OURS, one, "instruments read", "readings") for one in read if one is not None]
    return tuple(sorted(dict.fromkeys(events), key=lambda one: (one.day, one.kind.value, one.words)))


def _services(told: Sequence[ToldFact]) -> list[Event]:
    from shutline.car.errors import UserError
    from shutline.gauge.limits import FirstUse

    events = []
    for one in told:
        try:
            span = FirstUse.of(str(one.value))
        except UserError:
            continue
        events.append(Event(EventKind.WORK, span.earliest, f"serviced ({one.value})", one.how))
    return events


def _renewed(car: CarFile) -> list[Event]:
    """Give what was told as renewed, on the day it was told: by then it had been done."""
    days = {one.id: day_of(one.probe.recorded_at) for one in car.recordings}
    parts: dict[date, list[str]] = defaultdict(list)
    for kept in car.going_out():
        if kept.finding.condition == "renewed" and kept.finding.found is Found.YES:
            for footing in kept.finding.footings:
                day = days.get(footing.source)
                if day is not None:
                    parts[day].append(vocabulary().parts[kept.finding.part].label)
    return [
        Event(EventKind.WORK, day, f"told as renewed by then: {', '.join(dict.fromkeys(some))}", "said")
        for day, some in parts.items()
    ]


# What does not add up -------------------------------------------------------------------------------------------------


def doubts_of(
    known: Known,
    marks: Sequence[MarkLine],
    chassis: Sequence[ChassisLine],
    pairs: Sequence[ChassisPair],
    mileage: MileageTold,
) -> tuple[Doubt, ...]:
    """Give what does not add up, each with its rule and whom to ask."""
    found = [
        doubt("mark-newer", one.told.sentence, stands_on=", ".join(one.how))
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
    found += _date_doubts(known, chassis)
    found += [
        doubt("mileage", one.sentence, stands_on=one.point.source)
        for one in mileage.points
        if one.explained is not Explained.AS_READ
    ]
    keepers = values_of(known.of("keepers"))
    if len(keepers) > 1:
        found.append(doubt("keepers-differ", f"Keepers were told as {' and as '.join(map(str, keepers))}."))
    return tuple(dict.fromkeys(found))


def _date_doubts(known: Known, chassis: Sequence[ChassisLine]) -> list[Doubt]:
    found = []
    spans = list(dict.fromkeys(span for span, _ in known.registrations))
    if spans and max(start for start, _ in spans) > min(end for _, end in spans):
        words = " and ".join(f"{span[0].isoformat()} ({how})" for span, how in dict.fromkeys(known.registrations))
        found.append(doubt("registered-differs", f"First registered is told as {words}."))
    if known.registered is not None:
        for made, how in dict.fromkeys(known.years):
            if known.registered[1] < made[0]:
                words = f"Registered by {known.registered[1].isoformat()}, and made from {made[0].isoformat()} on."
                found.append(doubt("registered-before-made", words, stands_on=how))
            elif (known.registered[0] - made[1]).days > _LATE_DAYS:
                words = f"Made by {made[1].isoformat()}, and first registered from {known.registered[0].isoformat()}."
                found.append(doubt("registered-late", words, stands_on=how))
        early = [test.day for test in known.tests if test.day < known.registered[0]]
        if early:
            words = f"Tested on {early[0].isoformat()}, before it was registered on {known.registered[0].isoformat()}."
            found.append(doubt("tested-before", words, stands_on="test history"))
    if known.made is not None:
        made_years = range(known.made[0].year - 1, known.made[1].year + 2)
        for one in chassis:
            if one.told.years and not set(one.told.years) & set(made_years):
                years = " or ".join(map(str, one.told.years))
                words = f"The number's tenth sign stands for {years}; the car is said to be of {known.made[0].year}."
                found.append(doubt("model-year", words, stands_on=", ".join(one.how)))
    title = known.car.title.lower()
    for record in known.records:
        if record.make and record.make.lower() not in title:
            words = f"The test history calls it {record.make} {record.model}; here it is {known.car.title}."
            found.append(doubt("other-make", words.replace(" ;", ";"), stands_on="test history"))
    return found


def tests_words(tested: Sequence[TestedLine]) -> str:
    """Say how many tests there were, and which of them failed."""
    failed = [one.day.isoformat() for one in tested if not one.passed]
    count = "1 test" if len(tested) == 1 else f"{len(tested)} tests"
    told = f"; failed on {', '.join(failed)}" if failed else "; all passed"
    return f"{count} from {tested[0].day.isoformat()} to {tested[-1].day.isoformat()}{told}."


def alt_of(tested: Sequence[TestedLine], mileage: MileageTold, keepers: Sequence[str], events: Sequence[Event]) -> str:
    """Say in words what the timeline shows."""
    parts = [tests_words(tested)] if tested else []
    parts.append(mileage.sentence)
    readings = "; ".join(f"{one.point.day.isoformat()} {one.point.value:,} {one.point.unit}" for one in mileage.points)
    if readings:
        parts.append(f"Mileages: {readings}.")
    parts += keepers
    for kind, name in ((EventKind.REGISTERED, ""), (EventKind.WORK, "Work: "), (EventKind.OURS, "Ours: ")):
        some = [f"{one.day.isoformat()} {one.words}" for one in events if one.kind is kind]
        if some:
            parts.append(f"{name}{'; '.join(some)}.")
    return " ".join(parts)
