"""What the parts of a history are told from: facts with their days, tests, entries, and the dates of the car."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from typing import TYPE_CHECKING

from shutline.car.errors import UserError
from shutline.car.findings import State
from shutline.car.papers import ReadKind
from shutline.car.past import DateOf, PastKind
from shutline.history.countries import HOME, country_of
from shutline.history.spans import Period, Span, span_of, span_words
from shutline.usecases.past import DATE_WORDS, period_of, rests_words
from shutline.usecases.told_facts import ToldFact, place_on_paper, taken_off_papers, told_facts, values_of

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from shutline.car.carfile import CarFile
    from shutline.car.past import PastEntry
    from shutline.history.mot_records import MotRecord, MotTest

_NAMES = (
    "registration_mark",
    "chassis_number",
    "year",
    "first_registered",
    "odometer",
    "keepers",
    "last_service",
    "origin",
)
_FACTS = {"year": DateOf.MADE, "first_registered": DateOf.REGISTERED}
_HERE = "first registered here"
_OF_PAPERS = {
    "made": DateOf.MADE,
    "first used": DateOf.USED,
    "imported": DateOf.IMPORTED,
    _HERE: DateOf.IMPORTED,
}
"""The roles of dates on papers (`history.papers`); that of the first registration gives a fact."""
_ABROAD = frozenset({"imported from", "first registered", "registered before"})
_OF_RECORDS = {"made": DateOf.MADE, "registered": DateOf.REGISTERED, "first_used": DateOf.USED}


@dataclass(frozen=True, slots=True)
class Known:
    """All that a history is told from; the order in which it came in changes nothing.

    `tests` are those of all records that count, each once, by day. `told` has every value of each date with how it is
    known, what was entered first; `spans` the one that counts. `keepers` and `stays` are as they were entered, and the
    countries that were said; `dates` say the dates in sentences.
    """

    car: CarFile
    facts: tuple[ToldFact, ...]
    records: tuple[MotRecord, ...]
    tests: tuple[MotTest, ...]
    told: Mapping[DateOf, tuple[tuple[Span, str], ...]]
    spans: Mapping[DateOf, Span]
    keepers: tuple[Period, ...]
    stays: tuple[Period, ...]
    dates: tuple[str, ...]

    def of(self, name: str) -> tuple[ToldFact, ...]:
        """Give what is known of one fact, what nobody has looked at aside."""
        return tuple(one for one in self.facts if one.name == name and "nobody has looked at" not in one.how)

    @property
    def made(self) -> Span | None:
        """When it was made."""
        return self.spans.get(DateOf.MADE)

    @property
    def registered(self) -> Span | None:
        """When it was first registered, here or elsewhere."""
        return self.spans.get(DateOf.REGISTERED)

    @property
    def imported(self) -> Span | None:
        """When it was brought or first registered here."""
        return self.spans.get(DateOf.IMPORTED)

    @property
    def begun(self) -> Span | None:
        """When it was first registered or used, whichever was earlier: what its age on the road counts from."""
        found = [span for of in (DateOf.REGISTERED, DateOf.USED) if (span := self.spans.get(of)) is not None]
        return min(found, default=None)


def known_of(car: CarFile, records: Sequence[MotRecord]) -> Known:
    """Put together what a history is told from; `records` are those that count for the car."""
    facts = tuple(sorted(told_facts(car, *_NAMES), key=_order))
    records = tuple(sorted(records, key=repr))
    entries = [one.entry for one in car.past if one.state is State.STANDS]
    papers = _paper_dates(car)
    told = _dates(facts, records, entries, papers)
    spans = _counting(told)
    dates = [
        f"{DATE_WORDS[of].capitalize()} {span_words(span)} ({how})."
        for of, values in told.items()
        for span, how in values
    ]
    keepers = [period_of(one) for one in entries if one.kind is PastKind.KEEPER]
    return Known(
        car=car,
        facts=facts,
        records=records,
        tests=_tests(records),
        told=told,
        spans=spans,
        keepers=tuple(sorted(keepers, key=Period.place)),
        stays=_stays(entries, facts, _paper_countries(car, spans), spans.get(DateOf.IMPORTED)),
        dates=tuple(dict.fromkeys(dates)),
    )


def _order(one: ToldFact) -> tuple[object, ...]:
    return (one.name, not one.stands, one.day or date.max, str(one.value), one.unit or "", one.how, one.rough)


def _tests(records: Sequence[MotRecord]) -> tuple[MotTest, ...]:
    """Give the tests of several records, each once: a file that was fetched later has the earlier ones again."""
    found: dict[tuple[object, ...], MotTest] = {}
    for record in records:
        for test in record.tests:
            key = (test.number,) if test.number else (test.day, test.passed, test.mileage)
            found.setdefault(key, test)
    return tuple(sorted(found.values(), key=lambda one: (one.day, one.passed, one.number, repr(one))))


def _paper_dates(car: CarFile) -> list[tuple[str, Span, str]]:
    """Give the dates of the car that were taken off papers, each with its role, in their order."""
    found = []
    for paper, read in taken_off_papers(car, ReadKind.DATE):
        span = _span(read.value)
        if span is not None:
            found.append((read.role, span, place_on_paper(paper, read)))
    return sorted(found)


def _paper_countries(car: CarFile, spans: Mapping[DateOf, Span]) -> list[Period]:
    """Give the countries that papers tell: where it was made, and where it was before it came here."""
    found = []
    for paper, read in taken_off_papers(car, ReadKind.COUNTRY):
        where = place_on_paper(paper, read)
        if read.role == "made":
            found.append(Period(read.value, spans.get(DateOf.MADE), None, stands_on=f"made there, {where}"))
        elif read.role in _ABROAD:
            until = None if read.value == HOME else spans.get(DateOf.IMPORTED)
            found.append(Period(read.value, None, until, stands_on=where))
    return found


def _dates(
    facts: Sequence[ToldFact],
    records: Sequence[MotRecord],
    entries: Sequence[PastEntry],
    papers: Sequence[tuple[str, Span, str]],
) -> dict[DateOf, tuple[tuple[Span, str], ...]]:
    found: dict[DateOf, list[tuple[Span, str]]] = {of: [] for of in DateOf}
    for entry in entries:
        span = span_of(entry.start) if entry.kind is PastKind.DATE else None
        if span is not None:
            found[DateOf(entry.about)].append((span, f"entered: {rests_words(entry)}"))
    for values in found.values():
        values.sort()
    for role, of in _OF_PAPERS.items():
        # A registration here tells the import only where nothing else does: it is some weeks later.
        if role != _HERE or not found[of]:
            found[of] += [(span, how) for one, span, how in papers if one == role]
    for name, of in _FACTS.items():
        found[of] += _spans(facts, name)
    for field, of in _OF_RECORDS.items():
        days = sorted({day for record in records if (day := getattr(record, field)) is not None})
        found[of] += [((day, day), "test history") for day in days]
    return {of: tuple(dict.fromkeys(values)) for of, values in found.items()}


def _spans(facts: Sequence[ToldFact], name: str) -> list[tuple[Span, str]]:
    named = [one for one in facts if one.name == name]
    counted = values_of(named)
    found = []
    for one in named:
        span = _span(str(one.value)) if one.value in counted else None
        if span is not None:
            found.append((span, one.how))
    return found


def _span(text: str) -> Span | None:
    try:
        return span_of(text)
    except UserError:
        return None


def _counting(told: Mapping[DateOf, Sequence[tuple[Span, str]]]) -> dict[DateOf, Span]:
    """Give the value of each date that counts: what was entered, else what is told first; of the making the closest."""
    spans = {of: values[0][0] for of, values in told.items() if values}
    entered = [span for span, how in told[DateOf.MADE] if how.startswith("entered")]
    # A day of making that a test history has is closer than a year.
    made = min(
        entered or [span for span, _ in told[DateOf.MADE]],
        key=lambda span: (span[1] - span[0], span),
        default=None,
    )
    if made is not None:
        for of in (DateOf.REGISTERED, DateOf.USED, DateOf.IMPORTED):
            later = spans.get(of)
            if later is not None and made[0] <= later[1] < made[1]:
                # It was made before it was registered, used and imported.
                made = (made[0], later[1])
        spans[DateOf.MADE] = made
    return spans


def _stays(
    entries: Sequence[PastEntry], facts: Sequence[ToldFact], papers: Sequence[Period], imported: Span | None
) -> tuple[Period, ...]:
    """Give the countries that were entered, those that dates, papers and words tell, and home since its import."""
    found = [period_of(one) for one in entries if one.kind is PastKind.COUNTRY]
    entered = {one.of for one in found}
    found += [one for one in _of_dates(entries, imported) if one.of not in entered]
    known = {one.of for one in found}
    found += [one for one in papers if one.of not in known]
    known |= {one.of for one in papers}
    origins = [one for one in facts if one.name == "origin"]
    counted = values_of(origins)
    for one in origins:
        country = country_of(str(one.value))
        code = country.code if country is not None else str(one.value)
        if one.value in counted and code not in known:
            found.append(Period(code, None, None if code == HOME else imported, stands_on=one.how))
    if imported is not None and HOME not in entered:
        found.append(Period(HOME, imported, None, lasts=True, stands_on="since it was imported"))
    return tuple(sorted(dict.fromkeys(found), key=Period.place))


def _of_dates(entries: Sequence[PastEntry], imported: Span | None) -> list[Period]:
    """Give the countries in which it was made, registered or used, each until the next of them or its import."""
    found: dict[str, list[tuple[Span, str]]] = {}
    for entry in entries:
        span = span_of(entry.start) if entry.country and entry.about != DateOf.IMPORTED else None
        if span is not None:
            words = f"{DATE_WORDS[DateOf(entry.about)]} there, {rests_words(entry)}"
            found.setdefault(entry.country, []).append((span, words))
    ordered = sorted((sorted(values), code) for code, values in found.items())
    periods = []
    for number, (values, code) in enumerate(ordered):
        start = values[0][0]
        after = ordered[number + 1][0][0][0] if number + 1 < len(ordered) else None if code == HOME else imported
        until = after if after is not None and start[0] <= after[1] else None
        periods.append(Period(code, start, until, stands_on="; ".join(words for _, words in values)))
    return periods
