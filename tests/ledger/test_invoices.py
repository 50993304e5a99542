"""Invoices of both sides: the words they need, none that they may not have, and nothing of the other price."""

from __future__ import annotations

import pytest
from tests.ledger.conftest import BUYER, FIRM, SELLER, Make, answer_all, pounds

from shutline.car.errors import BadInputError
from shutline.ledger import Book, Entry, Kind, Party, Said, check_invoice, purchase_invoice, rules_of, sales_invoice

RULES = rules_of()


@pytest.fixture
def sale(book: Book, enter: Make) -> Entry:
    enter(Kind.PURCHASE, "2026-01-05", "7654.32")
    enter(Kind.COST, "2026-01-06", "1357.90", stock=1)
    enter(Kind.DEPOSIT, "2026-01-20", 200, stock=1)
    made = enter(Kind.SALE, "2026-02-10", 12000, stock=1, paper="S1")
    enter(Kind.PART_IN, "2026-02-10", 3000, against=made.number)
    return made


def test_a_sales_invoice_of_the_scheme_has_what_is_asked_for_and_shows_no_tax(book: Book, sale: Entry) -> None:
    answer_all(book, 1)
    made = sales_invoice(book, sale, RULES, firm=FIRM)
    assert (made.total, made.tax, made.number, made.stock) == (pounds(12000), None, "S1", 1)
    assert (made.seller, made.buyer) == (FIRM, BUYER)
    assert made.to_pay == pounds(8800)
    text = made.text()
    for part in (FIRM.name, FIRM.address, BUYER.name, BUYER.address, "S1", "2026-02-10", "FGY 412H", "£12,000.00"):
        assert part in text
    assert "This is a second-hand margin scheme supply." in text
    assert check_invoice(text, RULES, side="sale") == ()


def test_nothing_the_firm_paid_or_made_stands_on_what_the_buyer_gets(book: Book, sale: Entry) -> None:
    for said in (Said.NO, Said.YES):
        answer_all(book, 1, imported=said)
        text = sales_invoice(book, sale, RULES, firm=FIRM).text()
        # Purchase, cost, margin, and the tax on the margin; the seller.
        for planted in ("7,654.32", "7654.32", "1,357.90", "4,345.68", "724.28", SELLER.name, SELLER.address):
            assert planted not in text


def test_outside_the_scheme_the_tax_is_shown_and_the_words_of_the_scheme_are_not(book: Book, sale: Entry) -> None:
    answer_all(book, 1, imported=Said.YES)
    made = sales_invoice(book, sale, RULES, firm=FIRM)
    assert made.tax is not None
    assert (made.lines[0].amount, made.tax.text, made.tax.amount) == (pounds(10000), "VAT at 20 %", pounds(2000))
    assert "margin scheme" not in made.text()
    assert len(check_invoice(made.text(), RULES, side="sale")) == 2


def test_without_answers_or_addresses_there_is_no_invoice(book: Book, enter: Make, sale: Entry) -> None:
    with pytest.raises(BadInputError) as caught:
        sales_invoice(book, sale, RULES, firm=FIRM)
    assert "not known whether" in caught.value.problem.found
    answer_all(book, 1)
    with pytest.raises(BadInputError) as caught:
        sales_invoice(book, sale, RULES, firm=Party("Halloran & Pike"))
    assert caught.value.problem.found == "no address of the firm"
    assert caught.value.problem.advice.startswith("Set the house")
    cost = book.entry(2)
    assert cost is not None
    for other in (cost, book.entries[0]):
        with pytest.raises(BadInputError):
            sales_invoice(book, other, RULES, firm=FIRM)


def test_a_purchase_invoice_is_made_out_for_a_private_seller_alone(book: Book, enter: Make) -> None:
    ours = enter(Kind.PURCHASE, "2026-01-05", 1500)
    made = purchase_invoice(book, ours, RULES, firm=FIRM)
    assert (made.seller, made.buyer, made.number, made.to_pay) == (SELLER, FIRM, "P00001", pounds(1500))
    assert check_invoice(made.text(), RULES, side="purchase") == ()
    nowhere = enter(Kind.PURCHASE, "2026-01-05", 1500, party=Party("Tobias Wend"))
    with pytest.raises(BadInputError, match=r"no address of the seller.*reverse it"):
        purchase_invoice(book, nowhere, RULES, firm=FIRM)
    theirs = enter(Kind.PURCHASE, "2026-01-05", 1500, paper="A1")
    with pytest.raises(BadInputError):
        purchase_invoice(book, theirs, RULES, firm=FIRM)


def test_the_invoice_of_a_car_taken_in_is_settled_by_the_other(book: Book, sale: Entry) -> None:
    made = purchase_invoice(book, book.entries[-1], RULES, firm=FIRM)
    assert (made.total, made.to_pay) == (pounds(3000), pounds(0))


@pytest.mark.parametrize(
    ("words", "wrong"),
    [
        ("Margin scheme - second hand goods. Total £2,000.00", 0),
        ("second hand margin scheme supply. VAT £83.33", 1),
        ("second-hand margin scheme supply, price incl. 20 % VAT", 1),
        ("second-hand margin scheme supply. VAT registration number GB 123 4567 89", 0),
        ("second-hand margin scheme supply. £1,500 plus VAT", 1),
        ("One car, £2,000.00", 1),
        ("", 1),
    ],
)
def test_words_of_an_invoice_are_held_against_what_is_needed_and_forbidden(words: str, wrong: int) -> None:
    assert len(check_invoice(words, RULES, side="sale")) == wrong


def test_the_german_words_are_those_of_its_law() -> None:
    rules = rules_of("de", take_from_memory=True)
    assert check_invoice("Gebrauchtgegenstände / Sonderregelung. 2.000,00 €", rules, side="sale") == ()
    assert len(check_invoice("Ein Fahrzeug, inkl. MwSt.", rules, side="sale")) == 2
