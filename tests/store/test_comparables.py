"""Comparables in the store: none is taken away, each change is kept, rows of a file come in once."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from decimal import Decimal

import pytest

from shutline.car.comparables import Apart, Comparable, Mileage, Unit
from shutline.car.errors import NotFoundError, UserError
from shutline.car.findings import Fact
from shutline.car.prep_decisions import PrepKind
from shutline.store import StaleError, Store
from shutline.store.comparables import RowOfFile

IDA, BEN = "Ida Quill", "Ben Marl"
ONE = Comparable(
    date(2026, 5, 3),
    Decimal("8500.50"),
    car="FGY 412H",
    attributes={"model": "Ninety", "odd": "\x00\ud800 =1"},
    mileage=Mileage(98_000.5, Unit.KM),
    condition="tidy",
    where="Merrowby",
    days=40,
    source="our own list",
)
COLUMNS = {"fields": {"when": "Date", "price": "Paid"}}


def test_what_is_kept_reads_back_as_it_was(store: Store) -> None:
    kept = store.add_comparable(ONE, author=IDA)
    assert (kept.comparable, kept.holds, kept.version, kept.kept_by) == (ONE, True, 1, IDA)
    assert store.comparables_that_hold() == ((None, ONE),)
    assert store.comparable(kept.id) == kept
    assert store.comparable_ids(kept.id[:4]) == (kept.id,)
    assert store.add_comparable(replace(ONE, price=Decimal("8500.5")), author=BEN) == kept


def test_each_change_is_kept_and_what_comes_too_late_is_refused(store: Store) -> None:
    kept = store.add_comparable(ONE, author=IDA)
    dearer = replace(ONE, price=Decimal(9000))
    changed = store.change_comparable(kept.id, action="amend", comparable=dearer, author=BEN, expected_version=1)
    assert (changed.changes[-1].before, changed.changes[-1].after) == ({"price": "8500.50"}, {"price": "9000"})
    with pytest.raises(StaleError) as caught:
        store.change_comparable(kept.id, action="take back", author=IDA, expected_version=1)
    assert caught.value.present == changed
    back = store.change_comparable(kept.id, action="take back", author=IDA, expected_version=2)
    assert store.comparables_that_hold() == ()
    assert store.comparables() == (back,)
    again = store.add_comparable(dearer, author=BEN)
    assert [one.action for one in again.changes] == ["noted", "amended", "taken back", "holds again"]
    assert again.id == kept.id
    with pytest.raises(NotFoundError):
        store.comparable("nothing")
    with pytest.raises(UserError):
        store.add_comparable(ONE, author="program")


def test_rows_come_in_once_however_they_came_and_changed_since(store: Store) -> None:
    apart = (Apart(9, "x,y", "day 'x'", "a day"),)
    file = store.add_comparable_file("prices.csv", "ab" * 32, COLUMNS, apart, author=IDA)
    line = replace(ONE, line="prices.csv, line 2")
    rows = [RowOfFile("a", line), RowOfFile("b", replace(line, line="prices.csv, line 3"))]
    assert store.add_rows_of_file(file.id, rows, author=IDA) == ("new", "there")
    assert store.add_rows_of_file(file.id, rows, author=IDA) == ("there", "there")
    (kept,) = store.comparables()
    store.change_comparable(kept.id, action="amend", comparable=replace(ONE, condition="fair"), author=BEN)
    # The second row said the same when it came: it is that car still.
    assert store.add_rows_of_file(file.id, rows, author=IDA) == ("changed", "there")
    store.change_comparable(kept.id, action="take back", author=BEN)
    assert store.add_rows_of_file(file.id, rows, author=IDA) == ("taken back", "taken back")
    assert store.comparables()[0].comparable.line == "prices.csv, line 2"
    assert store.comparable_files() == (file,)
    assert file.apart == apart


def test_a_row_is_read_anew_until_a_person_changed_it(store: Store) -> None:
    file = store.add_comparable_file("prices.csv", "ab" * 32, COLUMNS, (), author=IDA)
    rows = [RowOfFile("a", ONE), RowOfFile("b", replace(ONE, car="JPU 77K"))]
    store.add_rows_of_file(file.id, rows, author=IDA)
    anew = [replace(row, comparable=replace(row.comparable, condition="fine")) for row in rows]
    assert store.add_rows_of_file(file.id, anew, author=BEN) == ("anew", "anew")
    first, second = store.comparables()
    assert (first.comparable.condition, first.version, first.changes[-1].author) == ("fine", 2, BEN)
    store.change_comparable(second.id, action="amend", comparable=replace(ONE, car="KRN 5L"), author=BEN)
    assert store.add_rows_of_file(file.id, rows, author=IDA) == ("anew", "changed")


def test_columns_are_kept_by_headings_in_any_order(store: Store) -> None:
    assert store.comparable_columns(("Date", "Paid")) is None
    kept = store.keep_comparable_columns(("Date", "Paid"), COLUMNS, author=IDA)
    assert store.comparable_columns(("Paid", "Date")) == kept
    assert store.keep_comparable_columns(("Date", "Paid"), COLUMNS, author=BEN) == kept
    other = store.keep_comparable_columns(("Paid", "Date"), {"fields": {}}, author=BEN, expected_version=1)
    assert (other.version, other.changes[-1].before) == (2, {"columns": COLUMNS})
    with pytest.raises(StaleError):
        store.keep_comparable_columns(("Paid", "Date"), COLUMNS, author=IDA, expected_version=1)


def test_a_sale_of_the_ledger_is_kept_under_its_number(store: Store) -> None:
    kept = store.add_comparable(ONE, author=IDA, sale=12)
    assert (kept.id, kept.sale) == ("sale-12", 12)
    assert store.sales_noted() == {12}
    assert store.add_comparable(replace(ONE, days=1), author=IDA, sale=12) == kept


def test_a_little_of_many_cars_is_that_of_joined_cars_too(store: Store) -> None:
    for name in ("corvane-ninety", "corvane-again", "sixty"):
        store.create_car(name, title=name.title())
    store.add_fact("corvane-again", Fact("year", 1968, None), author=IDA)
    store.add_fact("sixty", Fact("colour", "red", None), author=IDA)
    store.decide_prep("corvane-again", PrepKind.ASKING, pence=9, author=IDA)
    store.join_cars("corvane-ninety", "corvane-again", author=IDA)
    told = store.cars_told(["corvane-ninety", "corvane-again", "sixty", "nobody"], ["year"])
    assert set(told) == {"corvane-ninety", "corvane-again", "sixty"}
    assert told["corvane-again"] == told["corvane-ninety"]
    ninety = told["corvane-ninety"]
    assert ([one.value for one in ninety.facts], ninety.asking_pence, ninety.title) == ([1968], 9, "Corvane-Ninety")
    assert told["sixty"].facts == ()
    store.decide_prep("corvane-ninety", PrepKind.ASKING, pence=10, author=IDA)
    assert store.cars_told(["corvane-ninety"], [])["corvane-ninety"].asking_pence == 10
