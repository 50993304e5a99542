"""The ledger in the store: added row by row, numbers once each, and no way to change or take away a row."""

from __future__ import annotations

from typing import Any

import pytest
from sqlalchemy import insert

from shutline.car.errors import BrokenWorldError, NotFoundError, UserError
from shutline.store import Store, tables
from shutline.store.ledger import KeptLedger, Ledgers, Wanted

IDA = "Ida Quill"
ENTRY: dict[str, Any] = {
    "number": 1,
    "kind": "purchase",
    "day": "2026-01-05",
    "stock": 1,
    "currency": "GBP",
    "amount": "1500.00",
    "vat": None,
    "rate": None,
    "party": "Tobias\x00Wend",
    "address": "",
    "vat_number": "",
    "paper": "A\ud8001",
    "what": "a car",
    "self_billed": True,
    "against": 0,
    "outside": False,
    "car": "",
}


def add(store: Store, **more: object) -> dict[str, Any]:
    def make(kept: KeptLedger, at: str) -> dict[str, Any]:
        return {**ENTRY, "number": kept.last_entry + 1, **more}

    return store.add_ledger_entry(make, about=Wanted(), author=IDA)


def test_entries_come_back_as_they_were_with_who_and_when(store: Store) -> None:
    add(store)
    (kept,) = store.ledger().entries
    assert dict(kept) == {**ENTRY, "created_at": "2026-03-01T09:00:01.000Z", "created_by": IDA}


def test_whoever_enters_sees_the_car_how_far_the_ledger_goes_and_the_time_that_is_kept(store: Store) -> None:
    seen: list[tuple[list[int], int, int, str]] = []

    def make(kept: KeptLedger, at: str) -> dict[str, Any]:
        seen.append(([one["number"] for one in kept.entries], kept.last_entry, kept.last_stock, at))
        return {**ENTRY, "number": kept.last_entry + 1, "stock": kept.last_entry % 2 + 1}

    for _ in range(3):
        store.add_ledger_entry(make, about=Wanted(stock=1), author=IDA)
    kept = store.ledger()
    assert [(one["number"], one["stock"]) for one in kept.entries] == [(1, 1), (2, 2), (3, 1)]
    assert (kept.count, kept.last_entry, kept.last_stock, kept.currency) == (3, 3, 2, "GBP")
    times = [one["created_at"] for one in kept.entries]
    assert seen == [([], 0, 0, times[0]), ([1], 1, 1, times[1]), ([1], 2, 2, times[2])]


def test_pages_are_those_of_the_cars_that_are_wanted_and_of_those_given_or_taken_for_them(store: Store) -> None:
    for stock, day, paper in ((1, "2026-01-05", "A1"), (2, "2026-01-06", "A2"), (3, "2026-02-01", "A3")):
        add(store, stock=stock, day=day, paper=paper)
    add(store, kind="sale", stock=1, day="2026-03-01", paper="S1")
    add(store, kind="part-exchange-in", stock=4, day="2026-03-01", paper="A4", against=4)
    add(store, kind="cost", stock=4, day="2026-05-01", paper="")
    for stock in (1, 4):
        values = {"stock": stock, "question": "imported", "said": "no", "note": ""}
        store.add_ledger_answer(lambda *_, values=values: values, about=Wanted(), author=IDA)

    def pages(**wanted: Any) -> tuple[list[int], list[int]]:
        kept = store.ledger_pages(Wanted(**wanted))
        assert (kept.count, kept.last_entry, kept.last_stock, kept.currency) == (6, 6, 4, "GBP")
        return [one["number"] for one in kept.entries], [one["stock"] for one in kept.answers]

    assert pages() == ([], [])
    assert pages(days=("2026-01-06", "2026-02-01")) == ([2, 3], [])
    assert pages(days=("2026-05-01", "2026-05-31")) == ([5, 6], [4])
    assert pages(stock=1) == pages(entry=4) == pages(stock=4) == ([1, 4, 5, 6], [1, 4])
    assert pages(stock=2, paper="S1") == ([1, 2, 4], [1])
    assert pages(stock=9, entry=99, paper="S9") == ([], [])


def test_what_is_refused_leaves_the_ledger_as_it_was(store: Store) -> None:
    add(store)
    before = store.ledger()

    def refuse(kept: KeptLedger, at: str) -> dict[str, Any]:
        raise ValueError

    for wrong in (
        lambda: store.add_ledger_entry(refuse, about=Wanted(), author=IDA),
        lambda: store.add_ledger_answer(refuse, about=Wanted(), author=IDA),
    ):
        with pytest.raises(ValueError):  # noqa: PT011 - whatever is raised goes through
            wrong()
    with pytest.raises(BrokenWorldError):
        add(store, number=1)
    with pytest.raises(NotFoundError) as caught:
        add(store, car="nowhere")
    assert caught.value.problem.slug == "car-unknown"
    for author in ("", "program"):
        with pytest.raises(UserError):
            store.add_ledger_entry(lambda *_: ENTRY, about=Wanted(), author=author)
    assert store.ledger() == before


def test_answers_are_all_kept_in_their_order(store: Store) -> None:
    for said in ("not known", "no"):
        store.add_ledger_answer(
            lambda *_, said=said: {"stock": 1, "question": "imported", "said": said, "note": ""},
            about=Wanted(),
            author=IDA,
        )
    kept = store.ledger().answers
    assert [(one["said"], one["created_by"]) for one in kept] == [("not known", IDA), ("no", IDA)]


def test_the_car_of_an_entry_is_told_by_the_name_it_is_shown_under(store: Store) -> None:
    store.create_car("corvane-ninety")
    store.create_car("corvane-again")
    add(store, car="corvane-again")
    store.join_cars("corvane-ninety", "corvane-again", author=IDA)
    assert [one["car"] for one in store.ledger().entries] == ["corvane-ninety"]


def test_the_entries_of_a_car_are_those_of_its_stock_numbers(store: Store) -> None:
    for car in ("corvane-ninety", "corvane-again", "calder-merlin"):
        store.create_car(car)
    add(store, car="corvane-ninety")
    add(store, car="calder-merlin", stock=2)
    add(store, kind="cost", stock=1)
    add(store, car="corvane-again", stock=3)
    assert [one["number"] for one in store.ledger_of("corvane-ninety")] == [1, 3]
    store.join_cars("corvane-ninety", "corvane-again", author=IDA)
    assert [one["number"] for one in store.ledger_of("corvane-again")] == [1, 3, 4]


def test_nothing_in_the_store_changes_or_takes_away_a_row_of_the_ledger(store: Store) -> None:
    public = {name for name in vars(Ledgers) if not name.startswith("_")}
    assert public == {"ledger", "ledger_of", "ledger_pages", "add_ledger_entry", "add_ledger_answer"}
    with store._db.write() as connection:
        values = {**ENTRY, "created_at": "", "created_by": "", "number": 0}
        del values["car"]
        with pytest.raises(BrokenWorldError), store._db._in_words():
            connection.execute(insert(tables.ledger_entry).values(values))
