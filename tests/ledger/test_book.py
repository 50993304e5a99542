"""Entries are dated, authored, checked, never altered and only reversed; stock numbers have no gaps."""

from __future__ import annotations

from dataclasses import FrozenInstanceError, replace
from datetime import date
from decimal import Decimal

import pytest
from tests.ledger.conftest import AT, BUYER, IDA, Make, draft, pounds

from shutline.car.errors import BadInputError
from shutline.ledger import Book, Draft, Kind, Money, Party

TODAY = date(2026, 11, 26)


@pytest.fixture
def sold(book: Book, enter: Make) -> Book:
    """A car sold with a deposit, another in stock; entries 1 purchase, 2 cost, 3 deposit, 4 sale, 5 purchase."""
    enter(Kind.PURCHASE, "2026-01-05", 1500)
    enter(Kind.COST, "2026-01-09", 120, stock=1, vat=pounds(20))
    enter(Kind.DEPOSIT, "2026-01-20", 200, stock=1)
    enter(Kind.SALE, "2026-02-10", 2000, stock=1, paper="S1")
    enter(Kind.PURCHASE, "2026-02-11", 900)
    return book


def test_an_entry_has_its_number_author_and_time_and_cannot_be_altered(book: Book, enter: Make) -> None:
    entry = enter(Kind.PURCHASE, "2026-01-05", 1500)
    assert (entry.number, entry.stock, entry.author, entry.at) == (1, 1, IDA, AT)
    with pytest.raises(FrozenInstanceError):
        entry.author = "Ben"  # type: ignore[misc]
    assert book.entries == (entry,)


def refusals() -> list[tuple[Draft, str]]:
    purchase, party = draft(Kind.PURCHASE, "2026-03-01", 100), Party()
    return [
        (replace(purchase, amount=Money.of("100", "EUR")), "an amount in EUR"),
        (replace(purchase, amount=pounds("-1")), "-£1.00"),
        (replace(purchase, day=date(2026, 11, 27)), "day 2026-11-27"),
        (replace(purchase, day=date(1973, 3, 31)), "day 1973-03-31"),
        (replace(purchase, what="a car\nPAID"), "what with characters"),
        (replace(purchase, stock=7), "stock number 7"),
        (replace(purchase, party=party), "nobody is named"),
        (replace(purchase, what=" "), "no words"),
        (replace(purchase, paper="A1"), "an invoice number and 'made out by us'"),
        (replace(purchase, self_billed=False), "no invoice"),
        (replace(purchase, vat=pounds(10)), "VAT on an invoice made out by us"),
        (replace(purchase, paper="A1", self_billed=False, vat=pounds(101)), "VAT of £101.00"),
        (replace(purchase, rate=Decimal(20)), "a rate without VAT"),
        (draft(Kind.COST, "2026-03-01", 120, stock=1, vat=pounds(24), rate=Decimal(20)), "VAT of £24.00 at 20 %"),
        (draft(Kind.COST, "2026-03-01", 120, stock=1, vat=pounds(20), rate=Decimal(0)), "a rate of 0 %"),
        (replace(purchase, party=Party("x", "y\nz")), "address with characters"),
        (replace(purchase, outside=True), "'outside the scheme'"),
        (replace(purchase, against=1), "the number of another entry"),
        (draft(Kind.PART_IN, "2026-03-01", 100), "no entry named"),
        (draft(Kind.PART_IN, "2026-03-01", 100, against=1), "entry 1"),
        (draft(Kind.PART_IN, "2026-02-01", 100, against=4), "a day before that of entry 4"),
        (draft(Kind.COST, "2026-03-01", 100, stock=3), "no car of stock"),
        (draft(Kind.COST, "2026-03-01", 0, stock=1), "a cost of nought"),
        (draft(Kind.COST, "2026-03-01", 10, stock=1, car="x"), "a car file"),
        (draft(Kind.COST, "2026-03-01", 10, stock=1, self_billed=True), "'made out by us'"),
        (draft(Kind.DEPOSIT, "2026-03-01", 10, stock=1), "the car is sold by entry 4"),
        (draft(Kind.DEPOSIT, "2026-03-01", 0, stock=2), "a deposit of nought"),
        (draft(Kind.DEPOSIT, "2026-03-01", 10, stock=2, vat=pounds(1)), "VAT of the other side"),
        (draft(Kind.SALE, "2026-03-01", 100, stock=1, paper="S2"), "the car is sold by entry 4"),
        (draft(Kind.SALE, "2026-02-01", 100, stock=2, paper="S2"), "a day before it was bought"),
        (draft(Kind.SALE, "2026-03-01", 100, stock=2, paper="S1"), "sales invoice number 'S1' a second time"),
        (draft(Kind.SALE, "2026-03-01", 100, stock=2), "no number"),
        (draft(Kind.SALE, "2026-03-01", 0, stock=2, paper="S2"), "a price of nought"),
        (draft(Kind.PART_OUT, "2026-03-01", 100, stock=2, paper="S2", against=4), "entry 4"),
        (draft(Kind.PART_OUT, "2026-03-01", 100, stock=2, paper="S2", against=5), "entry 5"),
        (draft(Kind.RETURN, "2026-03-01", 100, stock=1, against=9), "entry 9"),
        (draft(Kind.RETURN, "2026-03-01", 100, stock=1), "no entry named"),
        (draft(Kind.RETURN, "2026-03-01", 100, stock=2, against=4), "entry 4 is of stock number 1"),
        (draft(Kind.RETURN, "2026-02-09", 100, stock=1, against=4), "a day before that of entry 4"),
        (draft(Kind.RETURN, "2026-03-01", 100, stock=1, against=2), "entry 2, a cost"),
        (draft(Kind.RETURN, "2026-03-01", 100, stock=1, against=3), "entry 3, which counts no longer or went into"),
        (draft(Kind.RETURN, "2026-03-01", 2001, stock=1, against=4), "£2,001.00 given back of £2,000.00"),
        (draft(Kind.RETURN, "2026-03-01", 2000, stock=1, against=4, what=""), "no words"),
        (draft(Kind.REVERSAL, "2026-03-01", 1500, stock=1, against=1), "entry 2, a cost, hangs on entry 1"),
        (draft(Kind.REVERSAL, "2026-03-01", 200, stock=1, against=3), "entry 4, a sale, hangs on entry 3"),
        (draft(Kind.REVERSAL, "2026-03-01", 5, stock=1, against=4), "£5.00"),
    ]


@pytest.mark.parametrize(("wanted", "found"), refusals(), ids=[found for _, found in refusals()])
def test_what_may_not_be_entered_is_refused_with_what_was_found(sold: Book, wanted: Draft, found: str) -> None:
    before = sold.entries
    problems = sold.problems_of(wanted, today=TODAY)
    assert any(one.found.startswith(found) for one in problems), [one.sentence() for one in problems]
    assert all(one.where and one.allowed and one.advice for one in problems)
    with pytest.raises(BadInputError):
        sold.enter(wanted, author=IDA, at=AT)
    assert sold.entries == before


def test_nobody_enters_anything_without_a_name(book: Book) -> None:
    with pytest.raises(BadInputError) as caught:
        book.enter(draft(Kind.PURCHASE, "2026-01-05", 100), author=" ", at=AT)
    assert "nobody is named" in caught.value.problem.found


def test_a_reversal_names_its_entry_once_and_is_not_reversed_itself(sold: Book, enter: Make) -> None:
    reversal = enter(Kind.REVERSAL, "2026-03-01", 120, stock=1, against=2)
    assert sold.reversed_by(2) == reversal
    assert not sold.stands(2)
    for named, amount, found in (
        (2, 120, "entry 2 is reversed"),
        (reversal.number, 120, f"entry {reversal.number}, a"),
    ):
        again = draft(Kind.REVERSAL, "2026-03-02", amount, stock=1, against=named)
        (problem,) = sold.problems_of(again, today=TODAY)
        assert problem.found.startswith(found)


def test_numbers_of_stock_stay_where_a_purchase_was_reversed(sold: Book, enter: Make) -> None:
    enter(Kind.REVERSAL, "2026-03-01", 900, stock=2, against=5)
    assert sold.cars[1].bought is None
    assert enter(Kind.PURCHASE, "2026-03-02", 950).stock == 3
    for kind, more in ((Kind.COST, {}), (Kind.SALE, {"paper": "S9"}), (Kind.DEPOSIT, {})):
        problems = sold.problems_of(draft(kind, "2026-03-03", 10, stock=2, **more), today=TODAY)
        assert any("is reversed" in one.found for one in problems)


def test_a_car_comes_back_is_sold_again_and_its_first_deposit_is_spent(sold: Book, enter: Make) -> None:
    back = enter(Kind.RETURN, "2026-03-01", 2000, stock=1, against=4)
    car = sold.cars[0]
    assert car.sale is None
    assert sold.open_deposits(car) == ()
    for kind, paper in ((Kind.SALE, "S2"), (Kind.DEPOSIT, "")):
        early = draft(kind, "2026-02-28", 1900, stock=1, paper=paper)
        assert [one.found for one in sold.problems_of(early, today=TODAY)] == ["a day before it came back, 2026-03-01"]
    again = enter(Kind.SALE, "2026-04-01", 1900, stock=1, paper="S2")
    assert car.sale == again
    hangs = sold.problems_of(draft(Kind.REVERSAL, "2026-05-01", 2000, stock=1, against=back.number), today=TODAY)
    assert [one.found for one in hangs] == [f"entry {again.number}, a sale, hangs on entry {back.number}"]


def test_a_reversed_return_lets_the_sale_stand_again(sold: Book, enter: Make) -> None:
    back = enter(Kind.RETURN, "2026-03-01", 2000, stock=1, against=4)
    enter(Kind.REVERSAL, "2026-03-02", 2000, stock=1, against=back.number)
    assert sold.cars[0].sale == sold.entry(4)
    assert sold.stands(4)
    assert [one.number for one in sold.settled_in(4)] == [3]


def test_a_deposit_given_back_goes_into_no_sale(book: Book, enter: Make) -> None:
    enter(Kind.PURCHASE, "2026-01-05", 1500)
    paid = enter(Kind.DEPOSIT, "2026-01-20", 200, stock=1)
    too_much = draft(Kind.SALE, "2026-01-21", 199, stock=1, paper="S1")
    assert "deposits of £200.00" in book.problems_of(too_much, today=TODAY)[0].found
    early = draft(Kind.SALE, "2026-01-19", 1800, stock=1, paper="S1")
    assert [one.found for one in book.problems_of(early, today=TODAY)] == [
        "a day before the deposit on it was taken, 2026-01-20"
    ]
    enter(Kind.RETURN, "2026-01-22", 150, stock=1, against=paid.number, what="thought better of it")
    sale = enter(Kind.SALE, "2026-01-23", 1800, stock=1, paper="S1")
    assert list(book.settled_in(sale.number)) == []


def test_a_reversed_sale_frees_its_deposit_and_what_was_taken_in_hangs_on_it(sold: Book, enter: Make) -> None:
    taken = enter(Kind.PART_IN, "2026-02-10", 300, against=4)
    (hangs,) = sold.problems_of(draft(Kind.REVERSAL, "2026-03-01", 2000, stock=1, against=4), today=TODAY)
    assert hangs.found == f"entry {taken.number}, a part-exchange-in, hangs on entry 4"
    enter(Kind.REVERSAL, "2026-03-01", 300, stock=3, against=taken.number)
    enter(Kind.REVERSAL, "2026-03-01", 2000, stock=1, against=4)
    assert [one.number for one in sold.open_deposits(sold.cars[0])] == [3]
    # The number of the invoice is spent.
    again = draft(Kind.SALE, "2026-03-02", 2000, stock=1, paper="S1")
    assert "a second time" in sold.problems_of(again, today=TODAY)[0].found


def test_a_book_made_of_kept_entries_is_the_same_and_a_gap_is_refused(sold: Book) -> None:
    again = Book(sold.entries, sold.answers)
    assert (again.entries, again.cars, again.moves) == (sold.entries, sold.cars, sold.moves)
    with pytest.raises(BadInputError) as caught:
        Book([*sold.entries[:2], *sold.entries[3:]])
    assert caught.value.problem.slug == "ledger-gap"
    with pytest.raises(BadInputError) as caught:
        Book(sold.entries, currency="EUR")
    assert caught.value.problem.slug == "ledger-country"
    assert sold.entries[3].party == BUYER
