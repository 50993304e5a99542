"""The whole case from every kind of source: their order changes nothing, and a mileage that fits raises no doubt."""

from __future__ import annotations

import random
from dataclasses import dataclass, replace
from datetime import date, timedelta
from itertools import count

from hypothesis import assume, given, settings
from hypothesis import strategies as st

from shutline.car.carfile import CarFile, Change, KeptFact, Picture, Recording
from shutline.car.figures import Figure, FigureKind, FigureState, ReadFigure
from shutline.car.findings import Drive, Fact, Footing, FootingKind, State
from shutline.car.kept_papers import KeptPaper, KeptRead
from shutline.car.kept_tests import KeptTests, RecordState
from shutline.car.papers import Box, PaperKind, PaperState, Proposal, ReadKind, ReadState
from shutline.car.past import KeptPast, PastEntry, PastKind, RestsOn
from shutline.car.recordings import Kind, Original, Probe
from shutline.history.mileage import Explained, Verdict
from shutline.usecases.car_history import CarHistory, history_of

DAY = date(2026, 11, 26)
MOST_A_DAY = 40
SOURCES = ("said", "said roughly", "seen", "figure", "entered", "test", "paper")


@dataclass(frozen=True)
class Told:
    """A mileage of a day, and where it is from."""

    day: date
    miles: int
    source: str


def car_of(*mileages: Told, facts: tuple[tuple[str, int | str, str], ...] = (), past: tuple[PastEntry, ...] = ()):
    """A car file with each mileage and fact from its own source, in the order given."""
    numbers = count()
    car = CarFile("ostrel-pavane", "Ostrel Pavane", Drive.RHD, "2026-01-01T00:00:00Z")
    for one in mileages:
        car = _with(car, one, str(next(numbers)))
    for name, value, day in facts:
        car = _said(car, Fact(name, value), day, f"f{next(numbers)}")
    kept = [KeptPast(f"p{next(numbers)}", entry, State.STANDS, "2026-01-01") for entry in past]
    return replace(car, past=tuple(kept))


def _with(car: CarFile, told: Told, id_: str) -> CarFile:
    day, miles = told.day.isoformat(), told.miles
    if told.source in {"said", "said roughly"}:
        value = round(miles, -3) if told.source == "said roughly" else miles
        return _said(car, Fact("odometer", value, "mi"), day, id_)
    if told.source == "seen":
        footing = (Footing(FootingKind.SEEN, f"picture {id_}"),)
        fact = KeptFact(id_, Fact("odometer", miles, "mi", footing, state=State.STANDS))
        return replace(car, pictures=(*car.pictures, _picture(id_, day)), facts=(*car.facts, fact))
    if told.source == "figure":
        read = ReadFigure(FigureKind.ODOMETER, str(miles), (), miles, "mi", True, 0.9, (0, 0, 1, 1))
        figure = Figure(id_, read, f"picture {id_}", None, "", miles, "mi", FigureState.TAKEN, "2026-11-26")
        return replace(car, pictures=(*car.pictures, _picture(id_, day)), figures=(*car.figures, figure))
    if told.source == "entered":
        change = (Change(f"{day}T10:00:00Z", "Ida Quill", "entered", {}, {}),)
        fact = KeptFact(id_, Fact("odometer", miles, "mi", state=State.STANDS), changes=change)
        return replace(car, facts=(*car.facts, fact))
    if told.source == "test":
        test = {"completedDate": day, "testResult": "PASSED", "odometerValue": str(miles), "odometerUnit": "mi"}
        record: dict[str, object] = {"registration": "FGY412H", "make": "OSTREL", "motTests": [test]}
        kept = KeptTests(id_, "FGY412H", f"{id_}.json", record, RecordState.SAME, "2026-01-01", "Ida Quill")
        return replace(car, tests=(*car.tests, kept))
    return with_paper(car, id_, ReadKind.MILEAGE, str(miles), day=day, unit="mi")


def with_paper(
    car: CarFile, id_: str, kind: ReadKind, value: str, role: str = "", *, day: str = "", unit: str = ""
) -> CarFile:
    """A paper beside the car, off which one thing was taken."""
    read_off = Proposal(kind, 1, Box(0, 0, 1, 1), value, role, (), "")
    read = KeptRead(id_, read_off, kind, role, value, unit, day, ReadState.TAKEN)
    paper = KeptPaper(
        id_,
        Original(id_, f"paper {id_}.pdf", 1, Kind.PICTURE),
        "pdf",
        1,
        1,
        (),
        PaperKind.INVOICE,
        PaperState.SAME,
        (),
        "",
        (read,),
        "2026-01-01",
        "Ida Quill",
    )
    return replace(car, papers=(*car.papers, paper))


def _said(car: CarFile, fact: Fact, day: str, id_: str) -> CarFile:
    film = Recording(f"film {id_}", Original(id_, "walk.mov", 1, Kind.FILM), Probe(Kind.FILM, "mov", recorded_at=day))
    footings = (Footing(FootingKind.SAID, film.id, 1.0, 2.0, "so"),)
    kept = KeptFact(id_, replace(fact, footings=footings, sureness=0.9))
    return replace(car, recordings=(*car.recordings, film), facts=(*car.facts, kept))


def _picture(id_: str, day: str) -> Picture:
    return Picture(f"picture {id_}", Original(id_, "dial.jpg", 1, Kind.PICTURE), 1, 1, day)


def shuffled(car: CarFile, seed: int) -> CarFile:
    mixed = random.Random(seed)
    names = ("recordings", "pictures", "facts", "figures", "tests", "papers", "past")
    return replace(car, **{name: tuple(mixed.sample(getattr(car, name), len(getattr(car, name)))) for name in names})


def doubted(told: CarHistory) -> set[tuple[date, int]]:
    points = told.mileage.points
    return {(one.point.day, one.point.value) for one in points if one.explained is not Explained.AS_READ}


steps = st.lists(
    st.tuples(st.integers(60, 900), st.integers(300, 12_000), st.sampled_from(SOURCES)), min_size=2, max_size=6
)
faults = st.none() | st.tuples(st.integers(0, 5), st.sampled_from((0.1, 0.6, 10, 1.609344)))


def line_of(steps: list[tuple[int, int, str]]) -> list[Told]:
    """Mileages that go with one another: none drives more than a man can, nor less than nothing."""
    day, miles, made = date(2004, 3, 1), 12_345, []
    for days, driven, source in steps:
        day, miles = day + timedelta(days=days), miles + min(driven, MOST_A_DAY * days)
        made.append(Told(day, miles, source))
    return made


def with_fault(line: list[Told], fault: tuple[int, float] | None) -> list[Told]:
    if fault is None:
        return line
    at, times = fault[0] % len(line), fault[1]
    return [replace(one, miles=int(one.miles * times)) if number == at else one for number, one in enumerate(line)]


def fitting(line: list[Told], place: int, source: str) -> Told:
    """Half way between two, or after the last as far as the car went to it from the one before."""
    if place < len(line) - 1:
        one, other = line[place : place + 2]
        return Told(one.day + (other.day - one.day) / 2, (one.miles + other.miles) // 2, source)
    one, other = line[-2:]
    return Told(other.day + (other.day - one.day), 2 * other.miles - one.miles, source)


def test_a_line_from_every_source_goes_on() -> None:
    line = line_of([(200, 1_500, source) for source in SOURCES])
    told = history_of(car_of(*line), day=DAY)
    assert len(told.mileage.points) == len(SOURCES)
    assert told.mileage.verdict is Verdict.CONSISTENT
    sources = {one.point.source for one in told.mileage.points}
    assert sources == {"said", "seen in a picture", "entered by hand", "test", "paper paper 6.pdf, page 1"}


@settings(max_examples=120, deadline=None)
@given(steps, st.integers(0, 5), st.sampled_from(SOURCES))
def test_a_mileage_that_fits_raises_no_suspicion_whatever_it_is_from(steps, at, source) -> None:
    line = line_of(steps)
    before = history_of(car_of(*line), day=DAY)
    assert before.mileage.verdict is Verdict.CONSISTENT
    after = history_of(car_of(*line, fitting(line, at % len(line), source)), day=DAY)
    assert after.mileage.verdict is Verdict.CONSISTENT
    assert {one.id for one in after.doubts} <= {one.id for one in before.doubts}


@settings(max_examples=120, deadline=None)
@given(steps, faults, st.integers(0, 5), st.sampled_from(SOURCES))
def test_beside_a_mileage_that_is_wrong_too(steps, fault, at, source) -> None:
    line = with_fault(line_of(steps), fault)
    before = history_of(car_of(*line), day=DAY)
    place = at % len(line)
    beside = line[min(place, len(line) - 2) :][:2]
    # It fits what nobody doubts and a car can drive: a mileage that fits a wrong one is wrong too.
    assume(not doubted(before) & {(one.day, one.miles) for one in beside})
    assume(0 <= beside[1].miles - beside[0].miles <= MOST_A_DAY * (beside[1].day - beside[0].day).days)
    after = history_of(car_of(*line, fitting(line, place, source)), day=DAY)
    assert doubted(after) <= doubted(before)


FACTS = (
    ("keepers", 3, "2026-04-21"),
    ("keepers", 2, "2025-04-21"),
    ("registration_mark", "FGY412H", "2026-04-21"),
    ("registration_mark", "AB-123-CD", "2025-01-02"),
    ("chassis_number", "AB123", "2026-04-21"),
    ("chassis_number", "A8123", "2025-01-02"),
    ("year", 1969, "2026-04-21"),
    ("year", 1968, "2025-01-02"),
    ("first_registered", "1969-09", "2026-04-21"),
    ("first_registered", "1970-01-03", "2025-01-02"),
    ("origin", "France", "2026-04-21"),
    ("origin", "Holland", "2025-01-02"),
    ("last_service", "2025-03", "2026-04-21"),
)
PAPERS = (
    (ReadKind.DATE, "1969-06", "made"),
    (ReadKind.DATE, "1987-04-02", "imported"),
    (ReadKind.DATE, "1987-06-10", "first registered here"),
    (ReadKind.DATE, "1969-11", "first used"),
    (ReadKind.DATE, "1969-12", "first used"),
    (ReadKind.COUNTRY, "IT", "made"),
    (ReadKind.COUNTRY, "FR", "registered before"),
    (ReadKind.COUNTRY, "NL", "imported from"),
)


def test_what_papers_tell_of_dates_and_countries_joins_the_rest() -> None:
    car = car_of()
    for number, (kind, value, role) in enumerate(PAPERS[:4] + PAPERS[5:7]):
        car = with_paper(car, str(number), kind, value, role)
    told = history_of(car, day=DAY)
    assert told.dates == (
        "Made in June 1969 (paper paper 0.pdf, page 1).",
        "First used in November 1969 (paper paper 3.pdf, page 1).",
        "Imported on 1987-04-02 (paper paper 1.pdf, page 1).",
    )
    assert [one.split(" (")[0] for one in told.countries] == [
        "In Italy from June 1969, end not known",
        "In France to 1987-04-02",
        "In the United Kingdom from 1987-04-02 to this day",
    ]
    assert told.doubts == ()
    here = history_of(with_paper(car_of(), "0", ReadKind.DATE, "1987-06", "first registered here"), day=DAY)
    assert here.dates == ("Imported in June 1987 (paper paper 0.pdf, page 1).",)


PAST = (
    PastEntry(PastKind.KEEPER, "Augusta Harbottle", "1969", "1987-03", rests_on=RestsOn.REGISTRATION),
    PastEntry(PastKind.KEEPER, "Jonas Pell", "1985", "", lasts=True),
    PastEntry(PastKind.COUNTRY, "FR", "1969", "1990"),
    PastEntry(PastKind.DATE, "imported", "1987-04"),
    PastEntry(PastKind.DATE, "imported", "1988"),
    PastEntry(PastKind.DATE, "made", "1969-06", country="IT"),
    PastEntry(PastKind.DATE, "used", "1969", country="FR"),
    PastEntry(PastKind.DATE, "registered", "1970", country="IT"),
)


@settings(max_examples=60, deadline=None)
@given(
    steps,
    faults,
    st.tuples(*(st.lists(st.sampled_from(some), unique=True) for some in (FACTS, PAST, PAPERS))),
    st.integers(0, 999),
)
def test_the_order_in_which_sources_came_changes_nothing(steps, fault, known, seed) -> None:
    facts, past, papers = known
    car = car_of(*with_fault(line_of(steps), fault), facts=tuple(facts), past=tuple(past))
    for number, (kind, value, role) in enumerate(papers):
        car = with_paper(car, f"paper {number}", kind, value, role)
    told, mixed = history_of(car, day=DAY), history_of(shuffled(car, seed), day=DAY)
    # What came in is listed in the order in which it came.
    assert replace(told, past=(), records=()) == replace(mixed, past=(), records=())
