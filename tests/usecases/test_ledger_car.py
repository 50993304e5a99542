"""One car of stock as it is shown, and what was typed read field by field."""

from __future__ import annotations

import shutil
from collections.abc import Iterator
from dataclasses import replace
from datetime import UTC, date, datetime, timedelta
from pathlib import Path

import pytest

from shutline.car.errors import BadInputError
from shutline.ledger import Kind, Money, Said
from shutline.ledger.checking import FieldProblem
from shutline.store import Store
from shutline.usecases.ledger import reversal_day
from shutline.usecases.ledger_car import car_in_ledger, next_entry, shown_car
from shutline.usecases.ledger_shown import last_stock_number, shown_stock, shown_totals
from shutline.usecases.ledger_typed import answer_typed, clock_typed, enter_typed, import_typed

IDA = "Ida Quill"
TODAY = datetime.now(UTC).date()


@pytest.fixture(autouse=True)
def own(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("SHUTLINE_SETTINGS", str(tmp_path / "own" / "settings.toml"))


@pytest.fixture(scope="module")
def made(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The folder of a store with a car file; made once, copied where something is entered."""
    folder = tmp_path_factory.mktemp("ledger") / "store"
    with Store.open(folder) as opened:
        opened.create_car("ostrel-pavane", title="Ostrel Pavane, blue")
    return folder


@pytest.fixture
def store(made: Path, tmp_path: Path) -> Iterator[Store]:
    shutil.copytree(made, tmp_path / "store")
    with Store.open(tmp_path / "store") as opened:
        yield opened


@pytest.fixture(scope="module")
def bought(made: Path, tmp_path_factory: pytest.TempPathFactory) -> Iterator[Store]:
    """One car of stock in a store that nothing more is entered in."""
    folder = tmp_path_factory.mktemp("bought") / "store"
    shutil.copytree(made, folder)
    with Store.open(folder) as opened:
        buy(opened)
        yield opened


def ago(days: int) -> str:
    return (TODAY - timedelta(days=days)).isoformat()


def enter(store: Store, **typed: str) -> int:
    return enter_typed(store, typed, author=IDA).entry.number


def buy(store: Store, what: str = "Ostrel Pavane", **typed: str) -> int:
    given = {"amount": "8,500", "day": ago(30), "name": "Tobias Wend", "self_billed": "yes", **typed}
    return enter(store, kind="purchase", what=what, **given)


def sell(store: Store, stock: int = 1, **typed: str) -> int:
    given = {"amount": "12000", "day": ago(5), "name": "Augusta Harbottle", "paper": "S009", **typed}
    return enter(store, kind="sale", stock=str(stock), **given)


def test_what_may_follow_is_what_an_entry_would_be_let_in_for(store: Store) -> None:
    buy(store)
    assert shown_car(store, 1).may == (Kind.COST, Kind.DEPOSIT, Kind.SALE, Kind.PART_OUT)
    sale = sell(store)
    assert shown_car(store, 1).may == (Kind.COST,)
    bought, sold = shown_car(store, 1).entries
    assert (bought.may_be_reversed, bought.may_come_back) == (False, False)
    assert bought.held_by == f"entry {sale}, a sale, hangs on entry 1"
    assert (sold.may_be_reversed, sold.may_come_back) == (True, True)
    back = enter(store, kind="return", against=str(sale), what="thought better of it")
    _, sold, came = shown_car(store, 1).entries
    assert (sold.came_back, sold.may_come_back, came.may_be_reversed) == (back, False, True)
    by = enter(store, kind="reversal", against=str(back), what="it was another car")
    _, sold, came, reversal = shown_car(store, 1).entries
    assert (sold.came_back, came.reversed_by, reversal.may_be_reversed) == (0, by, False)
    back = enter(store, kind="return", against=str(sale), what="it was this one after all")
    assert shown_car(store, 1).entries[1].came_back == back
    enter(store, kind="reversal", against=str(back), what="entered wrongly")
    for number in (sale, 1):
        enter(store, kind="reversal", against=str(number), what="entered wrongly")
    shown = shown_car(store, 1)
    assert (shown.may, shown.owed) == ((), None)
    assert [one.entry.number for one in shown.entries] == list(range(1, 9))


def test_a_deposit_is_open_until_it_goes_into_a_sale(store: Store) -> None:
    buy(store)
    enter(store, kind="deposit", stock="1", amount="200", name="Augusta Harbottle", day=ago(9))
    assert shown_car(store, 1).deposits == Money.of("200")
    sale = sell(store)
    shown = shown_car(store, 1)
    assert (shown.deposits, shown.entries[1].settled_in, shown.entries[1].may_come_back) == (Money.of("0"), sale, False)


def test_what_is_owed_is_a_range_until_the_questions_are_answered_and_a_later_answer_counts(store: Store) -> None:
    buy(store)
    sell(store)
    owed = shown_car(store, 1).owed
    assert owed is not None
    assert (owed.tax, owed.least.told(), owed.most.told()) == (None, "£583.33", "£2,000.00")
    for one in shown_car(store, 1).questions:
        if one.asked:
            answer_typed(store, 1, {"question": one.question.id, "said": "no", "note": "papers seen"}, author=IDA)
    # 8,500 to 12,000 owes 583.33: worked example of gov.uk, Using the VAT margin scheme for second-hand vehicles.
    owed = shown_car(store, 1).owed
    assert owed is not None
    assert owed.tax is not None
    assert owed.tax.told() == "£583.33"
    answer_typed(store, 1, {"question": "imported", "said": "yes"}, author="Bram")
    shown = shown_car(store, 1)
    assert shown.owed is not None
    assert shown.owed.taxed == "the full price"
    (imported,) = [one for one in shown.questions if one.question.id == "imported"]
    assert [(one.said, one.author, one.note) for one in imported.answers] == [
        (Said.NO, IDA, "papers seen"),
        (Said.YES, "Bram", ""),
    ]


def test_a_question_that_hangs_on_another_is_asked_after_it(store: Store) -> None:
    buy(store)

    def asked() -> set[str]:
        return {one.question.id for one in shown_car(store, 1).questions if one.asked}

    assert "rebuilt-stock" not in asked()
    answer_typed(store, 1, {"question": "rebuilt", "said": "yes"}, author=IDA)
    assert {"rebuilt-stock", "rebuilt-number"} <= asked()


def test_a_car_file_has_its_lines_and_the_words_of_its_purchase(store: Store) -> None:
    assert car_in_ledger(store, "ostrel").stock == ()
    buy(store, "Averley Curlew")
    buy(store, car="ostrel")
    found = car_in_ledger(store, "ostrel")
    assert [(one.stock, one.car) for one in found.stock] == [(2, "ostrel-pavane")]
    assert found.words == "Ostrel Pavane, blue"


def test_forms_begin_with_the_next_invoice_and_what_a_part_exchange_may_be_for(store: Store) -> None:
    assert next_entry(store).paper == ""
    buy(store)
    buy(store, "Averley Curlew")
    sale = sell(store)
    found = next_entry(store)
    assert found.paper == "S010"
    assert [one.entry for one in found.purchases] == [2, 1]
    assert [(one.what, one.party.name) for one in found.purchases] == [
        ("Averley Curlew", "Tobias Wend"),
        ("Ostrel Pavane", "Tobias Wend"),
    ]
    enter(store, kind="reversal", against=str(sale), what="entered twice")
    sell(store, paper="by hand")
    assert next_entry(store).paper == ""


def test_a_quarter_that_is_long_over_is_entered_with_the_same_help(store: Store) -> None:
    buy(store, day=ago(400))
    old = buy(store, "Averley Curlew", day=ago(390))
    sell(store, day=ago(380), paper="S009")
    found = next_entry(store)
    assert (found.paper, [one.entry for one in found.purchases]) == ("S010", [old, 1])


def test_what_was_entered_today_is_reversed_on_its_own_day_and_is_in_no_sum_of_it(store: Store) -> None:
    buy(store, day=ago(200))
    cost = {"kind": "cost", "stock": "1", "amount": "240", "vat": "40", "name": "Tansley Welding", "what": "sills"}
    wrong = enter(store, **cost, day=ago(190))
    (shown,) = (one for one in shown_car(store, 1).entries if one.entry.number == wrong)
    assert shown.reversal_day.isoformat() == ago(190)
    by = enter_typed(store, {"kind": "reversal", "against": str(wrong), "what": "not ours"}, author=IDA).entry
    assert by.day.isoformat() == ago(190)
    assert shown_totals(store, day=by.day).counted.reclaimed == Money.of("0")
    assert shown_totals(store).undone.reclaimed == Money.of("0")
    # One of an earlier day may have been declared.
    assert reversal_day(replace(shown.entry, at=f"{ago(1)}T12:00:00Z")) == datetime.now(UTC).date()


def test_part_exchange_goes_both_ways(store: Store) -> None:
    buy(store)
    sale = sell(store)
    taken = {"name": "Augusta Harbottle", "amount": "1800", "what": "Averley Curlew", "self_billed": "yes"}
    enter(store, kind="part-exchange-in", against=str(sale), **taken)
    assert shown_car(store, 2).line.notes == (f"taken in part exchange, entry {sale}",)
    bought = buy(store, "Calder Merlin")
    enter(store, kind="part-exchange-out", stock="2", against=str(bought), amount="2000", name="Wend", paper="S010")
    shown = shown_car(store, 2)
    assert shown.line.sold_price == Money.of("2000")
    assert [[(one.entry, one.stock) for one in entry.set_off] for entry in shown.entries] == [
        [(sale, 1)],
        [(bought, 3)],
    ]
    assert [one.stock for entry in shown_car(store, 1).entries for one in entry.set_off] == [2]
    assert [one.stock for entry in shown_car(store, 3).entries for one in entry.set_off] == [2]


def test_the_rate_alone_gives_the_vat(store: Store) -> None:
    buy(store)
    cost = {"kind": "cost", "stock": "1", "amount": "240", "rate": "20 %", "what": "sills", "name": "Tansley Welding"}
    assert enter_typed(store, cost, author=IDA).entry.vat == Money.of("40")


@pytest.mark.parametrize(
    ("typed", "slug", "field"),
    [
        ({"kind": "gift"}, "ledger-typed", "kind"),
        ({"kind": "cost", "colour": "blue"}, "ledger-typed", ""),
        ({"kind": "cost", "stock": "one", "amount": "5"}, "ledger-typed", "stock"),
        ({"kind": "cost", "stock": "1", "amount": "lots"}, "ledger-amount", "amount"),
        ({"kind": "cost", "stock": "1", "amount": ""}, "ledger-typed", "amount"),
        ({"kind": "cost", "stock": "1", "amount": "5", "day": "soon"}, "ledger-typed", "day"),
        ({"kind": "cost", "stock": "1", "amount": "5", "day": "2999-01-01"}, "ledger-entry", "day"),
        ({"kind": "cost", "stock": "1", "amount": "5", "rate": "0"}, "ledger-typed", "rate"),
        ({"kind": "cost", "stock": "1", "amount": "5", "vat": "6", "name": "x", "what": "y"}, "ledger-entry", "vat"),
        ({"kind": "cost", "stock": "1", "amount": "5", "what": "y"}, "ledger-entry", "name"),
        ({"kind": "cost", "stock": "1", "amount": "5", "name": "x"}, "ledger-entry", "what"),
        ({"kind": "cost", "stock": "9", "amount": "5", "name": "x", "what": "y"}, "ledger-stock-unknown", ""),
        ({"kind": "sale", "stock": "1", "amount": "5", "name": "x"}, "ledger-entry", "paper"),
        ({"kind": "sale", "stock": "1", "amount": "0", "name": "x", "paper": "S1"}, "ledger-entry", "what"),
        ({"kind": "sale", "stock": "1", "amount": "5", "name": "x\ty", "paper": "S1"}, "ledger-entry", "name"),
        ({"kind": "purchase", "amount": "5", "name": "x", "what": "y"}, "ledger-entry", "paper"),
        (
            {"kind": "purchase", "amount": "5", "name": "x", "what": "y", "paper": "A", "car": "no"},
            "car-unknown",
            "car",
        ),
        ({"kind": "return", "against": "1", "what": "y"}, "ledger-entry", "against"),
        ({"kind": "reversal", "against": "1", "what": ""}, "ledger-entry", "what"),
        ({"kind": "reversal", "against": "7", "what": "y"}, "ledger-entry", ""),
    ],
)
def test_what_is_refused_names_the_field_and_nothing_is_entered(
    bought: Store, typed: dict[str, str], slug: str, field: str
) -> None:
    with pytest.raises(BadInputError) as refused:
        enter_typed(bought, typed, author=IDA)
    problem = refused.value.problem
    assert (problem.slug, problem.field if isinstance(problem, FieldProblem) else "") == (slug, field)
    assert all((problem.where, problem.found, problem.allowed, problem.advice))
    assert len(shown_car(bought, 1).entries) == 1


def test_an_import_and_the_clock_are_read_from_what_was_typed() -> None:
    told = import_typed({"value": "20,000", "arrived": "2026-06-01", "made": "1968-12-31", "original": "yes"})
    # 5 % of 20,000: gov.uk IMPS05200.
    assert [one.vat.told() for one in told.ways if one.id == "collectors"] == ["£1,000.00"]
    clock = clock_typed(
        {"delivered": "2026-06-01", "asked_1": "2026-06-10", "back_1": "2026-06-12", "asked_2": "2026-06-20"}
    )
    assert [one.last for one in clock.rights if one.id == "reject"] == [None]
    clock = clock_typed({"delivered": "2026-06-01", "distance": "yes", "told_on": "2026-06-03"})
    assert [one.last for one in clock.rights if one.id == "cancel"] == [date(2026, 6, 17)]


@pytest.mark.parametrize(
    ("typed", "field"),
    [
        ({"value": "much", "arrived": "2026-06-01"}, "value"),
        ({"value": "5"}, "arrived"),
        ({"arrived": "2026-06-01"}, "value"),
        ({"value": "5", "arrived": "2026-06-01", "original": "perhaps"}, "original"),
    ],
)
def test_an_import_that_cannot_be_read_names_the_field(typed: dict[str, str], field: str) -> None:
    with pytest.raises(BadInputError) as refused:
        import_typed(typed)
    assert isinstance(refused.value.problem, FieldProblem)
    assert refused.value.problem.field == field


@pytest.mark.parametrize(
    ("typed", "field"),
    [
        ({"distance": "yes"}, "delivered"),
        ({"delivered": "2026-06-01", "asked_1": "then"}, "asked_1"),
        ({"delivered": "2026-06-01", "back_2": "2026-06-10"}, "asked_2"),
        ({"delivered": "2026-06-01", "asked_10": "2026-06-10"}, ""),
    ],
)
def test_facts_of_a_sale_that_cannot_be_read_name_the_field(typed: dict[str, str], field: str) -> None:
    with pytest.raises(BadInputError) as refused:
        clock_typed(typed)
    assert isinstance(refused.value.problem, FieldProblem)
    assert refused.value.problem.field == field


def test_a_page_of_the_book_is_what_the_whole_book_has_there(store: Store) -> None:
    assert (last_stock_number(store), shown_stock(store, numbers=(1, 50)).lines) == (0, ())
    buy(store)
    sale = sell(store)
    enter(store, kind="return", against=str(sale), what="thought better of it")
    taken = {"name": "Augusta Harbottle", "amount": "1800", "self_billed": "yes"}
    sale = sell(store, paper="S010", day=TODAY.isoformat())
    enter(store, kind="part-exchange-in", against=str(sale), what="Averley Curlew", **taken)
    buy(store, "Calder Merlin")
    whole = shown_stock(store)
    assert last_stock_number(store) == 3
    for first, last in ((1, 1), (2, 3), (1, 3)):
        part = shown_stock(store, numbers=(first, last))
        assert (part.lines, part.cells) == (whole.lines[first - 1 : last], whole.cells[first - 1 : last])
