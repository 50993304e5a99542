"""The stock book in the revenue's columns, how long a record is kept, and the CSV of both."""

from __future__ import annotations

import csv
import io
from datetime import date

import pytest
from tests.ledger.conftest import Make, answer_all, pounds

from shutline.ledger import Book, Kind, Said, State, entries_csv, rules_of, stock_book, stock_book_csv
from shutline.ledger.stock import years_after

RULES = rules_of()


def read(text: str) -> list[list[str]]:
    return list(csv.reader(io.StringIO(text)))


def test_the_six_and_six_columns_are_those_the_revenue_asks_for(book: Book, enter: Make) -> None:
    # gov.uk/vat-margin-schemes/keeping-records, as check values section 8 gives it.
    enter(Kind.PURCHASE, "2026-01-05", 1500, paper="A-17")
    enter(Kind.SALE, "2026-02-10", 2000, stock=1, paper="S1")
    enter(Kind.PURCHASE, "2026-02-11", 900)
    answer_all(book, 1)
    head, sold, unsold = read(stock_book_csv(book, RULES))
    assert head[:6] == [
        "Stock number",
        "Date of purchase",
        "Purchase invoice number",
        "Purchase price",
        "Name of seller",
        "Description and registration mark",
    ]
    assert head[6:12] == [
        "Date of sale",
        "Sales invoice number",
        "Selling price or how it went",
        "Name of buyer",
        "Margin on sale",
        "VAT due",
    ]
    assert sold[:6] == ["1", "2026-01-05", "A-17", "1500.00", "Tobias Wend", "Corvane Ninety, FGY 412H"]
    assert sold[6:12] == ["2026-02-10", "S1", "2000.00", "Augusta Harbottle", "500.00", "83.33"]
    assert unsold[2] == "made out by us"
    assert unsold[6:12] == [""] * 6


def test_a_loss_a_car_that_went_for_nothing_and_one_that_is_not_known_are_told(book: Book, enter: Make) -> None:
    for number, (price, more) in enumerate([("1200", {}), ("0", {"what": "scrapped"}), ("2000", {})], 1):
        enter(Kind.PURCHASE, "2026-01-05", 1500)
        enter(Kind.SALE, "2026-02-10", price, stock=number, paper=f"S{number}", **more)
        answer_all(book, number, imported=Said.NOT_KNOWN if number == 3 else Said.NO)
    _, loss, scrapped, unknown = read(stock_book_csv(book, RULES))
    assert loss[10:12] == ["-300.00", "0.00"]
    assert scrapped[8:12] == ["scrapped", "Augusta Harbottle", "-1500.00", "0.00"]
    assert unknown[10:12] == ["500.00", "not known"]


def test_a_purchase_that_was_reversed_keeps_its_line_and_its_number(book: Book, enter: Make) -> None:
    bought = enter(Kind.PURCHASE, "2026-01-05", 1500)
    enter(Kind.REVERSAL, "2026-01-06", 1500, stock=1, against=bought.number)
    enter(Kind.PURCHASE, "2026-01-07", 1600)
    _, first, second = read(stock_book_csv(book, RULES))
    assert first == [
        "1",
        "",
        "",
        "",
        "",
        "Corvane Ninety, FGY 412H",
        *[""] * 6,
        "reversed by entry 2, 2026-01-06: entered twice",
    ]
    assert second[0] == "2"
    assert stock_book(book, RULES)[0].state is State.REVERSED


def test_a_sale_that_came_back_is_told_beside_the_next(book: Book, enter: Make) -> None:
    enter(Kind.PURCHASE, "2026-01-05", 1500)
    sale = enter(Kind.SALE, "2026-02-10", 2000, stock=1, paper="S1")
    enter(Kind.RETURN, "2026-02-20", 2000, stock=1, against=sale.number)
    enter(Kind.SALE, "2026-03-10", 1900, stock=1, paper="S2")
    answer_all(book, 1)
    (line,) = stock_book(book, RULES)
    assert (line.sold_paper, line.vat) == ("S2", pounds("66.67"))
    assert line.notes == ("sold on 2026-02-10, invoice S1; came back on 2026-02-20: rejected: gearbox",)


@pytest.mark.parametrize(("imported", "by_choice"), [(Said.YES, False), (Said.NO, True), (Said.NO, False)])
def test_the_book_says_where_what_is_due_does_not_come_of_the_margin(
    book: Book, enter: Make, *, imported: Said, by_choice: bool
) -> None:
    enter(Kind.PURCHASE, "2026-01-05", 1500)
    enter(Kind.SALE, "2026-02-10", 2000, stock=1, paper="S1", outside=by_choice)
    answer_all(book, 1, imported=imported)
    (line,) = stock_book(book, RULES)
    outside = by_choice or imported is Said.YES
    # A sixth of 2,000, or of the margin of 500 (gov.uk's own example).
    assert line.vat == (pounds("333.33") if outside else pounds("83.33"))
    why = "by choice" if by_choice else "as it is not eligible"
    assert line.notes == ((f"sold outside the scheme {why}: VAT is on the full price",) if outside else ())


def test_records_are_kept_six_years_and_of_an_unsold_car_until_it_is_sold(book: Book, enter: Make) -> None:
    # gov.uk/vat-margin-schemes/keeping-records: six years; stock that is unsold, until it is sold.
    enter(Kind.PURCHASE, "2015-01-05", 1500)
    assert stock_book(book, RULES)[0].keep_until is None
    enter(Kind.SALE, "2024-02-29", 2000, stock=1, paper="S1")
    assert stock_book(book, RULES)[0].keep_until == date(2030, 3, 1)
    assert years_after(date(2026, 3, 31), 6) == date(2032, 3, 31)


def test_the_german_book_has_its_own_columns(book: Book, enter: Make) -> None:
    rules = rules_of("de", take_from_memory=True)
    assert [one.heading for one in rules.columns if one.side == "sale"][-2:] == ["Bemessungsgrundlage", "Umsatzsteuer"]
    enter(Kind.PURCHASE, "2026-01-05", 10000)
    enter(Kind.SALE, "2026-02-10", 12380, stock=1, paper="R1")
    for question in rules.questions:
        from shutline.ledger import Answer

        book.answer(Answer(1, question.id, Said.NO, "Ida Quill", "2026-11-26T12:00:00Z"))
    # infoportal-buchhaltung.com: the base is the difference without the tax; 2,380 less 380.
    _, line = read(stock_book_csv(book, rules))
    assert line[8:10] == ["2000.00", "380.00"]


def test_words_are_no_formula_in_a_spreadsheet_and_amounts_stay_numbers(book: Book, enter: Make) -> None:
    enter(Kind.PURCHASE, "2026-01-05", 1500, what="=HYPERLINK(1)")
    enter(Kind.SALE, "2026-01-06", 1000, stock=1, paper="-1+1")
    answer_all(book, 1)
    _, line = read(stock_book_csv(book, RULES))
    assert (line[5], line[7], line[10]) == ("'=HYPERLINK(1)", "'-1+1", "-500.00")
    _, bought, _ = read(entries_csv(book))
    assert bought[11] == "'=HYPERLINK(1)"


def test_all_entries_go_out_in_their_order_with_what_reversed_them(book: Book, enter: Make) -> None:
    bought = enter(Kind.PURCHASE, "2026-01-05", 1500)
    enter(Kind.REVERSAL, "2026-01-06", 1500, stock=1, against=bought.number)
    head, first, second = (dict(enumerate(row)) for row in read(entries_csv(book)))
    at = {name: number for number, name in head.items()}
    assert (first[at["number"]], first[at["reversed_by"]], first[at["amount"]]) == ("1", "2", "1500.00")
    assert (second[at["kind"]], second[at["against"]], second[at["author"]]) == ("reversal", "1", "Ida Quill")
