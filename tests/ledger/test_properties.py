"""Whatever is entered: sums are those of the entries, no tax is below nought, and all of it reversed is nought."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta
from decimal import Decimal
from itertools import pairwise
from random import Random

from hypothesis import given, settings
from hypothesis import strategies as st
from tests.ledger.conftest import AT, FIRST, IDA, balances, draft, made_book, tried_draft

from shutline.ledger import (
    Book,
    Draft,
    Kind,
    Pages,
    Whole,
    forecourt_of,
    owed_on,
    rules_of,
    stock_book,
    totals_of,
    transactions_of,
)

RULES = rules_of()
LAST = date(2026, 11, 26)


@st.composite
def books(draw: st.DrawFn) -> Book:
    """A book that came of trying entries of every kind, of which what is refused leaves it as it was."""
    random = draw(st.randoms(use_true_random=False))
    return made_book(random, steps=draw(st.integers(0, 30)), days=20)


def reversal_of(book: Book, number: int) -> Draft:
    entry = book.entry(number)
    assert entry is not None
    return replace(draft(Kind.REVERSAL, LAST.isoformat(), 0, stock=entry.stock, against=number), amount=entry.amount)


@settings(max_examples=80)
@given(books())
def test_sums_of_any_cut_into_periods_are_those_of_the_entries_that_stand(book: Book) -> None:
    whole = totals_of(book, RULES, start=FIRST, end=LAST)
    cuts = [FIRST, *(FIRST + timedelta(days=days) for days in (50, 51, 200, 433)), LAST + timedelta(days=1)]
    parts = [totals_of(book, RULES, start=start, end=end - timedelta(days=1)) for start, end in pairwise(cuts)]
    for name in ("on_margins", "on_prices", "reclaimed", "sales", "cars", "costs"):
        counted = sum(getattr(one.counted, name).amount - getattr(one.undone, name).amount for one in parts)
        assert counted == getattr(whole.counted, name).amount
        assert getattr(whole.undone, name).amount == 0
    for told in (whole, *parts):
        box_1, box_4, box_6, box_7 = (one.amount.amount for one in told.boxes)
        for sale, vat, net in ((True, box_1, box_6), (False, box_4, box_7)):
            lines = [one for one in told.lines if one.sale is sale]
            assert (sum(one.vat.amount for one in lines), sum(one.net.amount for one in lines)) == (vat, net)
    # The same by another way: what stands of each car now.
    standing = [car for car in book.cars if car.bought is not None]
    assert whole.counted.cars.amount == sum(car.first.net() for car in standing)
    assert whole.counted.costs.amount == sum(cost.net() for car in standing for cost in car.costs.values())
    owed = [owed_on(car, car.sale, RULES) for car in standing if car.sale is not None]
    assert whole.counted.vat.amount == sum(one.tax for one in owed if one.tax is not None)
    assert len(whole.open) == sum(one.tax is None for one in owed)


@settings(max_examples=80)
@given(books())
def test_no_sequence_of_entries_makes_a_tax_below_nought(book: Book) -> None:
    for line in stock_book(book, RULES):
        assert line.vat is None or line.vat.amount >= 0
        assert line.vat is None or line.sold_price is None or line.vat.amount <= line.sold_price.amount
    for days in range(0, 700, 50):
        told = totals_of(book, RULES, start=FIRST, end=FIRST + timedelta(days=days))
        assert told.counted.vat.amount - told.undone.vat.amount >= 0
        quarter = totals_of(book, RULES, start=FIRST + timedelta(days=days), end=FIRST + timedelta(days=days + 90))
        assert min(quarter.counted.vat.amount, quarter.undone.vat.amount) >= 0
        assert all(0 <= one.least.amount <= one.most.amount for one in told.open)


@settings(max_examples=80)
@given(books())
def test_all_of_it_reversed_is_nought(book: Book) -> None:
    for number in range(len(book.entries), 0, -1):
        entry = book.entry(number)
        if entry is not None and entry.kind is not Kind.REVERSAL and book.reversed_by(number) is None:
            book.enter(reversal_of(book, number), author=IDA, at=AT)
    told = totals_of(book, RULES, start=FIRST, end=LAST)
    assert all(box.amount.amount == 0 for box in told.boxes)
    assert told.open == ()
    assert told.kept_back.amount == 0
    assert set(balances(book).values()) <= {Decimal(0)}
    yard = forecourt_of(book, RULES, day=LAST)
    assert (yard.standing, yard.made) == ((), ())


@settings(max_examples=80)
@given(books())
def test_numbers_have_no_gaps_and_every_transaction_comes_to_nought(book: Book) -> None:
    assert [one.number for one in book.entries] == list(range(1, len(book.entries) + 1))
    assert [line.number for line in stock_book(book, RULES)] == list(range(1, len(book.cars) + 1))
    bought = [one.stock for one in book.entries if one.kind in (Kind.PURCHASE, Kind.PART_IN)]
    assert bought == list(range(1, len(bought) + 1))
    for one in transactions_of(book, RULES):
        assert sum(posting.amount for posting in one.postings) == 0


@settings(max_examples=50)
@given(books())
def test_the_journal_and_the_returns_tell_the_same_tax(book: Book) -> None:
    told = totals_of(book, RULES, start=FIRST, end=LAST)
    accounts = balances(book)
    assert -accounts.get("Liabilities:VAT-Owed", Decimal(0)) == told.counted.vat.amount
    assert accounts.get("Assets:VAT-To-Reclaim", Decimal(0)) == told.counted.reclaimed.amount
    stock = sum(amount for name, amount in accounts.items() if name.startswith("Assets:Stock"))
    yard = forecourt_of(book, RULES, day=LAST)
    assert stock == sum(one.tied_up.amount - one.costs.amount for one in yard.standing)


@settings(max_examples=50)
@given(books())
def test_a_book_made_of_what_was_kept_is_the_same(book: Book) -> None:
    again = Book(book.entries, book.answers)
    assert again.cars == book.cars
    assert totals_of(again, RULES, start=FIRST, end=LAST) == totals_of(book, RULES, start=FIRST, end=LAST)


@settings(max_examples=80)
@given(books(), st.integers(0, 690), st.integers(0, 120))
def test_pages_of_a_period_give_the_sums_of_the_whole_book(book: Book, days: int, long: int) -> None:
    start = FIRST + timedelta(days=days)
    end = start + timedelta(days=long)
    pages = pages_of(book, {one.stock for one in book.entries if start <= one.day <= end})
    assert totals_of(pages, RULES, start=start, end=end) == totals_of(book, RULES, start=start, end=end)


@settings(max_examples=80)
@given(books(), st.randoms(use_true_random=False))
def test_what_is_refused_of_the_whole_book_is_refused_of_the_pages_of_a_car_in_the_same_words(
    book: Book, random: Random
) -> None:
    for step in range(5):
        tried = tried_draft(book, random, step, day=LAST)
        named = [one for one in book.entries if one.number == tried.against or one.paper == tried.paper]
        stocks = {tried.stock, *(one.stock for one in named)}
        own = {one.number for one in book.entries if one.stock in stocks}
        pages = pages_of(book, stocks | {one.stock for one in book.entries if one.against in own})
        told = book.problems_of(tried, today=LAST)
        assert pages.problems_of(tried, today=LAST) == told
        if not told:
            assert pages.enter(tried, author=IDA, at=AT) == book.enter(tried, author=IDA, at=AT)
            for stock in stocks - {0}:
                assert pages.car(stock) == book.car(stock)


def pages_of(book: Book, stocks: set[int]) -> Pages:
    count = len(book.entries)
    return Pages(
        [one for one in book.entries if one.stock in stocks],
        [one for one in book.answers if one.stock in stocks],
        whole=Whole(count, count, len(book.cars), "GBP"),
    )
