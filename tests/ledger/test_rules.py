"""Rates, questions, columns and words are data with sources, and rows that are wrong are refused by line."""

from __future__ import annotations

from dataclasses import fields
from datetime import date, timedelta
from decimal import Decimal

import pytest

from shutline.car.errors import BadInputError, UserError
from shutline.ledger import BookLine, Said, rules_of
from shutline.ledger.rules import plain_words


def test_the_rates_are_those_of_two_published_tables() -> None:
    # accountancymanagers.co.uk, historic VAT rates; nealandassociates.co.uk has the same but for March 1991.
    published = {"1973-04-01": "10", "1974-07-29": "8", "1979-06-18": "15", "1991-04-01": "17.5"}
    published |= {"2008-12-01": "15", "2010-01-01": "17.5", "2011-01-04": "20"}
    rules = rules_of()
    assert {rate.start.isoformat(): str(rate.percent) for rate in rules.rates} == published
    for before, rate in zip(rules.rates, rules.rates[1:], strict=False):
        assert before.end == rate.start
        assert rules.rate_on(rate.start - timedelta(days=1)) is before
        assert rules.rate_on(rate.start) is rate
    assert rules.rate_on(date(2050, 1, 1)).percent == 20


@pytest.mark.parametrize(
    ("day", "fraction"),
    [("2026-11-26", (1, 6)), ("2010-06-01", (7, 47)), ("2009-06-01", (3, 23)), ("1973-05-01", (1, 11))],
)
def test_the_share_of_the_margin_follows_from_the_rate(day: str, fraction: tuple[int, int]) -> None:
    # 1/6 at 20 %, 7/47 at 17.5 % and 3/23 at 15 % are the revenue's own fractions (from memory for the last two).
    assert rules_of().rate_on(date.fromisoformat(day)).fraction() == fraction


def test_a_day_before_the_tax_has_no_rate() -> None:
    with pytest.raises(BadInputError) as caught:
        rules_of().rate_on(date(1973, 3, 31))
    assert caught.value.problem.slug == "ledger-no-rate"


def test_the_british_book_has_six_columns_on_each_side_and_every_column_is_a_field() -> None:
    names = {one.name for one in fields(BookLine)}
    for rules in (rules_of(), rules_of("de", take_from_memory=True)):
        assert {one.field for one in rules.columns} <= names
    assert [one.side for one in rules_of().columns] == ["purchase"] * 6 + ["sale"] * 6


def test_another_country_is_off_until_it_is_asked_for_and_says_that_it_is_from_memory() -> None:
    for country in ("de", "nowhere"):
        with pytest.raises(BadInputError) as caught:
            rules_of(country)
        assert caught.value.problem.slug == "ledger-country"
    rules = rules_of("de", take_from_memory=True)
    assert rules.from_memory
    assert "From memory" in rules.caution
    assert {one.source for one in rules.questions} == {"from memory"}
    # 19/119 of 5,950 is 950.
    assert rules.tax_within(Decimal(5950), date(2026, 5, 1)) == 950


def test_every_row_has_a_source_and_phrases_hold_in_their_examples() -> None:
    # The loader tries each example and counter-example, and refuses the table otherwise.
    for rules in (rules_of(), rules_of("de", take_from_memory=True)):
        rows = (*rules.rates, *rules.questions, *rules.columns, *rules.words)
        assert all(row.source.strip() for row in rows)


def test_a_row_of_ones_own_takes_the_place_of_ours() -> None:
    own = {
        "vat_rates.csv": "id,country,from,before,percent,source\n"
        "gb-2011,gb,2011-01-04,2030-01-01,20,x\nnew,gb,2030-01-01,,22.5,y\n"
    }
    rules = rules_of(own=own)
    assert rules.rate_on(date(2031, 1, 1)).percent == Decimal("22.5")
    assert rules_of().rate_on(date(2031, 1, 1)).percent == 20


@pytest.mark.parametrize(
    ("name", "text", "where", "found"),
    [
        ("vat_rates.csv", "id,from\n", "vat_rates.csv, line 1", "columns id, from"),
        ("vat_rates.csv", "H\na,gb,2011-01-04,,20\n", "vat_rates.csv, line 2", "too many or too few"),
        ("vat_rates.csv", "H\na,gb,2011-01-04,,20,\n", "vat_rates.csv, line 2", "source empty"),
        ("vat_rates.csv", "H\na,gb,4 Jan,,20,x\n", "vat_rates.csv, line 2", "4 Jan"),
        ("vat_rates.csv", "H\na,gb,2011-01-04,,lots,x\n", "vat_rates.csv, line 2", ""),
        ("vat_rates.csv", "H\na,gb,2011-01-04,,120,x\n", "vat_rates.csv, line 2", "120 per cent"),
        ("vat_rates.csv", "H\na,gb,2011-01-04,2010-01-01,20,x\n", "vat_rates.csv, line 2", "from 2011-01-04 before"),
        ("vat_rates.csv", "H\na,gb,2012-01-04,,20,x\n", "vat_rates.csv, line 2", "still holds"),
        ("vat_rates.csv", "H\na,xx,2012-01-04,,20,x\n", "vat_rates.csv, line 2", "country 'xx'"),
        ("vat_rates.csv", "H\na,gb,2011-01-04,,20,x\na,gb,2011-01-04,,20,x\n", "vat_rates.csv, line 3", "second time"),
        ("prices.csv", "id\n", "prices.csv", "a file of that name"),
        ("questions.csv", "H\na,gb,Q?,perhaps,,why,x\n", "questions.csv, line 2", "bars 'perhaps'"),
        ("questions.csv", "H\na,gb,Q?,yes,b,why,x\n", "questions.csv, line 2", "after 'b'"),
        ("invoice_words.csv", "H\na,gb,sale,needed,x,x,y,s\n", "invoice_words.csv, line 2", "sale, needed"),
        ("invoice_words.csv", "H\na,gb,sale,required,x,z,y,s\n", "invoice_words.csv, line 2", "in its example"),
        ("invoice_words.csv", "H\na,gb,sale,required,x,x,a x,s\n", "invoice_words.csv, line 2", "counter-example"),
    ],
)
def test_a_row_that_is_wrong_is_refused_with_file_and_line(name: str, text: str, where: str, found: str) -> None:
    heads = {
        "vat_rates.csv": "id,country,from,before,percent,source",
        "questions.csv": "id,country,question,bars,after,why,source",
        "invoice_words.csv": "id,country,side,sense,words,example,counter_example,source",
    }
    with pytest.raises(UserError) as caught:
        rules_of(own={name: text.replace("H\n", heads.get(name, "") + "\n")})
    problem = caught.value.problem
    assert (problem.slug, problem.where) == ("ledger-table-refused", where)
    assert found in problem.found


def test_words_are_compared_whatever_their_letters_spaces_and_dashes() -> None:
    assert plain_words("Margin  Scheme \u2013 Second Hand goods,") == "margin scheme second-hand goods"
    assert Said("not known") is Said.NOT_KNOWN
