"""Quarters, and what goes on their return: sales less the tax on them, full purchase prices, and what is taken back."""

from __future__ import annotations

from datetime import date, timedelta

import pytest
from tests.ledger.conftest import Make, answer_all, pounds

from shutline.car.errors import BadInputError
from shutline.ledger import Book, Kind, Said, Totals, quarter_of, rules_of, totals_of

RULES = rules_of()


def quarter(book: Book, day: str) -> Totals:
    start, end = quarter_of(date.fromisoformat(day), RULES)
    return totals_of(book, RULES, start=start, end=end)


def boxes(told: Totals) -> dict[str, str]:
    return {one.name: str(one.amount.amount) for one in told.boxes}


@pytest.mark.parametrize(
    ("stagger", "ends"),
    # gov.uk DMBM530020: the groups by the months in which their quarters end.
    [(1, {3, 6, 9, 12}), (2, {1, 4, 7, 10}), (3, {2, 5, 8, 11})],
)
def test_quarters_end_in_the_months_of_their_stagger_and_leave_no_day_out(stagger: int, ends: set[int]) -> None:
    day = date(2023, 12, 1)
    while day < date(2025, 3, 1):
        start, end = quarter_of(day, RULES, stagger=stagger)
        assert start <= day <= end
        assert start.day == 1
        assert end.month in ends
        assert (end + timedelta(days=1)).day == 1
        assert quarter_of(end + timedelta(days=1), RULES, stagger=stagger)[0] == end + timedelta(days=1)
        assert (end - start).days in range(88, 92)
        day += timedelta(days=1)


def test_a_stagger_that_there_is_not_and_a_period_back_to_front_are_refused(book: Book) -> None:
    with pytest.raises(BadInputError) as caught:
        quarter_of(date(2026, 1, 1), RULES, stagger=4)
    assert caught.value.problem.slug == "ledger-period"
    with pytest.raises(BadInputError):
        totals_of(book, RULES, start=date(2026, 2, 1), end=date(2026, 1, 1))


def test_box_6_is_the_price_less_its_tax_and_box_7_the_full_purchase_price(book: Book, enter: Make) -> None:
    # vatforum.co.uk 55951: box 6 the full selling price less the VAT on the margin, box 7 the full purchase price.
    enter(Kind.PURCHASE, "2026-01-05", 1500)
    enter(Kind.SALE, "2026-03-31", 2000, stock=1, paper="S1")
    enter(Kind.PURCHASE, "2026-02-05", 8500)
    enter(Kind.SALE, "2026-04-01", 12000, stock=2, paper="S2")
    for stock in (1, 2):
        answer_all(book, stock)
    assert boxes(quarter(book, "2026-02-01")) == {
        "box 1": "83.33",
        "box 4": "0.00",
        "box 6": "1916.67",
        "box 7": "10000.00",
    }
    assert boxes(quarter(book, "2026-05-01")) == {
        "box 1": "583.33",
        "box 4": "0.00",
        "box 6": "11416.67",
        "box 7": "0.00",
    }


def test_a_loss_is_never_set_against_another_car(book: Book, enter: Make) -> None:
    for number, (bought, sold) in enumerate([(1500, 2000), (5000, 4000)], 1):
        enter(Kind.PURCHASE, "2026-01-05", bought)
        enter(Kind.SALE, "2026-02-10", sold, stock=number, paper=f"S{number}")
        answer_all(book, number)
    told = quarter(book, "2026-02-10")
    assert told.counted.on_margins == pounds("83.33")
    assert told.counted.sales == pounds("5916.67")


def test_costs_and_cars_bought_with_vat_go_in_without_it_and_their_vat_is_reclaimed(book: Book, enter: Make) -> None:
    enter(Kind.PURCHASE, "2026-01-05", 12000, paper="A1", vat=pounds(2000))
    enter(Kind.COST, "2026-01-06", 600, stock=1, vat=pounds(100))
    enter(Kind.COST, "2026-01-07", 50, stock=1)
    enter(Kind.DEPOSIT, "2026-01-08", 500, stock=1)
    enter(Kind.SALE, "2026-02-10", 15000, stock=1, paper="S1")
    told = quarter(book, "2026-02-10")
    assert boxes(told) == {"box 1": "2500.00", "box 4": "2100.00", "box 6": "12500.00", "box 7": "10550.00"}
    assert (told.counted.on_margins, told.counted.on_prices) == (pounds(0), pounds(2500))


def test_a_sale_of_which_it_is_not_known_is_in_no_sum_and_is_said(book: Book, enter: Make) -> None:
    enter(Kind.PURCHASE, "2026-01-05", 1500)
    enter(Kind.SALE, "2026-02-10", 2400, stock=1, paper="S1")
    told = quarter(book, "2026-02-10")
    (one,) = told.open
    assert (one.stock, one.least, one.most) == (1, pounds(150), pounds(400))
    assert boxes(told) == {"box 1": "0.00", "box 4": "0.00", "box 6": "0.00", "box 7": "1500.00"}
    assert any("stock number 1" in note for note in told.notes)
    answer_all(book, 1, imported=Said.NO)
    assert quarter(book, "2026-02-10").open == ()


def test_what_came_back_in_the_same_quarter_is_in_no_sum(book: Book, enter: Make) -> None:
    enter(Kind.PURCHASE, "2026-01-05", 1500)
    sale = enter(Kind.SALE, "2026-02-10", 2000, stock=1, paper="S1")
    answer_all(book, 1)
    enter(Kind.RETURN, "2026-02-20", 1950, stock=1, against=sale.number)
    told = quarter(book, "2026-02-10")
    assert boxes(told) == {"box 1": "0.00", "box 4": "0.00", "box 6": "0.00", "box 7": "1500.00"}
    assert told.kept_back == pounds(50)
    assert any("£50.00 was not given back" in note for note in told.notes)


def test_what_was_kept_of_a_deposit_is_told_and_not_taxed(book: Book, enter: Make) -> None:
    enter(Kind.PURCHASE, "2026-01-05", 1500)
    paid = enter(Kind.DEPOSIT, "2026-01-20", 200, stock=1)
    enter(Kind.RETURN, "2026-02-20", 150, stock=1, against=paid.number)
    told = quarter(book, "2026-02-10")
    assert (told.kept_back, told.boxes[0].amount) == (pounds(50), pounds(0))


def test_what_came_back_later_is_taken_back_in_that_quarter_and_said(book: Book, enter: Make) -> None:
    enter(Kind.PURCHASE, "2026-01-05", 1500)
    sale = enter(Kind.SALE, "2026-03-10", 2000, stock=1, paper="S1")
    answer_all(book, 1)
    before = quarter(book, "2026-03-10")
    enter(Kind.RETURN, "2026-04-20", 2000, stock=1, against=sale.number)
    assert quarter(book, "2026-03-10") == before
    told = quarter(book, "2026-04-20")
    assert told.undone.on_margins == pounds("83.33")
    assert told.counted.vat == pounds(0)
    (line,) = told.lines
    assert (line.entry, line.taken_back, line.vat, line.net) == (
        sale.number,
        True,
        pounds("-83.33"),
        pounds("-1916.67"),
    )
    assert boxes(told)["box 6"] == "-1916.67"
    assert any("earlier period" in note for note in told.notes)
