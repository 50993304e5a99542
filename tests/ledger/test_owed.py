"""What is owed on a sale: the published examples, eligibility asked and kept, and what is not known said."""

from __future__ import annotations

import csv
from datetime import date
from decimal import Decimal
from pathlib import Path

import pytest
from tests.ledger.conftest import AT, IDA, Make, answer_all, pounds

from shutline.ledger import (
    Answer,
    Book,
    Eligible,
    Kind,
    Money,
    Said,
    Taxed,
    eligibility_of,
    owed_on,
    rules_of,
    tax_on_margin,
)

PUBLISHED = Path(__file__).parents[1] / "published" / "margin_scheme.csv"
ROWS = list(csv.DictReader(PUBLISHED.read_text(encoding="utf-8").splitlines()))


@pytest.mark.parametrize("row", ROWS, ids=[row["id"] for row in ROWS])
def test_published_examples_come_out_to_the_penny(row: dict[str, str]) -> None:
    bought, sold, tax = (Decimal(row[name]) for name in ("bought", "sold", "tax"))
    if row["taxed"] == "margin":
        assert tax_on_margin(bought, sold, percent=Decimal(row["percent"])) == tax
    if row["percent"] == "20":
        book = Book()
        make = _maker(book)
        make(Kind.PURCHASE, "2026-01-05", row["bought"])
        sale = make(Kind.SALE, "2026-02-10", row["sold"], stock=1, paper="S1")
        answer_all(book, 1, vat_invoice=Said.YES if row["taxed"] == "full" else Said.NO)
        owed = owed_on(book.cars[0], sale, rules_of())
        assert (owed.tax, owed.taxed.value) == (tax, "the margin" if row["taxed"] == "margin" else "the full price")


def test_the_saving_by_a_discount_is_the_one_published() -> None:
    # taxinsider: 2,500 less 2,333.33 is 166.67.
    full = {row["id"]: Decimal(row["tax"]) for row in ROWS}
    assert full["part-exchange-full"] - full["discount-full"] == Decimal("166.67")


def test_costs_and_deposits_change_nothing_of_what_is_owed(book: Book, enter: Make) -> None:
    enter(Kind.PURCHASE, "2026-01-05", 1500)
    enter(Kind.COST, "2026-01-09", 600, stock=1, vat=pounds(100))
    enter(Kind.DEPOSIT, "2026-01-20", 200, stock=1)
    sale = enter(Kind.SALE, "2026-02-10", 2000, stock=1, paper="S1")
    answer_all(book, 1)
    assert owed_on(book.cars[0], sale, rules_of()).tax == Decimal("83.33")


def test_the_rate_is_that_of_the_day_of_the_sale(book: Book, enter: Make) -> None:
    enter(Kind.PURCHASE, "2010-12-01", 1500)
    sale = enter(Kind.SALE, "2011-01-03", 2000, stock=1, paper="S1")
    answer_all(book, 1)
    assert owed_on(book.cars[0], sale, rules_of()).tax == Decimal("74.47")


def test_part_exchange_counts_at_the_full_allowance_both_ways(book: Book, enter: Make) -> None:
    # gov.uk VATMARG13350: the allowance is the purchase price of the one, the full price the selling price of the
    # other.
    enter(Kind.PURCHASE, "2026-01-05", 8500)
    sale = enter(Kind.SALE, "2026-02-10", 12000, stock=1, paper="S1")
    taken = enter(Kind.PART_IN, "2026-02-10", 3000, against=sale.number)
    assert taken.stock == 2
    sold = enter(Kind.SALE, "2026-03-10", 2500, stock=2, paper="S2")
    bought = enter(Kind.PURCHASE, "2026-04-01", 20000)
    enter(Kind.PURCHASE, "2026-04-01", 5000)
    given = enter(Kind.PART_OUT, "2026-04-02", 6200, stock=4, paper="S3", against=bought.number)
    for stock in (1, 2, 4):
        answer_all(book, stock)
    taxes = [owed_on(book.cars[one.stock - 1], one, rules_of()).tax for one in (sale, sold, given)]
    assert taxes == [Decimal("583.33"), 0, Decimal("200.00")]


@pytest.mark.parametrize(
    ("said", "standing"),
    [
        ({}, Eligible.YES),
        ({"vat_invoice": Said.YES}, Eligible.NO),
        ({"imported": Said.YES}, Eligible.NO),
        ({"write_off": Said.YES}, Eligible.NO),
        ({"new": Said.YES}, Eligible.NO),
        ({"vat_reclaimed": Said.YES}, Eligible.NO),
        ({"imported": Said.NOT_KNOWN}, Eligible.NOT_KNOWN),
        ({"imported": Said.NOT_KNOWN, "new": Said.YES}, Eligible.NO),
        ({"rebuilt": Said.NOT_KNOWN}, Eligible.NOT_KNOWN),
        ({"rebuilt": Said.YES}, Eligible.YES),
        ({"rebuilt": Said.YES, "rebuilt_stock": Said.NO}, Eligible.NO),
        ({"rebuilt": Said.YES, "rebuilt_number": Said.YES}, Eligible.NO),
        ({"rebuilt": Said.YES, "rebuilt_number": Said.NOT_KNOWN}, Eligible.NOT_KNOWN),
        ({"rebuilt": Said.NO, "rebuilt_stock": Said.NO, "rebuilt_number": Said.YES}, Eligible.YES),
    ],
)
def test_eligibility_follows_the_answers_and_is_never_assumed(
    book: Book, enter: Make, said: dict[str, Said], standing: Eligible
) -> None:
    enter(Kind.PURCHASE, "2026-01-05", 1500)
    sale = enter(Kind.SALE, "2026-02-10", 2400, stock=1, paper="S1")
    answer_all(book, 1, **said)
    told = eligibility_of(book.cars[0], rules_of())
    owed = owed_on(book.cars[0], sale, rules_of())
    assert told.standing is standing
    assert bool(told.why_not) == (standing is Eligible.NO)
    assert (standing is not Eligible.NOT_KNOWN) or told.to_ask
    expected = {Eligible.YES: (Decimal(150), 150, 150), Eligible.NO: (Decimal(400), 400, 400)}
    assert (owed.tax, owed.least, owed.most) == expected.get(standing, (None, Decimal(150), Decimal(400)))


def test_who_answered_is_kept_and_the_last_answer_counts(book: Book, enter: Make) -> None:
    enter(Kind.PURCHASE, "2026-01-05", 1500)
    answer_all(book, 1, imported=Said.YES)
    assert eligibility_of(book.cars[0], rules_of()).standing is Eligible.NO
    book.answer(Answer(1, "imported", Said.NO, "Ben Ashe", "2026-11-26T13:00:00Z"))
    told = eligibility_of(book.cars[0], rules_of())
    assert told.standing is Eligible.YES
    assert "Did the firm bring it into the United Kingdom itself? No, said Ben Ashe on 2026-11-26" in told.told()
    assert [one.author for one in book.answers if one.question == "imported"] == [IDA, "Ben Ashe"]


def test_vat_on_the_purchase_bars_the_scheme_whatever_was_answered(book: Book, enter: Make) -> None:
    enter(Kind.PURCHASE, "2026-01-05", 1500, paper="A-17", vat=pounds(250))
    sale = enter(Kind.SALE, "2026-02-10", 2400, stock=1, paper="S1")
    answer_all(book, 1)
    assert eligibility_of(book.cars[0], rules_of()).standing is Eligible.NO
    assert "VAT of £250.00" in eligibility_of(book.cars[0], rules_of()).told()
    assert owed_on(book.cars[0], sale, rules_of()).tax == 400


def test_a_car_sold_outside_by_choice_owes_tax_on_the_full_price_whatever_is_known(book: Book, enter: Make) -> None:
    enter(Kind.PURCHASE, "2026-01-05", 1500)
    sale = enter(Kind.SALE, "2026-02-10", 2400, stock=1, paper="S1", outside=True)
    owed = owed_on(book.cars[0], sale, rules_of())
    assert (owed.taxed, owed.tax) == (Taxed.FULL, 400)


def test_german_margins_are_taxed_at_their_own_rate() -> None:
    rules = rules_of("de", take_from_memory=True)
    book = Book(currency="EUR")
    make = _maker(book)
    make(Kind.PURCHASE, "2026-01-05", 10000, currency="EUR")
    sale = make(Kind.SALE, "2026-02-10", 12380, currency="EUR", stock=1, paper="R1")
    for question in rules.questions:
        book.answer(Answer(1, question.id, Said.NO, IDA, AT))
    # 19/119 of 2,380 is 380.
    assert owed_on(book.cars[0], sale, rules).tax == 380
    assert rules.tax_within(Decimal(2380), date(2020, 8, 1)) == Decimal("328.28")


def _maker(book: Book) -> Make:
    from dataclasses import replace

    from tests.ledger.conftest import draft

    def make(kind: Kind, day: str, amount: str | int, *, currency: str = "GBP", **more):
        made = draft(kind, day, amount, **more)
        return book.enter(replace(made, amount=Money.of(str(amount), currency)), author=IDA, at=AT)

    return make
