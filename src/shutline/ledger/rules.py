"""The rules of a margin scheme as data with dates and sources: rates, questions, columns, words."""

from __future__ import annotations

import re
import tomllib
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from decimal import Decimal, InvalidOperation
from enum import StrEnum
from fractions import Fraction
from functools import lru_cache
from itertools import pairwise
from typing import Any

from shutline.car.errors import BadInputError, Problem, UserError
from shutline.ledger.money import nearest_penny
from shutline.ledger.tables import refused, rows, text_of

HOME = "gb"
"""The country whose rules hold unless another is asked for."""

_RATES = ("id", "country", "from", "before", "percent", "source")
_QUESTIONS = ("id", "country", "question", "bars", "after", "why", "source")
_COLUMNS = ("id", "country", "side", "field", "heading", "source")
_WORDS = ("id", "country", "side", "sense", "words", "example", "counter_example", "source")


class Said(StrEnum):
    """What somebody answered to a question."""

    YES = "yes"
    NO = "no"
    NOT_KNOWN = "not known"


@dataclass(frozen=True, slots=True)
class Rate:
    """A standard rate of value added tax in per cent, from a day and before another, None for no end."""

    start: date
    end: date | None
    percent: Decimal
    source: str

    def fraction(self) -> tuple[int, int]:
        """Give the share of an amount that is the tax in it: 1/6 at 20 %."""
        return share_of_tax(self.percent)


@lru_cache(maxsize=64)
def share_of_tax(percent: Decimal) -> tuple[int, int]:
    """Give the share of an amount that is the tax in it, at a rate in per cent.

    >>> share_of_tax(Decimal(20)), share_of_tax(Decimal("17.5"))
    ((1, 6), (7, 47))
    """
    share = Fraction(percent) / (100 + Fraction(percent))
    return share.numerator, share.denominator


@dataclass(frozen=True, slots=True)
class Question:
    """What is asked of a car: `bars` is the answer that makes it not eligible, None for none."""

    id: str
    question: str
    bars: Said | None
    after: str
    why: str
    source: str


@dataclass(frozen=True, slots=True)
class BookColumn:
    """A column of the stock book: ``purchase`` or ``sale`` side, the field of a line, its heading."""

    side: str
    field: str
    heading: str
    source: str


@dataclass(frozen=True, slots=True)
class InvoiceWords:
    """Words that an invoice of one side has to hold, one of several phrases, or may not hold."""

    id: str
    side: str
    required: bool
    phrases: tuple[str, ...]
    pattern: re.Pattern[str]
    source: str


@dataclass(frozen=True, slots=True)
class Rules:
    """The rules of one country.

    `boxes` say what its sums are called; `staggers` give the month in which the first quarter of a year ends.
    `from_memory` says that nobody has held them against the law.
    """

    country: str
    name: str
    currency: str
    scheme: str
    from_memory: bool
    keep_years: int
    keep_source: str
    staggers: Mapping[int, int]
    stagger_source: str
    boxes: Mapping[str, str]
    box_source: str
    statement: str
    caution: str
    rates: tuple[Rate, ...]
    questions: tuple[Question, ...]
    columns: tuple[BookColumn, ...]
    words: tuple[InvoiceWords, ...]

    def rate_on(self, day: date) -> Rate:
        """Give the standard rate of a day; raises BadInputError where none is known (slug ``ledger-no-rate``)."""
        # The newest first: nearly every day that is asked for is in it.
        for rate in reversed(self.rates):
            if rate.start <= day and (rate.end is None or day < rate.end):
                return rate
        raise BadInputError(
            Problem(
                slug="ledger-no-rate",
                where=f"VAT rate of {self.name} on {day.isoformat()}",
                found="no rate is known of that day",
                allowed=f"days from {self.rates[0].start.isoformat()} on",
                advice="Look at the day, or lay the rate over vat_rates.csv with its source.",
            )
        )

    def tax_within(self, amount: Decimal, day: date) -> Decimal:
        """Give the tax that an amount of a day contains, to the nearest penny; nothing for an amount below nought.

        Of a margin this is what the scheme owes; of a full price, what is owed outside it.

        >>> rules_of().tax_within(Decimal(500), date(2026, 3, 1))
        Decimal('83.33')
        """
        return nearest_penny(max(amount, Decimal(0)), times=self.rate_on(day).fraction())


@dataclass(frozen=True, slots=True)
class Country:
    """A country whose rules are there: its currency, whether they are from memory, its staggers as in `Rules`."""

    id: str
    name: str
    currency: str
    from_memory: bool
    staggers: Mapping[int, int]


def countries() -> tuple[Country, ...]:
    """Give the countries whose rules are there."""
    return tuple(
        Country(id_, raw["name"], raw["currency"], raw["from_memory"], _staggers(raw))
        for id_, raw in tomllib.loads(text_of("countries.toml")).items()
    )


def rules_of(country: str = HOME, *, own: Mapping[str, str] | None = None, take_from_memory: bool = False) -> Rules:
    """Give the rules of a country.

    Parameters
    ----------
    country : str
        ``gb`` or ``de``.
    own : mapping of str to str, optional
        The user's tables by file name, laid over ours.
    take_from_memory : bool
        Rules that are from memory are refused unless this is said.

    Raises
    ------
    BadInputError
        There are none of that country, or they are from memory (slug ``ledger-country``).
    UserError
        A row is not as it should be (slug ``ledger-table-refused``).
    """
    found = _read_rules(country, tuple(sorted((own or {}).items())))
    if found.from_memory and not take_from_memory:
        raise _no_country(
            f"the rules of {found.name} are from memory",
            "they are off until somebody asks for them by name, knowing that",
            "Say so when you choose the country, or keep to the United Kingdom.",
        )
    return found


@lru_cache(maxsize=8)
def _read_rules(country: str, own: tuple[tuple[str, str], ...]) -> Rules:
    theirs = dict(own)
    for name in theirs:
        if name not in OWN_TABLES:
            raise refused(name, "a file of that name", ", ".join(OWN_TABLES))
    raw = tomllib.loads(text_of("countries.toml"))
    if country not in raw:
        raise _no_country(f"country {country[:20]!r}", f"one of {', '.join(raw)}", "Choose one of these.")
    entry: dict[str, Any] = raw[country]

    def of(name: str, columns: tuple[str, ...], empty: set[str]) -> list[tuple[str, dict[str, str]]]:
        every = rows(name, columns, may_be_empty=frozenset(empty), own=theirs)
        for where, row in every:
            if row["country"] not in raw:
                raise refused(where, f"country {row['country']!r}", ", ".join(raw))
        return [one for one in every if one[1]["country"] == country]

    return Rules(
        country=country,
        name=entry["name"],
        currency=entry["currency"],
        scheme=entry["scheme"],
        from_memory=entry["from_memory"],
        keep_years=entry["keep_years"],
        keep_source=entry["keep_source"],
        staggers=_staggers(entry),
        stagger_source=entry["stagger_source"],
        boxes=entry["boxes"],
        box_source=entry["box_source"],
        statement=entry["statement"],
        caution=entry["caution"],
        rates=_rates(of("vat_rates.csv", _RATES, {"before"})),
        questions=_questions(of("questions.csv", _QUESTIONS, {"bars", "after"})),
        columns=tuple(
            BookColumn(row["side"], row["field"], row["heading"], row["source"])
            for _, row in of("book_columns.csv", _COLUMNS, set())
        ),
        words=tuple(_words(where, row) for where, row in of("invoice_words.csv", _WORDS, set())),
    )


def _staggers(raw: Mapping[str, Any]) -> dict[int, int]:
    return {int(key): month for key, month in raw["staggers"].items()}


OWN_TABLES = ("vat_rates.csv", "questions.csv", "book_columns.csv", "invoice_words.csv")
"""The tables that rows of the user's may be laid over."""


def _rates(found: list[tuple[str, dict[str, str]]]) -> tuple[Rate, ...]:
    made = []
    for where, row in found:
        try:
            start = date.fromisoformat(row["from"])
            end = date.fromisoformat(row["before"]) if row["before"] else None
            percent = Decimal(row["percent"])
        except (ValueError, InvalidOperation) as trouble:
            raise refused(where, str(trouble) or row["percent"], "days as 2011-01-04, and per cent as 17.5") from None
        if not percent.is_finite() or not 0 <= percent <= 100 or percent * 100 % 1:
            raise refused(where, f"{row['percent']} per cent", "0 to 100, with at most two places")
        if end is not None and end <= start:
            raise refused(where, f"from {start} before {end}", "a day and a later one")
        made.append((where, Rate(start, end, percent, row["source"])))
    made.sort(key=lambda one: one[1].start)
    for (_, before), (where, after) in pairwise(made):
        if before.end is None or after.start < before.end:
            raise refused(where, f"from {after.start}, while {before.percent} % still holds", "one rate for each day")
    return tuple(rate for _, rate in made)


def _questions(found: list[tuple[str, dict[str, str]]]) -> tuple[Question, ...]:
    ids = {row["id"] for _, row in found}
    for where, row in found:
        if row["bars"] not in ("", "yes", "no"):
            raise refused(where, f"bars {row['bars']!r}", "yes, no or nothing")
        if row["after"] and row["after"] not in ids:
            raise refused(where, f"after {row['after']!r}", "the id of another question of the country")
    return tuple(
        Question(
            row["id"],
            row["question"],
            Said(row["bars"]) if row["bars"] else None,
            *(row["after"], row["why"], row["source"]),
        )
        for _, row in found
    )


def _words(where: str, row: dict[str, str]) -> InvoiceWords:
    if row["sense"] not in ("required", "forbidden") or row["side"] not in ("sale", "purchase", "both"):
        found = f"{row['side']}, {row['sense']}"
        raise refused(where, found, "sale, purchase or both; required or forbidden")
    phrases = tuple(phrase.strip().lower() for phrase in row["words"].split("|"))
    made = InvoiceWords(row["id"], row["side"], row["sense"] == "required", phrases, _pattern(phrases), row["source"])
    if not made.pattern.search(plain_words(row["example"])):
        raise refused(where, f"no phrase of the row in its example {row['example']!r}", "an example that holds one")
    if made.pattern.search(plain_words(row["counter_example"])):
        raise refused(where, f"a phrase in its counter-example {row['counter_example']!r}", "words that hold none")
    return made


def plain_words(text: str) -> str:
    """Give a text as phrases are looked for in it: small letters, single spaces, no dash or comma between words."""
    plain = re.sub(r"(?<!\d)[,;:]|\s[-\u2013\u2014]\s", " ", text.lower())
    plain = re.sub(r"\s*/\s*", "/", plain.replace("second hand", "second-hand"))
    return " ".join(plain.split())


def _pattern(phrases: tuple[str, ...]) -> re.Pattern[str]:
    amount, number = r"[£€]?\s?\d[\d,]*\.\d\d|[£€]\s?\d", r"\d[\d.,]*"
    parts = []
    for phrase in phrases:
        made = re.escape(phrase).replace(r"\ ", r"\s?")
        parts.append(made.replace("£", f"(?:{amount})").replace(r"\#", f"(?:{number})"))
    return re.compile(rf"(?<!\w)(?:{'|'.join(parts)})")


def _no_country(found: str, allowed: str, advice: str) -> UserError:
    return BadInputError(
        Problem(slug="ledger-country", where="margin scheme", found=found, allowed=allowed, advice=advice)
    )
