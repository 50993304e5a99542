"""How long sums of a ledger of 50,000 entries take, beside a SUM of SQLite over the same entries.

Run: python bench/ledger.py [entries]
"""

from __future__ import annotations

import sqlite3
import statistics
import sys
import tempfile
import time
from collections.abc import Callable
from contextlib import closing
from datetime import date, timedelta
from decimal import Decimal
from pathlib import Path

from sqlalchemy import insert

from shutline.ledger import (
    Answer,
    Book,
    Draft,
    Entry,
    Kind,
    Money,
    Party,
    Rules,
    Said,
    forecourt_of,
    journal_text,
    rules_of,
    stock_book_csv,
    totals_of,
)
from shutline.store import Store, tables
from shutline.usecases.ledger import asked_about, enter_in_ledger, ledger_book, row_of
from shutline.usecases.ledger_shown import shown_entries, shown_forecourt, shown_stock, shown_totals

AT = "2026-11-26T12:00:00Z"
FIRST = date(2019, 1, 1)
PARTY = Party("Augusta Harbottle", "The Old Forge, Upper Tansley")
TODAY = date(2026, 11, 26)
MORE = Draft(
    kind=Kind.PURCHASE, day=TODAY, amount=Money(Decimal(1500)), party=PARTY, self_billed=True, what="Corvane Ninety"
)
COST = Draft(kind=Kind.COST, day=TODAY, amount=Money(Decimal(120)), stock=4000, party=PARTY, what="sills")


def main() -> None:
    """Make the ledger, sum it by both, and print times in milliseconds."""
    count = int(sys.argv[1]) if len(sys.argv) > 1 else 50_000
    rules = rules_of()
    entered = time.process_time()
    book = made_book(count, rules)
    entered = time.process_time() - entered
    entries, answers = book.entries, tuple(book.answers)
    start, end = date(2020, 1, 1), date(2020, 3, 31)
    told = totals_of(book, rules, start=start, end=end)
    with closing(table_of(entries)) as table:
        peer = timed(lambda: summed(table, start, end))
        cars = summed(table, start, end)["cars"]
    if cars != int(told.counted.cars.amount * 100):
        raise SystemExit(f"the two do not agree: {cars} pence and {told.counted.cars.told()}")
    rows = {
        "sums of a quarter": timed(lambda: totals_of(book, rules, start=start, end=end)),
        "sums of all eight years": timed(lambda: totals_of(book, rules, start=FIRST, end=TODAY)),
        "the book made of kept entries": timed(lambda: Book(entries, answers), times=5),
        "forecourt": timed(lambda: forecourt_of(book, rules, day=TODAY), times=5),
        "stock book as CSV": timed(lambda: stock_book_csv(book, rules), times=5),
        "journal": timed(lambda: journal_text(book, rules), times=3),
    }
    with tempfile.TemporaryDirectory() as folder, Store.open(Path(folder) / "store") as store:
        keep(store, entries, answers)
        if shown_totals(store, start=start, end=end) != told:
            raise SystemExit("the sums of a quarter from the store are others than those of the book")
        rows["sums of a quarter, from the store"] = timed(lambda: shown_totals(store, start=start, end=end))
        rows["one more purchase"] = timed(lambda: enter_in_ledger(store, MORE, author="Ida Quill"))
        rows["one more cost"] = timed(lambda: enter_in_ledger(store, COST, author="Ida Quill"))
        rows["what is asked of a car"] = timed(lambda: asked_about(store, 4000))
        rows["entries of a car"] = timed(lambda: shown_entries(store, stock=4000))
        rows["the whole book, from the store"] = timed(lambda: ledger_book(store), times=3)
        rows["stock book, from the store"] = timed(lambda: shown_stock(store), times=3)
        rows["forecourt, from the store"] = timed(lambda: shown_forecourt(store), times=3)
    print(f"{len(entries):,} entries, {len(book.cars):,} cars; entered with all checks in {entered:.1f} s")
    print(f"SQLite, SUM and GROUP BY of a quarter: {peer:.1f} ms (pence of purchases agree)")
    for what, took in rows.items():
        print(f"{what}: {took:.1f} ms, {took / peer:.1f} times SQLite's sum")


def made_book(count: int, rules: Rules) -> Book:
    """Enter cars one after the other: bought, three costs, a deposit, sold; every tenth comes back and goes again."""
    book = Book()
    number = 0
    while len(book.entries) < count:
        number += 1
        day = FIRST + timedelta(days=number % 2800)
        price = Decimal(1000 + number * 37 % 20_000)

        def enter(
            kind: Kind, amount: Decimal, after: int, *, day: date = day, number: int = number, **more: object
        ) -> Entry:
            stock = 0 if kind is Kind.PURCHASE else number
            fields = {"party": PARTY, "what": "Corvane Ninety", "stock": stock, **more}
            draft = Draft(kind=kind, day=day + timedelta(days=after), amount=Money(amount), **fields)  # type: ignore[arg-type]
            return book.enter(draft, author="Ida Quill", at=AT)

        enter(Kind.PURCHASE, price, 0, self_billed=True)
        for after in (3, 9, 12):
            enter(Kind.COST, Decimal(120), after, vat=Money(Decimal(20)))
        enter(Kind.DEPOSIT, Decimal(100), 15)
        sale = enter(Kind.SALE, price + number % 900, 20, paper=f"S{number}", what="")
        if number % 10 == 0:
            enter(Kind.RETURN, sale.amount.amount, 40, against=sale.number)
            enter(Kind.SALE, price + 100, 60, paper=f"S{number}b", what="")
        for question in rules.questions:
            if not question.after:
                book.answer(Answer(number, question.id, Said.NO, "Ida Quill", AT))
    return book


def keep(store: Store, entries: tuple[Entry, ...], answers: tuple[Answer, ...]) -> None:
    """Put all entries and answers into a store at once."""
    rows = [{**row_of(one), "created_at": one.at, "created_by": one.author} for one in entries]
    for row in rows:
        del row["car"]
    with store._db.write() as connection:
        connection.execute(insert(tables.ledger_entry), rows)
        connection.execute(insert(tables.ledger_answer), [answer_row(one) for one in answers])


def answer_row(one: Answer) -> dict[str, object]:
    """Give the values of an answer as the store keeps them."""
    words = {"stock": one.stock, "question": one.question, "said": one.said.value, "note": one.note}
    return {**words, "created_at": one.at, "created_by": one.author}


def table_of(entries: tuple[Entry, ...]) -> sqlite3.Connection:
    """Put the entries into a table with indexes on their days and cars."""
    table = sqlite3.connect(":memory:")
    table.execute("CREATE TABLE entry (number INTEGER PRIMARY KEY, kind TEXT, day TEXT, stock INTEGER, pence INTEGER)")
    rows = (
        (one.number, one.kind.value, one.day.isoformat(), one.stock, int(one.amount.amount * 100)) for one in entries
    )
    table.executemany("INSERT INTO entry VALUES (?, ?, ?, ?, ?)", rows)
    table.execute("CREATE INDEX by_day ON entry (day)")
    table.execute("CREATE INDEX by_stock ON entry (stock)")
    return table


def summed(table: sqlite3.Connection, start: date, end: date) -> dict[str, int]:
    """Give the pence of purchases of a period, and of the tax of its sales, by SQL."""
    query = """
        SELECT sum(CASE sale.kind WHEN 'purchase' THEN sale.pence ELSE 0 END),
               sum(CASE sale.kind WHEN 'sale' THEN max(0, sale.pence - bought.pence) / 6 ELSE 0 END)
        FROM entry AS sale JOIN entry AS bought ON bought.stock = sale.stock AND bought.kind = 'purchase'
        WHERE sale.day BETWEEN ? AND ? AND sale.kind IN ('purchase', 'sale')
    """
    cars, tax = table.execute(query, (start.isoformat(), end.isoformat())).fetchone()
    return {"cars": cars, "tax": tax}


def timed(work: Callable[[], object], *, times: int = 15) -> float:
    """Give the median processor time of some work, milliseconds: what others do beside it is left out."""
    took = []
    for _ in range(times):
        start = time.process_time()
        work()
        took.append((time.process_time() - start) * 1000)
    return statistics.median(took)


if __name__ == "__main__":
    main()
