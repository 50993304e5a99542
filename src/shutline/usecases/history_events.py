"""The events of a car's history, its keepers, and the timeline in words."""

from __future__ import annotations

from collections import defaultdict
from typing import TYPE_CHECKING

from shutline.car.findings import Found, State
from shutline.car.past import DateOf
from shutline.car.prep_done import done_words
from shutline.car.vocabulary import vocabulary
from shutline.history.countries import country_name, said_in
from shutline.history.keepers import NumberTold, chain_of
from shutline.history.returning import SAME_OCCASION_DAYS
from shutline.history.timeline import Event, EventKind
from shutline.usecases.history_told import count_words
from shutline.usecases.paper_events import paper_events
from shutline.usecases.told_facts import ToldFact, day_of, values_of

if TYPE_CHECKING:
    from collections.abc import Sequence
    from datetime import date

    from shutline.car.carfile import CarFile
    from shutline.history.exemption import Exemption
    from shutline.history.keepers import Chain
    from shutline.history.mileage import MileageTold
    from shutline.history.spans import Period
    from shutline.usecases.car_history import TestedLine
    from shutline.usecases.history_known import Known

_EXEMPT = {"tax": "vehicle tax", "test": "test"}
_ALT = (
    (EventKind.REGISTERED, ""),
    (EventKind.IMPORTED, ""),
    (EventKind.COUNTRY, "Countries: "),
    (EventKind.EXEMPT, "By age: "),
    (EventKind.PAPER, "Papers: "),
    (EventKind.WORK, "Work: "),
    (EventKind.OURS, "Ours: "),
)


def chain_told(known: Known, day: date) -> Chain:
    """Put the keepers that were entered in their order, held against the numbers of keepers that were told."""
    named = known.of("keepers")
    counted = values_of(named)
    told = [
        NumberTold(one.value + one.before, one.day, one.how)
        for one in named
        if one.value in counted and isinstance(one.value, int)
    ]
    return chain_of(known.keepers, day=day, made=known.made, registered=known.registered, told=told)


def keeper_lines(known: Known, chain: Chain) -> tuple[str, ...]:
    """Tell the keepers: those that were entered in their order, and how many were told by when."""
    found = list(chain.sentences)
    for one in known.of("keepers"):
        when = f" on {one.day.isoformat()}" if one.day is not None else ""
        unknown = "" if chain.keepings else "; from when to when each kept it is not known"
        found.append(f"{count_words(one)}, {one.how}{when}{unknown}.")
    return tuple(dict.fromkeys(found))


def events_of(known: Known, chain: Chain, exemptions: Sequence[Exemption], day: date) -> tuple[Event, ...]:
    """Give the events of the timeline, by day."""
    events = []
    if known.registered is not None:
        source = known.told[DateOf.REGISTERED][0][1]
        events.append(Event(EventKind.REGISTERED, known.registered[0], "first registered", source))
    if known.imported is not None:
        source = known.told[DateOf.IMPORTED][0][1]
        events.append(Event(EventKind.IMPORTED, known.imported[0], "imported", source))
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
    events += _put_right(known.car)
    events += _kept_by(known, chain, day)
    events += [
        one
        for stay in known.stays
        if (one := _lasting(EventKind.COUNTRY, stay, day, said_in(stay.of), country_name(stay.of))) is not None
    ]
    events += [
        Event(
            EventKind.EXEMPT,
            one.latest,
            f"free of {_EXEMPT[one.of]} by age",
            one.source,
            label=_EXEMPT[one.of],
            lasts=True,
            until=day,
        )
        for one in exemptions
        if one.free and one.latest <= day
    ]
    events += paper_events(known.car)
    for recording in known.car.recordings:
        made = day_of(recording.probe.recorded_at)
        if made is not None:
            events.append(Event(EventKind.OURS, made, "walked round and filmed", "recording"))
    read = {day_of(one.reading.measured_at) for one in known.car.readings if one.state is State.STANDS}
    events += [Event(EventKind.OURS, one, "instruments read", "readings") for one in read if one is not None]
    return tuple(sorted(dict.fromkeys(events), key=Event.place))


def _kept_by(known: Known, chain: Chain, day: date) -> list[Event]:
    """Give the keepers as bars where they were entered, else how many there were by the last day they were told."""
    if chain.keepings:
        bars = [
            _lasting(EventKind.KEEPER, one, day, f"keeper {number}", one.of or f"keeper {number}")
            for number, one in enumerate(chain.keepings, 1)
        ]
        return [one for one in bars if one is not None]
    counted = [one for one in known.of("keepers") if one.value in values_of(known.of("keepers"))]
    dated = [one for one in counted if one.day is not None]
    if not dated:
        return []
    last = max(dated, key=lambda one: (one.day or day, str(one.value)))
    until = last.day or day
    begin = min(known.registered[0], until) if known.registered is not None else until
    return [Event(EventKind.KEEPERS, begin, f"{count_words(last)} by then, days not known", last.how, until)]


def _lasting(kind: EventKind, one: Period, day: date, words: str, label: str) -> Event | None:
    """Give what lasted; None where no day of it is known."""
    begin = one.start or one.until
    if begin is None:
        return None
    until = day if one.lasts else one.until[1] if one.until is not None else None
    start = one.start[0] if one.start is not None else begin[0]
    told = f"{words} {one.words()}"
    return Event(kind, start, told, one.stands_on, until, label, lasts=one.lasts, begun=one.start is not None)


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


def _put_right(car: CarFile) -> list[Event]:
    """Give the work that was ticked off and put something right, on the day it was done."""
    parts: dict[tuple[date, str], list[str]] = defaultdict(list)
    for kept in car.put_right():
        if kept.put_right is not None and (day := day_of(kept.put_right.done_on)) is not None:
            parts[day, done_words(kept.put_right)].append(vocabulary().parts[kept.finding.part].label)
    return [
        Event(EventKind.WORK, day, f"{', '.join(dict.fromkeys(some))}: {done}", "ticked off")
        for (day, done), some in parts.items()
    ]


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
    for kind, name in _ALT:
        some = [f"{one.day.isoformat()} {one.words}" for one in events if one.kind is kind]
        if some:
            parts.append(f"{name}{'; '.join(some)}.")
    return " ".join(parts)
