"""A car's past as a person enters it: keepers, countries and dates; amended, struck, and let stand again."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from datetime import UTC, date, datetime
from typing import TYPE_CHECKING, Literal

from shutline.car.errors import BadInputError, NotFoundError, Problem
from shutline.car.findings import State
from shutline.car.past import DateOf, PastEntry, PastKind, RestsOn
from shutline.usecases.look import find_car
from shutline.usecases.settings import author as present_author

if TYPE_CHECKING:
    from shutline.car.carfile import CarFile
    from shutline.car.past import KeptPast
    from shutline.history.spans import Period, Span
    from shutline.store import Store

PastVerb = Literal["amend", "strike", "again"]
LONGEST = 120
"""The longest name of a keeper or a paper, letters."""
STILL = "now"
"""What an end is given as that has not come."""
FIELDS = ("about", "start", "until", "on", "country")
"""What an entry is given by; see `entry_of`."""
_RESTS = {RestsOn.SAID: "said", RestsOn.REGISTRATION: "registration document"}
DATE_WORDS = {
    DateOf.MADE: "made",
    DateOf.REGISTERED: "first registered",
    DateOf.USED: "first used",
    DateOf.IMPORTED: "imported",
}


@dataclass(frozen=True, slots=True)
class PastLine:
    """An entry in words, with its version; `by` and `at` are those of its last change."""

    id: str
    entry: PastEntry
    words: str
    state: State
    version: int
    by: str
    at: str


@dataclass(frozen=True, slots=True)
class PastShown:
    """What was entered of a car's past, in the order it came in, struck entries too."""

    car: str
    title: str
    lines: tuple[PastLine, ...]


def past_shown(store: Store, name: str) -> PastShown:
    """Give what was entered of a car's past.

    Raises
    ------
    NotFoundError, UserError
        No car begins so, or several do.
    """
    car = find_car(store, name)
    return PastShown(car.name, car.title, past_lines(car))


def enter_past(
    store: Store, name: str, kind: PastKind, fields: Mapping[str, str], *, author: str | None = None
) -> PastLine:
    """Enter a keeper, a country or a date; the same a second time changes nothing.

    Parameters
    ----------
    store : Store
        Where the car is kept.
    name : str
        Its name, or a beginning of it that no other has.
    kind : PastKind
        What is entered.
    fields : mapping of str to str
        As `entry_of` takes them.
    author : str, optional
        Who says so.

    Raises
    ------
    NotFoundError
        No such car.
    BadInputError
        Slug ``past-unfit``: a date, a country or what it rests on cannot be taken, or an end lies before its beginning.
    """
    car = find_car(store, name)
    return past_line(store.add_past(car.name, entry_of(kind, fields), author=author or present_author()))


def change_past(
    store: Store,
    name: str,
    ref: str,
    verb: PastVerb,
    fields: Mapping[str, str] | None = None,
    *,
    version: int | None = None,
    author: str | None = None,
) -> PastLine:
    """Amend an entry by the fields given, strike it, or let it stand again; what stood before is kept.

    Parameters
    ----------
    ref : str
        The id of the entry, or a beginning of it that no other has.
    version : int, optional
        The version the person had before them; whatever is kept now when left out.

    Raises
    ------
    NotFoundError
        No such car, or it has no such entry (slug ``past-unknown``).
    StaleError
        Somebody changed it meanwhile.
    BadInputError
        As for `enter_past`.
    """
    car = find_car(store, name)
    kept = _one(car, ref)
    entry = None
    if verb == "amend":
        entry = entry_of(kept.entry.kind, {**_given(kept.entry), **(fields or {})})
    elif fields:
        raise _unfit("the change", f"{verb} with {', '.join(fields)}", "fields with an amendment alone")
    changed = store.change_past(
        car.name, kept.id, action=verb, author=author or present_author(), entry=entry, expected_version=version
    )
    return past_line(changed)


def entry_of(kind: PastKind, fields: Mapping[str, str]) -> PastEntry:
    """Make an entry of what a person gave.

    Parameters
    ----------
    kind : PastKind
        What it is of.
    fields : mapping of str to str
        ``about`` is the keeper's name or nothing, the country by its name or its letters, or which date it is
        (`DateOf`). ``start`` and ``until`` are a year, a month or a day, or nothing; ``until`` may be ``now``. ``on``
        is what it rests on: ``said``, ``registration``, or else what the paper is called. ``country`` is in which
        country a date was, as a country is given.

    Raises
    ------
    BadInputError
        Slug ``past-unfit``.
    """
    unknown = [one for one in fields if one not in FIELDS]
    if unknown:
        raise _unfit("the entry", ", ".join(repr(one[:40]) for one in unknown), ", ".join(FIELDS))
    given = {one: " ".join(fields.get(one, "").split()) for one in FIELDS}
    about = _about(kind, given["about"])
    lasts = given["until"].lower() == STILL
    start, until = given["start"], "" if lasts else given["until"]
    spans = (_span("start", start), _span("until", until))
    if kind is PastKind.DATE and (not start or until or lasts):
        raise _unfit("the date", "no day" if not start else "an end", "one day, month or year")
    if spans[0] is not None and spans[1] is not None and spans[1][1] < spans[0][0]:
        raise _unfit("until", f"{until}, before {start}", "an end that is not before the beginning")
    if given["country"] and kind is not PastKind.DATE:
        raise _unfit("country", f"one with a {kind.value}", "one with a date alone")
    rests_on, paper = _rests(given["on"])
    where = _country(given["country"]) if given["country"] else ""
    return PastEntry(kind, about, start, until, lasts, rests_on, paper, where)


def past_lines(car: CarFile) -> tuple[PastLine, ...]:
    """Put what was entered of a car's past into lines."""
    return tuple(past_line(kept) for kept in car.past)


def past_line(kept: KeptPast) -> PastLine:
    """Put an entry into a line."""
    by, at = (kept.changes[-1].author, kept.changes[-1].at) if kept.changes else ("", kept.kept_at)
    return PastLine(kept.id, kept.entry, past_words(kept.entry), kept.state, kept.version, by, at)


def past_words(entry: PastEntry) -> str:
    """Say an entry: 'Keeper: Augusta Harbottle, from March 1987 to 1994 (registration document)'."""
    from shutline.history.countries import said_in

    rests = rests_words(entry)
    if entry.kind is PastKind.DATE:
        from shutline.history.spans import span_words

        span = _span("start", entry.start)
        when = "" if span is None else span_words(span)
        where = f" in {said_in(entry.country)}" if entry.country else ""
        return f"{DATE_WORDS[DateOf(entry.about)].capitalize()} {when}{where} ({rests})"
    if entry.kind is PastKind.COUNTRY:
        return f"In {said_in(entry.about)}, {period_of(entry).words()} ({rests})"
    return f"Keeper{f': {entry.about}' if entry.about else ''}, {period_of(entry).words()} ({rests})"


def rests_words(entry: PastEntry) -> str:
    """Say what an entry rests on."""
    if entry.rests_on is RestsOn.PAPER:
        return f"paper: {entry.paper}" if entry.paper else "a paper"
    return _RESTS[entry.rests_on]


def period_of(entry: PastEntry) -> Period:
    """Give the time of a keeper or a country."""
    from shutline.history.spans import Period

    start, until = _span("start", entry.start), _span("until", entry.until)
    return Period(entry.about, start, until, entry.lasts, rests_words(entry))


def without_names(kept: KeptPast) -> KeptPast:
    """Give an entry without the keeper's name, without what its paper is called, and without how it came about."""
    about = "" if kept.entry.kind is PastKind.KEEPER else kept.entry.about
    return replace(kept, entry=replace(kept.entry, about=about, paper=""), changes=())


def _one(car: CarFile, ref: str) -> KeptPast:
    begins = [one for one in car.past if ref and one.id.startswith(ref)]
    if len(begins) == 1:
        return begins[0]
    raise NotFoundError(
        Problem(
            slug="past-unknown",
            where=f"{car.name}, {ref[:60]!r}",
            found="no entry begins so" if not begins else f"{len(begins)} entries begin so",
            allowed="an id, or a beginning of one that no other entry of this car has; nothing was done",
            advice=f"List them: shutline past {car.name}.",
        )
    )


def _given(entry: PastEntry) -> dict[str, str]:
    """Give the fields that an entry is made of."""
    on = entry.paper if entry.rests_on is RestsOn.PAPER else entry.rests_on.value
    until = STILL if entry.lasts else entry.until
    return {"about": entry.about, "start": entry.start, "until": until, "on": on, "country": entry.country}


def _about(kind: PastKind, text: str) -> str:
    if kind is PastKind.DATE:
        if text not in set(DateOf):
            raise _unfit("which date", repr(text[:40]), ", ".join(one.value for one in DateOf))
        return text
    return _country(text) if kind is PastKind.COUNTRY else _short("name", text)


def _country(text: str) -> str:
    from shutline.history.countries import country_of

    country = country_of(text)
    if country is None:
        raise _unfit("country", repr(text[:40]), "the name of a country in English, or its two letters of ISO 3166")
    return country.code


def _span(where: str, text: str) -> Span | None:
    from shutline.history.spans import span_of

    if not text:
        return None
    allowed = "a year, a month or a day that has come: 1987, 1987-03, 1987-03-14"
    try:
        span = span_of(text)
    except BadInputError:
        raise _unfit(where, repr(text[:40]), allowed) from None
    if span is None or span[0] > _today():
        raise _unfit(where, repr(text[:40]), allowed)
    return span


def _rests(text: str) -> tuple[RestsOn, str]:
    if not text:
        return RestsOn.SAID, ""
    if text in {RestsOn.SAID, RestsOn.REGISTRATION}:
        return RestsOn(text), ""
    return RestsOn.PAPER, "" if text == RestsOn.PAPER else _short("what the paper is called", text)


def _short(where: str, text: str) -> str:
    if len(text) > LONGEST or not text.isprintable():
        found = f"{len(text)} letters" if text.isprintable() else "signs that cannot be shown"
        raise _unfit(where, found, f"at most {LONGEST} letters that can be shown")
    return text


def _today() -> date:
    return datetime.now(UTC).date()


def _unfit(where: str, found: str, allowed: str) -> BadInputError:
    return BadInputError(Problem("past-unfit", where, found, allowed, "Give it so; nothing was kept."))
