"""A firm's book to try things on; people, cars and marks are invented."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from datetime import date, timedelta
from decimal import Decimal
from random import Random
from typing import Any

import pytest

from shutline.ledger import Answer, Book, Draft, Entry, Kind, Money, Party, Said, rules_of, transactions_of

AT = "2026-11-26T12:00:00Z"
IDA = "Ida Quill"
FIRST = date(2025, 1, 1)
SELLER = Party("Tobias Wend", "3 Quillover Lane, Merrowby")
BUYER = Party("Augusta Harbottle", "The Old Forge, Upper Tansley")
FIRM = Party("Halloran & Pike", "Dock Street, Merrowby", "GB 000 0000 00")
NAMED = {
    Kind.PART_IN: {Kind.SALE, Kind.PART_OUT},
    Kind.PART_OUT: {Kind.PURCHASE, Kind.PART_IN},
    Kind.RETURN: {Kind.SALE, Kind.PART_OUT, Kind.DEPOSIT},
    Kind.REVERSAL: set(Kind),
}
"""What entries that name another may name."""
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


def tried_draft(book: Book, random: Random, step: int, *, day: date) -> Draft:
    """Something that somebody may try to enter: it names cars and entries that are there, and often may not be."""
    kind = random.choice([Kind.PURCHASE, Kind.SALE, *Kind])
    stock = 0 if kind in (Kind.PURCHASE, Kind.PART_IN) else random.randint(1, max(1, len(book.cars)))
    against = 0
    if kind in NAMED:
        likely = [one.number for one in book.entries if one.kind in NAMED[kind] or random.random() < 0.1]
        against = random.choice(likely or [1])
    named = book.entry(against)
    amount = Money(Decimal(random.randint(0, random.choice([20, 3_000_000]))) / 100)
    if named is not None and kind in (Kind.REVERSAL, Kind.RETURN):
        stock, amount = named.stock, named.amount if kind is Kind.REVERSAL or random.random() < 0.5 else amount
    made = replace(draft(kind, day.isoformat(), 0, stock=stock, against=against), amount=amount)
    if kind in (Kind.SALE, Kind.PART_OUT):
        used = [one.paper for one in book.entries if one.kind in (Kind.SALE, Kind.PART_OUT)]
        paper = random.choice(used) if used and random.random() < 0.1 else f"S{step}"
        made = replace(made, paper=paper, outside=random.random() < 0.5, what="given")
    if kind in (Kind.COST, Kind.PURCHASE) and random.random() < 0.5 and amount.amount > 1:
        made = replace(made, vat=Money(Decimal(1)), paper="A1", self_billed=False)
    return made


def made_book(random: Random, *, steps: int, days: int) -> Book:
    """Try so many entries, so many days apart, each up to twice as late; then answer what is asked of the cars."""
    book = Book()
    for step in range(steps):
        day = FIRST + timedelta(days=random.randint(step * days, (step + 2) * days))
        made = tried_draft(book, random, step, day=day)
        if not book.problems_of(made, today=date.fromisoformat(AT[:10])):
            book.enter(made, author=IDA, at=AT)
    for car in book.cars:
        for question in rules_of().questions:
            said = random.choice([Said.NO, Said.NO, Said.NO, Said.YES, Said.NOT_KNOWN])
            book.answer(Answer(car.stock, question.id, said, IDA, AT))
    return book
