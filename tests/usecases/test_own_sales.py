"""The firm's own cars: sales of the ledger as comparables, counted once, and how long its stock stood."""

from __future__ import annotations

import shutil
from collections.abc import Iterator
from datetime import date, timedelta
from decimal import Decimal
from pathlib import Path

import pytest
from sqlalchemy import insert

from shutline.car.comparables import Mileage
from shutline.car.errors import NotFoundError
from shutline.car.findings import Fact
from shutline.car.prep_decisions import PrepKind
from shutline.ledger import Draft, Kind, Money, Party
from shutline.store import StaleError, Store, tables
from shutline.usecases.comparables import (
    amend_comparable,
    comparable_shown,
    comparables_shown,
    kept_comparables,
    note_comparable,
    take_comparable_back,
)
from shutline.usecases.ledger import enter_in_ledger, give_back, ledger_book, reverse_entry
from shutline.usecases.own_stock import own_stock

IDA, BEN = "Ida Quill", "Ben Marl"
SELLER, BUYER = Party("Tobias Wend", "3 Quillover Lane"), Party("Augusta Harbottle", "The Old Forge")
CAME, SOLD = date(2026, 1, 5), date(2026, 2, 14)
TODAY = date(2026, 3, 1)
USUAL = {"when": "2026-02-10", "sold": "sold"}


@pytest.fixture(scope="module")
def empty(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("empty") / "store"
    Store.open(folder).close()
    return folder


@pytest.fixture
def store(tmp_path: Path, empty: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[Store]:
    monkeypatch.setenv("SHUTLINE_SETTINGS", str(tmp_path / "own" / "settings.toml"))
    shutil.copytree(empty, tmp_path / "store")
    with Store.open(tmp_path / "store") as opened:
        opened.create_car("corvane-ninety", title="Corvane Ninety")
        yield opened


def bought(store: Store, what: str = "Corvane Ninety, FGY 412H", car: str = "corvane", came: date = CAME) -> None:
    draft = Draft(
        kind=Kind.PURCHASE, day=came, amount=Money.of("8500"), party=SELLER, self_billed=True, what=what, car=car
    )
    enter_in_ledger(store, draft, author=IDA)


def sold(store: Store, stock: int = 1, price: str = "12000", day: date = SOLD, **more: object) -> int:
    usual: dict[str, object] = {"kind": Kind.SALE, "paper": f"S{stock}-{price}", "party": BUYER, **more}
    draft = Draft(day=day, amount=Money.of(price), stock=stock, **usual)  # type: ignore[arg-type]
    return enter_in_ledger(store, draft, author=IDA).entry.number


def test_a_sale_of_the_ledger_is_a_comparable_with_its_days_and_what_its_file_knows(store: Store) -> None:
    for name, value, unit in (("year", 1968, None), ("odometer", 61_000, "mi"), ("registration_mark", "FGY412H", None)):
        store.add_fact("corvane-ninety", Fact(name, value, unit), author=IDA)
    bought(store)
    assert kept_comparables(store) == ()
    sold(store)
    (one,) = kept_comparables(store)
    assert (one.when, one.price, one.sold, one.days) == (SOLD, Decimal("12000.00"), True, 40)
    assert (one.car, one.line, one.source) == ("FGY412H", "ledger, entry 2", "own sale")
    assert one.mileage == Mileage(61_000)
    assert one.attributes == {"model": "Corvane Ninety", "age": "58", "year": "1968"}


def test_it_is_called_as_the_noted_ones_call_it_and_as_people_said(store: Store) -> None:
    store.add_fact("corvane-ninety", Fact("year", 1968, None), author=IDA)
    note_comparable(
        store, {**USUAL, "price": "7000"}, {"model": "Ninety", "years old": "40", "hood": "mohair"}, author=IDA
    )
    store.say_price("corvane-ninety", attributes={"hood": "vinyl"}, figures={}, author=BEN)
    bought(store)
    sold(store)
    assert kept_comparables(store)[-1].attributes == {"model": "Ninety", "years old": "58", "hood": "vinyl"}


def test_a_sale_that_was_noted_by_hand_as_well_counts_once(store: Store) -> None:
    note_comparable(store, {**USUAL, "price": "11950", "car": "fgy 412h"}, {}, author=IDA)
    asked = {"when": "2026-01-20", "price": "12900", "sold": "asked", "car": "FGY 412H"}
    note_comparable(store, asked, {}, author=IDA)
    note_comparable(store, {**USUAL, "when": "2020-01-01", "price": "9000", "car": "FGY 412H"}, {}, author=IDA)
    bought(store)
    sold(store)
    assert len(kept_comparables(store)) == 3
    shown = comparables_shown(store)
    assert (shown.all, [one.why_not for one in shown.lines if one.id == "sale-2"]) == (4, ["noted by hand as well"])


def test_a_name_that_is_no_mark_is_found_in_no_words(store: Store) -> None:
    for car in ("Ninety", "-", "412"):
        note_comparable(store, {**USUAL, "price": "7000", "car": car}, {}, author=IDA)
    bought(store, "Corvane Ninety, 412")
    sold(store)
    assert kept_comparables(store)[-1].car == "stock 1"


def test_the_same_car_sold_years_before_is_another_sale(store: Store) -> None:
    note_comparable(store, {**USUAL, "when": "2020-01-01", "price": "9000", "car": "FGY 412H"}, {}, author=IDA)
    bought(store)
    sold(store)
    assert [one.car for one in kept_comparables(store)] == ["FGY 412H", "FGY 412H"]


def test_a_person_may_take_it_back_or_amend_it_and_let_it_count_again(store: Store) -> None:
    bought(store)
    sold(store)
    fresh = comparable_shown(store, "sale-2")
    assert (fresh.version, fresh.sale, fresh.changes) == (0, 2, ())
    back = take_comparable_back(store, "sale-2", version=0, author=BEN)
    assert (back.id, [one.action for one in back.changes]) == ("sale-2", ["taken from the ledger", "taken back"])
    assert kept_comparables(store) == ()
    with pytest.raises(StaleError):
        amend_comparable(store, "sale-2", {"condition": "tidy"}, {}, version=0, author=IDA)
    amend_comparable(store, "sale-2", {"condition": "tidy"}, {}, author=IDA)
    (one,) = kept_comparables(store)
    assert (one.condition, one.price) == ("tidy", Decimal("12000.00"))
    with pytest.raises(NotFoundError):
        take_comparable_back(store, "sale-3", author=BEN)


def test_a_sale_that_does_not_stand_any_longer_does_not_count(store: Store) -> None:
    bought(store)
    number = sold(store)
    amend_comparable(store, "sale-2", {"condition": "tidy"}, {}, author=IDA)
    reverse_entry(store, number, why="entered twice", day=SOLD, author=IDA)
    assert kept_comparables(store) == ()
    (line,) = comparables_shown(store).lines
    assert (line.counts, line.why_not) == (False, "the sale does not stand in the ledger any longer")
    again = sold(store, price="11000")
    assert [one.line for one in kept_comparables(store)] == [f"ledger, entry {again}"]


def test_what_went_for_nothing_or_in_part_exchange_is_no_price(store: Store) -> None:
    bought(store)
    sold(store, price="0", what="stolen")
    assert kept_comparables(store) == ()


def test_stock_is_days_and_asked_over_expected_with_what_is_left_out_told(store: Store) -> None:
    for at in range(6):
        note_comparable(store, {**USUAL, "price": "10000", "car": f"AB {at} C"}, {"model": "Ninety"}, author=IDA)
    # The first asking price since it came counts, not the later one, and not that of somebody before.
    for day, price in (("2025-12-01", "1"), ("2026-01-20", "12000"), ("2026-02-01", "11000")):
        note_comparable(
            store, {"when": day, "price": price, "sold": "asked", "car": "FGY 412H"}, {"model": "Ninety"}, author=IDA
        )
    bought(store)
    sold(store)
    store.create_car("sixty", title="Corvane Ninety")
    store.decide_prep("sixty", PrepKind.ASKING, pence=900_000, author=IDA)
    bought(store, "Corvane Ninety, KRN 5L", car="sixty", came=CAME + timedelta(days=5))
    bought(store, "Corvane Ninety, LLN 1M", car="")
    bought(store, "Corvane Ninety, MMM 1N", car="")
    sold(store, 4)
    give_back(store, 6, why="rejected", day=SOLD, author=IDA)
    found = own_stock(store, today=TODAY)
    assert [(one.days, one.sold) for one in found.stock] == [(40, True), (50, False)]
    assert [one.asked for one in found.stock] == pytest.approx([1.2, 0.9], rel=0.08)
    assert [words.partition(":")[0] for words in found.left_out] == [
        "1 car of the firm",
        "1 car of the firm that came back after a sale",
    ]


def test_without_a_ledger_there_is_no_stock(store: Store) -> None:
    found = own_stock(store)
    assert (found.stock, found.left_out) == ((), ())
    bought(store)
    assert own_stock(store, today=TODAY).left_out == ("1 car of the firm: nobody noted what was asked",)


def test_many_sales_are_each_read_from_the_ledger(store: Store) -> None:
    from shutline.usecases.ledger import row_of

    bought(store)
    sold(store)
    entries = ledger_book(store)[0].entries
    rows: list[dict[str, object]] = []
    for at in range(300):
        for entry in entries:
            row = {**row_of(entry), "number": len(rows) + 3, "stock": at + 2, "paper": f"P{at}"}
            del row["car"]
            rows.append({**row, "created_at": "2026-01-01T00:00:00.000Z", "created_by": IDA})
    with store._db.write() as connection:
        connection.execute(insert(tables.ledger_entry), rows)
    assert len(kept_comparables(store)) == 301
