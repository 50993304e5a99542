"""A firm's book to try things on; people, cars and marks are invented."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from datetime import date
from decimal import Decimal
from typing import Any

import pytest

from shutline.ledger import Answer, Book, Draft, Entry, Kind, Money, Party, Said, rules_of, transactions_of

AT = "2026-11-26T12:00:00Z"
IDA = "Ida Quill"
SELLER = Party("Tobias Wend", "3 Quillover Lane, Merrowby")
BUYER = Party("Augusta Harbottle", "The Old Forge, Upper Tansley")
FIRM = Party("Halloran & Pike", "Dock Street, Merrowby", "GB 000 0000 00")
Make = Callable[..., Entry]


def pounds(text: str | int) -> Money:
    return Money.of(str(text))


def draft(kind: Kind, day: str, amount: str | int, **more: Any) -> Draft:
    usual: dict[Kind, dict[str, Any]] = {
        Kind.PURCHASE: {"party": SELLER, "self_billed": True, "what": "Corvane Ninety, FGY 412H"},
        Kind.PART_IN: {"party": BUYER, "self_billed": True, "what": "Calder Merlin, OLD 1"},
        Kind.COST: {"party": Party("Tansley Welding Ltd"), "what": "sills"},
        Kind.DEPOSIT: {"party": BUYER},
        Kind.SALE: {"party": BUYER},
        Kind.PART_OUT: {"party": SELLER},
        Kind.RETURN: {"what": "rejected: gearbox"},
        Kind.REVERSAL: {"what": "entered twice"},
    }
    made = Draft(kind=kind, day=date.fromisoformat(day), amount=pounds(amount))
    fields = {**usual[kind], **more}
    if fields.get("paper"):
        fields["self_billed"] = False
    return replace(made, **fields)


@pytest.fixture
def book() -> Book:
    return Book()


@pytest.fixture
def enter(book: Book) -> Make:
    def make(kind: Kind, day: str, amount: str | int, **more: Any) -> Entry:
        return book.enter(draft(kind, day, amount, **more), author=IDA, at=AT)

    return make


def balances(book: Book) -> dict[str, Decimal]:
    """Give what stands on each account of the journal after all transactions."""
    found: dict[str, Decimal] = {}
    for one in transactions_of(book, rules_of()):
        for posting in one.postings:
            found[posting.account] = found.get(posting.account, Decimal(0)) + posting.amount
    return found


def answer_all(book: Book, stock: int, **said: Said) -> None:
    """Answer every question so that the car is eligible, but for those that are given."""
    for question in rules_of().questions:
        wanted = Said.YES if question.bars is Said.NO else Said.NO
        book.answer(Answer(stock, question.id, said.get(question.id.replace("-", "_"), wanted), IDA, AT))
