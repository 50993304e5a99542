"""The papers of the ledger read back by pypdf: what stands on them, what does not, the same bytes each time."""

from __future__ import annotations

import io
import re
from dataclasses import replace
from datetime import date
from decimal import Decimal

import pytest
from pypdf import PdfReader
from pypdfium2 import PdfDocument

from shutline.ledger import (
    Answer,
    Book,
    Draft,
    Invoice,
    InvoiceLine,
    Kind,
    Money,
    Party,
    Said,
    rules_of,
    sales_invoice,
    stock_book,
)
from shutline.publish.book import invoice_pdf, stock_book_pdf

IDA, AT = "Ida Quill", "2026-11-26T12:00:00Z"
FIRM = Party("Halloran & Pike", "2 Tannery Row, Merrowby", "GB 000 0000 00")
BUYER = Party("Augusta Harbottle #[$x$]", "The Old Forge, Upper Tansley")
RULES = rules_of()


def made_book(cars: int = 1, *, said: Said = Said.NO) -> Book:
    book = Book()
    for number in range(1, cars + 1):
        seller = Party("Tobias Wend", "3 Quillover Lane")
        common = {"day": date(2026, 1, 5), "party": seller}
        book.enter(
            Draft(kind=Kind.PURCHASE, amount=Money(Decimal("7654.32")), self_billed=True, what="Corvane", **common),
            author=IDA,
            at=AT,
        )
        book.enter(
            Draft(
                kind=Kind.SALE,
                day=date(2026, 2, 10),
                amount=Money(Decimal(12000)),
                stock=number,
                paper=f"S{number}",
                party=BUYER,
            ),
            author=IDA,
            at=AT,
        )
        for question in RULES.questions:
            book.answer(Answer(number, question.id, said if question.id == "imported" else Said.NO, IDA, AT))
    return book


def words_of(pdf: bytes) -> str:
    return " ".join(" ".join(page.extract_text() for page in PdfReader(io.BytesIO(pdf)).pages).split())


@pytest.fixture
def invoice() -> Invoice:
    book = made_book()
    return sales_invoice(book, book.entries[1], RULES, firm=FIRM)


def test_an_invoice_holds_every_word_and_nothing_of_the_price_paid(invoice: Invoice) -> None:
    words = words_of(invoice_pdf(invoice))
    for part in ("Halloran & Pike", "2 Tannery Row", "GB 000 0000 00", "The Old Forge", "Corvane", "10 February 2026"):
        assert part in words
    for part in ("S1", "Total £12,000.00", "This is a second-hand margin scheme supply."):
        assert part in words
    # Words are data to the typesetter, whatever signs stand in them.
    assert BUYER.name in words
    for planted in ("7,654.32", "7654.32", "4,345.68", "724.28", "Tobias Wend", "Quillover"):
        assert planted not in words


def test_outside_the_scheme_the_invoice_shows_the_tax() -> None:
    book = made_book(said=Said.YES)
    words = words_of(invoice_pdf(sales_invoice(book, book.entries[1], RULES, firm=FIRM)))
    assert "VAT at 20 % £2,000.00" in words
    assert "margin scheme" not in words


def test_the_same_invoice_gives_the_same_bytes_and_is_tagged(invoice: Invoice) -> None:
    pdf = invoice_pdf(invoice)
    reader = PdfReader(io.BytesIO(pdf))
    assert reader.root_object["/MarkInfo"]["/Marked"]
    assert reader.metadata is not None
    assert reader.metadata.title == "Invoice S1"
    assert invoice_pdf(invoice) == pdf


def test_a_deposit_stands_on_the_invoice_with_its_day_in_words(invoice: Invoice) -> None:
    paid = InvoiceLine("Deposit", Money(Decimal(-500)), date(2026, 1, 20))
    assert "Deposit of 20 January 2026 -£500.00" in words_of(invoice_pdf(replace(invoice, settled=(paid,))))
    assert "Deposit of 2026-01-20: -£500.00" in replace(invoice, settled=(paid,)).text()


def test_sums_of_the_stock_book_stand_below_each_other_by_their_pennies() -> None:
    book = made_book(2)
    small, large = (
        replace(one, bought_price=Money(Decimal(price)))
        for one, price in zip(stock_book(book, RULES), ("9.00", "123456.00"), strict=True)
    )
    pdf = stock_book_pdf((small, large), RULES, firm="", made_on=date(2026, 11, 26))
    page = PdfDocument(pdf)[0].get_textpage()
    ends = []
    for price in ("9.00", "123456.00"):
        found = page.search(price, match_whole_word=True).get_next()
        assert found is not None
        ends.append(page.get_charbox(sum(found) - 1)[2])
    assert ends[0] == pytest.approx(ends[1], abs=0.5)


def test_the_stock_book_has_its_columns_on_every_page_and_every_car() -> None:
    lines = stock_book(made_book(60), RULES)
    pdf = stock_book_pdf(lines, RULES, firm=FIRM.name, made_on=date(2026, 11, 26))
    pages = [" ".join(page.extract_text().split()) for page in PdfReader(io.BytesIO(pdf)).pages]
    assert len(pages) > 1
    for page in pages:
        for column in RULES.columns:
            assert column.heading.split()[0] in page
    assert len(re.findall(r"\bS\d+\b", " ".join(pages))) == 60
    assert " ".join(pages).count("724.28") == 60
    assert stock_book_pdf(lines, RULES, firm=FIRM.name, made_on=date(2026, 11, 26)) == pdf


def test_an_empty_book_and_the_german_one_can_be_set() -> None:
    for rules in (RULES, rules_of("de", take_from_memory=True)):
        words = words_of(stock_book_pdf((), rules, firm="", made_on=date(2026, 11, 26)))
        assert rules.columns[-1].heading.split()[0] in words
