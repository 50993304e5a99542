"""Days in stock, money tied up, and what each car made after everything."""

from __future__ import annotations

from datetime import date

from tests.ledger.conftest import Make, answer_all, pounds

from shutline.ledger import Book, Kind, Said, forecourt_of, rules_of

RULES = rules_of()


def test_money_tied_up_is_what_was_paid_and_spent_without_tax_that_comes_back(book: Book, enter: Make) -> None:
    enter(Kind.PURCHASE, "2026-01-05", 12000, paper="A1", vat=pounds(2000), car="corvane-ninety")
    enter(Kind.COST, "2026-01-06", 600, stock=1, vat=pounds(100))
    enter(Kind.COST, "2026-01-07", 50, stock=1)
    enter(Kind.COST, "2026-03-07", 70, stock=1)
    enter(Kind.DEPOSIT, "2026-01-20", 200, stock=1)
    enter(Kind.PURCHASE, "2025-12-05", 900)
    told = forecourt_of(book, RULES, day=date(2026, 2, 4), holding_a_day=pounds("4.55"))
    old, new = told.standing
    assert (old.stock, old.days, new.days) == (2, 61, 30)
    assert (new.costs, new.tied_up, new.deposits, new.holding) == tuple(map(pounds, ("550", "10550", "200", "136.50")))
    assert (new.car, told.tied_up) == ("corvane-ninety", pounds(11450))


def test_profit_is_after_purchase_costs_tax_and_holding_and_for_each_day(book: Book, enter: Make) -> None:
    enter(Kind.PURCHASE, "2026-01-01", 1500)
    enter(Kind.COST, "2026-01-06", 120, stock=1, vat=pounds(20))
    enter(Kind.SALE, "2026-01-31", 2000, stock=1, paper="S1")
    answer_all(book, 1)
    told = forecourt_of(book, RULES, day=date(2026, 2, 4), holding_a_day=pounds(1))
    (made,) = told.made
    # 2,000 - 1,500 - 100 - 83.33 - 30 of holding; over 30 days.
    assert (made.profit, made.a_day, made.days) == (pounds("286.67"), pounds("9.56"), 30)
    assert (told.profit, told.unknown, told.standing) == (pounds("286.67"), 0, ())
    before = forecourt_of(book, RULES, day=date(2026, 1, 30))
    assert (len(before.standing), before.made) == (1, ())


def test_where_the_tax_is_not_known_the_profit_lies_between_two(book: Book, enter: Make) -> None:
    enter(Kind.PURCHASE, "2026-01-01", 1500)
    enter(Kind.SALE, "2026-01-01", 2400, stock=1, paper="S1")
    answer_all(book, 1, new=Said.NOT_KNOWN)
    told = forecourt_of(book, RULES, day=date(2026, 2, 4))
    (made,) = told.made
    assert (made.profit, made.a_day, made.least, made.most) == (None, None, pounds(500), pounds(750))
    assert (told.profit, told.unknown) == (pounds(0), 1)


def test_what_was_kept_of_a_sale_that_came_back_counts_for_the_car(book: Book, enter: Make) -> None:
    enter(Kind.PURCHASE, "2026-01-01", 1500)
    sale = enter(Kind.SALE, "2026-01-11", 2000, stock=1, paper="S1")
    enter(Kind.RETURN, "2026-01-21", 1940, stock=1, against=sale.number)
    enter(Kind.SALE, "2026-01-31", 1800, stock=1, paper="S2")
    answer_all(book, 1)
    (made,) = forecourt_of(book, RULES, day=date(2026, 2, 4)).made
    assert (made.kept_back, made.profit) == (pounds(60), pounds(310))
    # Ten days here, ten with the buyer, ten here.
    assert made.days == 20
    for day, days in ((1, [0]), (10, [9]), (11, []), (20, []), (21, [10]), (30, [19]), (31, [])):
        assert [one.days for one in forecourt_of(book, RULES, day=date(2026, 1, day)).standing] == days


def test_what_is_dated_after_the_day_is_left_out_of_what_was_made_until_then(book: Book, enter: Make) -> None:
    enter(Kind.PURCHASE, "2026-01-01", 1500)
    enter(Kind.SALE, "2026-01-11", 2000, stock=1, paper="S1")
    enter(Kind.COST, "2026-02-11", 60, stock=1)
    answer_all(book, 1)
    before, after = (forecourt_of(book, RULES, day=date(2026, month, 20)).made[0] for month in (1, 2))
    # 500 less the tax of a sixth, gov.uk's own example.
    assert (before.profit, after.profit) == (pounds("416.67"), pounds("356.67"))
