"""What is known of a car in use: marks, chassis numbers, dates, tests, mileages, keepers; and what does not add up."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import UTC, date, datetime
from typing import TYPE_CHECKING

from shutline.car.past import DateOf
from shutline.history.chassis import ChassisNumber
from shutline.history.doubts import Doubt
from shutline.history.exemption import Exemption
from shutline.history.marks import MarkTold
from shutline.history.mileage import MileageTold
from shutline.history.timeline import Event
from shutline.usecases.kept_tests import RecordLine, counts, own_marks, record_line, records_of
from shutline.usecases.look import find_car
from shutline.usecases.past import PastLine, past_lines

if TYPE_CHECKING:
    from shutline.car.carfile import CarFile
    from shutline.car.errors import Problem
    from shutline.store import Store


@dataclass(frozen=True, slots=True)
class MarkLine:
    """A mark, how it is known, and what it says held against the first registration."""

    told: MarkTold
    how: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class ChassisLine:
    """A chassis number, how it is known, and what it tells."""

    told: ChassisNumber
    how: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class ChassisPair:
    """Two chassis numbers of one car that differ; `sentence` says whether one may be a misreading of the other."""

    one: str
    other: str
    sentence: str


@dataclass(frozen=True, slots=True)
class ReturnLine:
    """What tests noted again and again.

    `place` and `condition` are in the words of our vocabulary, empty where it has none for it; `part` is the id.
    `findings` are what the car file says of that part; `ask` what to do where it says nothing.
    """

    part: str
    place: str
    condition: str
    about: str
    days: tuple[date, ...]
    sentence: str
    findings: tuple[str, ...]
    ask: str


@dataclass(frozen=True, slots=True)
class DefectLine:
    """One defect or advice of a test, in its own words."""

    text: str
    severity: str
    dangerous: bool


@dataclass(frozen=True, slots=True)
class TestedLine:
    """One test of the car: its day, its outcome, its mileage in words, and what was noted."""

    day: date
    passed: bool
    mileage: str
    retest: bool
    defects: tuple[DefectLine, ...]


@dataclass(frozen=True, slots=True)
class CarHistory:
    """All that is known of a car in use, on a day.

    `made`, `registered`, `used` and `imported` are between which days, both included, None where they are not known;
    `dates` say where they are from. `keepers` and `countries` tell who kept it and where it was, `past` is what of
    that was entered. `records` are all test histories that came in, those that are kept apart too. `undated` are
    mileages whose day nobody knows: they are told, and not weighed. `picture` is the timeline as SVG, empty where
    nothing has a day; `alt` says the same in words.
    """

    car: str
    title: str
    day: date
    registered: tuple[date, date] | None
    made: tuple[date, date] | None
    used: tuple[date, date] | None
    imported: tuple[date, date] | None
    dates: tuple[str, ...]
    marks: tuple[MarkLine, ...]
    chassis: tuple[ChassisLine, ...]
    chassis_pairs: tuple[ChassisPair, ...]
    exemptions: tuple[Exemption, ...]
    mileage: MileageTold
    undated: tuple[str, ...]
    keepers: tuple[str, ...]
    countries: tuple[str, ...]
    tests: tuple[TestedLine, ...]
    returning: tuple[ReturnLine, ...]
    doubts: tuple[Doubt, ...]
    records: tuple[RecordLine, ...]
    past: tuple[PastLine, ...]
    events: tuple[Event, ...]
    picture: str
    alt: str
    problems: tuple[Problem, ...]


def car_history(store: Store, name: str, *, day: date | None = None) -> CarHistory:
    """Tell what is known of a car in use.

    Parameters
    ----------
    store : Store
        Where it is kept.
    name : str
        The car's name, or a beginning of it that no other has.
    day : date, optional
        On which tax, test and the mileage to be expected are asked for; today when left out.

    Raises
    ------
    NotFoundError, UserError
        No car begins so, or several do.
    """
    return history_of(find_car(store, name), day=day)


def history_of(car: CarFile, *, day: date | None = None) -> CarHistory:
    """Tell what is known of a car file; as `car_history`."""
    from shutline.history.exemption import exemptions
    from shutline.history.returning import returning
    from shutline.history.stays import stays_of
    from shutline.history.timeline import timeline_svg
    from shutline.usecases import history_events as ordered
    from shutline.usecases import history_told as told
    from shutline.usecases.history_known import known_of

    today = day or datetime.now(UTC).date()
    own = own_marks(car)
    records = records_of([one for one in car.tests if counts(one, own)])
    known = known_of(car, records)
    mileage, undated = told.mileage_of(known, today)
    marks = told.mark_lines(known)
    chassis = told.chassis_lines(known)
    pairs = told.chassis_pairs([one.told for one in chassis])
    free = exemptions(today, made=known.made, registered=known.begun, never_historic=told.never_historic(marks))
    chain = ordered.chain_told(known, today)
    stays = stays_of(known.stays, day=today, imported=known.imported, tested=[one.day for one in known.tests])
    keepers = ordered.keeper_lines(known, chain)
    events = ordered.events_of(known, chain, free, today)
    returns = tuple(told.return_line(one, car) for one in returning(known.tests))
    doubts = (*told.doubts_of(known, marks, chassis, pairs, mileage), *chain.doubts, *stays.doubts)
    tested = told.tested_lines(known)
    alt = ordered.alt_of(tested, mileage, keepers, events)
    return CarHistory(
        car=car.name,
        title=car.title,
        day=today,
        registered=known.registered,
        made=known.made,
        used=known.spans.get(DateOf.USED),
        imported=known.imported,
        dates=known.dates,
        marks=marks,
        chassis=chassis,
        chassis_pairs=pairs,
        exemptions=free,
        mileage=mileage,
        undated=undated,
        keepers=keepers,
        countries=stays.sentences,
        tests=tested,
        returning=returns,
        doubts=doubts,
        records=tuple(record_line(one, own) for one in car.tests),
        past=past_lines(car),
        events=events,
        picture=timeline_svg(events, mileage, title="Timeline of the car", desc=alt),
        alt=alt,
        problems=tuple(problem for record in records for problem in record.problems),
    )
