"""The journal is read by a program of accountants without complaint, and its sums there are ours."""

from __future__ import annotations

from decimal import Decimal

from beancount import loader
from beancount.core import data, realization
from hypothesis import given, settings
from tests.ledger.conftest import Make, answer_all, balances, pounds
from tests.ledger.test_properties import books

from shutline.ledger import Book, Kind, Party, journal_text, rules_of

RULES = rules_of()


def read(text: str) -> tuple[list[data.Transaction], dict[str, Decimal]]:
    """Read a journal with Beancount, which refuses what does not balance; its transactions and balances."""
    entries, errors, _ = loader.load_string(text)
    assert errors == [], errors[:3]
    found = {}
    for account in realization.iter_children(realization.realize(entries)):
        found[account.account] = account.balance.get_currency_units("GBP").number
    return [one for one in entries if isinstance(one, data.Transaction)], found


def test_every_kind_of_entry_is_read_back_with_our_sums(book: Book, enter: Make) -> None:
    bought = enter(Kind.PURCHASE, "2026-01-05", 8500)
    enter(Kind.COST, "2026-01-06", 600, stock=1, vat=pounds(100), party=Party('Tansley "Welding" \\ Ltd'))
    enter(Kind.DEPOSIT, "2026-01-20", 500, stock=1)
    sale = enter(Kind.SALE, "2026-02-10", 12000, stock=1, paper="S1")
    taken = enter(Kind.PART_IN, "2026-02-10", 3000, against=sale.number)
    other = enter(Kind.PURCHASE, "2026-02-12", 20000, paper="A1", vat=pounds("3333.33"))
    enter(Kind.PART_OUT, "2026-02-12", 2800, stock=2, paper="S2", against=other.number)
    enter(Kind.RETURN, "2026-02-20", 11900, stock=1, against=sale.number)
    wrong = enter(Kind.COST, "2026-02-21", 40, stock=1)
    enter(Kind.REVERSAL, "2026-02-22", 40, stock=1, against=wrong.number)
    for stock in (1, 2, 3):
        answer_all(book, stock)
    entries, found = read(journal_text(book, RULES))
    assert len(entries) == len(book.entries)
    assert found["Assets:Bank"] == 500
    # 12,000 with 500 paid, less 3,000 taken in, less 11,900 given back.
    assert found["Assets:Owed-By-Buyers"] == -3400
    assert found["Liabilities:VAT-Owed"] == 0
    assert found["Assets:VAT-To-Reclaim"] == Decimal("3433.33")
    assert found["Liabilities:Owed-To-Sellers"] == -8500 - 20000 + 2800
    assert found["Income:Kept-Of-Returns"] == -100
    assert found["Assets:Stock:00001"] == bought.amount.amount
    assert (taken.stock, found["Assets:Stock:00002"], found["Expenses:Preparation"]) == (2, 0, 500)
    assert entries[1].payee == 'Tansley "Welding" \\ Ltd'


def test_what_is_not_known_is_flagged_as_incomplete(book: Book, enter: Make) -> None:
    enter(Kind.PURCHASE, "2026-01-05", 1500)
    enter(Kind.SALE, "2026-02-10", 2000, stock=1, paper="S1")
    entries, found = read(journal_text(book, RULES))
    assert [one.flag for one in entries] == ["*", "!"]
    assert found["Income:Cars-Sold"] == -2000


@settings(max_examples=25)
@given(books())
def test_whatever_is_entered_is_read_back_with_our_sums(book: Book) -> None:
    _, found = read(journal_text(book, RULES))
    for account, amount in balances(book).items():
        assert found.get(account, Decimal(0)) == amount
