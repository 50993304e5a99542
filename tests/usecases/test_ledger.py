"""The ledger as it is kept: entered through the store, read back the same, set as the firm chooses."""

from __future__ import annotations

import threading
from collections.abc import Iterator
from dataclasses import replace
from datetime import date, timedelta
from decimal import Decimal
from pathlib import Path
from random import Random

import pytest
from sqlalchemy import insert
from tests.ledger.conftest import FIRST, made_book, tried_draft

from shutline.car.errors import BadInputError, NotFoundError, UserError
from shutline.ledger import Book, Draft, Eligible, Kind, Money, Party, Said, rules_of, totals_of
from shutline.store import Store, tables
from shutline.usecases.house import HouseDetails, keep_house
from shutline.usecases.ledger import (
    answer_about,
    asked_about,
    enter_in_ledger,
    give_back,
    ledger_book,
    reverse_entry,
    row_of,
)
from shutline.usecases.ledger_settings import (
    LedgerSettings,
    keep_ledger_settings,
    ledger_rules,
    ledger_settings,
    ledger_settings_shown,
    tables_folder,
)
from shutline.usecases.ledger_shown import (
    ledger_file,
    shown_entries,
    shown_forecourt,
    shown_invoice,
    shown_stock,
    shown_totals,
)

IDA = "Ida Quill"
SELLER = Party("Tobias Wend", "3 Quillover Lane, Merrowby")
BUYER = Party("Augusta Harbottle", "The Old Forge, Upper Tansley")
DAY = date(2026, 1, 5)


@pytest.fixture(autouse=True)
def own(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.setenv("SHUTLINE_SETTINGS", str(tmp_path / "own" / "settings.toml"))
    return tmp_path / "own"


@pytest.fixture
def store(tmp_path: Path) -> Iterator[Store]:
    with Store.open(tmp_path / "store") as opened:
        opened.create_car("corvane-ninety")
        yield opened


def pounds(text: str) -> Money:
    return Money.of(text)


def bought(price: str = "8500", **more: object) -> Draft:
    usual = {"kind": Kind.PURCHASE, "day": DAY, "party": SELLER, "self_billed": True, "car": "corvane"}
    fields = {**usual, "what": "Corvane Ninety, FGY 412H", **more}
    return Draft(amount=pounds(price), **fields)  # type: ignore[arg-type]


def sold(stock: int = 1, price: str = "12000", paper: str = "S1") -> Draft:
    return Draft(kind=Kind.SALE, day=date(2026, 2, 10), amount=pounds(price), stock=stock, paper=paper, party=BUYER)


def answer_all(store: Store, stock: int = 1) -> None:
    for question in rules_of().questions:
        answer_about(store, stock, question.id, Said.YES if question.bars is Said.NO else Said.NO, author=IDA)


def test_what_is_entered_comes_back_the_same_in_every_field(store: Store) -> None:
    cost = Draft(
        kind=Kind.COST,
        day=DAY,
        amount=pounds("240"),
        vat=pounds("40"),
        rate=Decimal(20),
        stock=1,
        party=Party("Tansley Welding", "", "GB 000 0000 00"),
        paper="W-7",
        what="sills, both",
    )
    outside = Draft(kind=Kind.SALE, day=DAY, amount=pounds("9000"), stock=1, paper="S1", party=BUYER, outside=True)
    made = [enter_in_ledger(store, one, author=IDA).entry for one in (bought(), cost, outside)]
    made.append(give_back(store, 3, why="rejected", day=DAY, amount=pounds("8900"), author=IDA).entry)
    made.append(reverse_entry(store, 4, why="another car", day=DAY, author=IDA).entry)
    book, _ = ledger_book(store)
    assert book.entries == tuple(made)
    assert made[0].car == "corvane-ninety"
    assert [(one.number, one.author) for one in made] == [(number, IDA) for number in range(1, 6)]
    assert [one.reversed_by for one in shown_entries(store)] == [0, 0, 0, 5, 0]
    assert len(shown_entries(store, stock=2)) == 0


def test_what_follows_from_an_entry_is_told_with_it(store: Store) -> None:
    assert enter_in_ledger(store, bought(), author=IDA).told.startswith("It has stock number 1. Not known")
    answer_all(store)
    told = enter_in_ledger(store, sold(), author=IDA).told
    assert told == "VAT of £583.33 is owed on it, from the margin; the margin is £3,500.00."
    reverse_entry(store, 2, why="it went for less", day=date(2026, 2, 10), author=IDA)
    lost = enter_in_ledger(store, sold(price="8000", paper="S2"), author=IDA).told
    assert lost == "It is a loss of £500.00, on which no VAT is owed."
    enter_in_ledger(store, bought("100"), author=IDA)
    valet = Draft(kind=Kind.COST, day=DAY, amount=pounds("90"), stock=2, party=Party("Tansley Valeting"), what="valet")
    assert [enter_in_ledger(store, valet, author=IDA).told[:19] for _ in "ab"] == ["", "Entry 6 is the same"]
    reverse_entry(store, 6, why="entered twice", day=DAY, author=IDA)
    reverse_entry(store, 7, why="entered twice", day=DAY, author=IDA)
    assert enter_in_ledger(store, valet, author=IDA).told == ""
    assert "not known: £83.33 to £100.00" in enter_in_ledger(store, sold(2, "600", "S3"), author=IDA).told


def test_what_is_refused_is_not_kept(store: Store) -> None:
    for draft, slug in ((sold(), "ledger-stock-unknown"), (bought(what=""), "ledger-entry")):
        with pytest.raises(BadInputError) as caught:
            enter_in_ledger(store, draft, author=IDA)
        assert caught.value.problem.slug == slug
    with pytest.raises(NotFoundError):
        enter_in_ledger(store, bought(car="nowhere"), author=IDA)
    with pytest.raises(BadInputError):
        reverse_entry(store, 1, why="x", day=DAY, author=IDA)
    assert ledger_book(store)[0].entries == ()


def test_several_who_enter_at_once_leave_no_gap_in_the_numbers(store: Store) -> None:
    failed: list[BaseException] = []

    def enter() -> None:
        try:
            for _ in range(4):
                enter_in_ledger(store, bought(), author=IDA)
        except BaseException as error:  # noqa: BLE001 - told below
            failed.append(error)

    threads = [threading.Thread(target=enter) for _ in range(4)]
    for one in threads:
        one.start()
    for one in threads:
        one.join()
    assert failed == []
    book, _ = ledger_book(store)
    assert [(one.number, one.stock) for one in book.entries] == [(number, number) for number in range(1, 17)]


def kept_book(store: Store, book: Book) -> None:
    """Put a book into the store at once, and hold that it comes back."""
    entries = [{**row_of(one), "created_at": one.at, "created_by": one.author} for one in book.entries]
    for row in entries:
        del row["car"]
    answers = [
        {"stock": one.stock, "question": one.question, "said": one.said, "note": one.note, "created_at": one.at}
        for one in book.answers
    ]
    with store._db.write() as connection:
        connection.execute(insert(tables.ledger_entry), entries)
        connection.execute(insert(tables.ledger_answer), [{**one, "created_by": IDA} for one in answers])
    again, _ = ledger_book(store)
    assert (again.entries, again.cars) == (book.entries, book.cars)


def test_what_is_read_of_a_few_cars_gives_sums_and_refusals_of_the_whole_ledger(store: Store) -> None:
    random, rules = Random(11), rules_of()
    book = made_book(random, steps=300, days=2)
    kept_book(store, book)
    for _ in range(30):
        start = FIRST + timedelta(days=random.randint(0, 640))
        end = start + timedelta(days=random.choice([0, 1, 30, 90, 400]))
        assert shown_totals(store, start=start, end=end) == totals_of(book, rules, start=start, end=end)
    day = book.entries[-1].day
    refused = 0
    for step in range(300, 400):
        tried = tried_draft(book, random, step, day=day)
        told = book.problems_of(tried, today=day)
        if told:
            refused += 1
            with pytest.raises(BadInputError) as caught:
                enter_in_ledger(store, tried, author=IDA)
            assert caught.value.problem == told[0]
        else:
            made = enter_in_ledger(store, tried, author=IDA).entry
            assert book.enter(tried, author=IDA, at=made.at) == made
    assert 20 < refused < 80
    assert ledger_book(store)[0].cars == book.cars
    for car in book.cars[::20]:
        own = [one for one in book.entries if one.stock == car.stock]
        assert [one.entry for one in shown_entries(store, stock=car.stock)] == own


def test_what_another_car_has_to_do_with_an_entry_is_seen(store: Store) -> None:
    taken = bought("3000", kind=Kind.PART_IN, day=sold().day, against=2)
    for draft in (bought(), sold(), taken, bought("700")):
        enter_in_ledger(store, draft, author=IDA)
    refused = (
        (
            "entry 3, a part-exchange-in, hangs on entry 2",
            lambda: reverse_entry(store, 2, why="x", day=sold().day, author=IDA),
        ),
        ("number 'S1' a second time", lambda: enter_in_ledger(store, sold(3), author=IDA)),
    )
    for found, go_on in refused:
        with pytest.raises(BadInputError) as caught:
            go_on()
        assert found in caught.value.problem.found


@pytest.mark.parametrize("wrong", ["a gap", "another currency"])
def test_a_ledger_with_a_gap_or_in_another_currency_is_not_gone_on_with(store: Store, wrong: str) -> None:
    enter_in_ledger(store, bought(), author=IDA)
    if wrong == "a gap":
        with store._db.write() as connection:
            connection.execute(tables.ledger_entry.update().values(number=2))
    else:
        keep_ledger_settings(LedgerSettings(country="de", take_from_memory=True), author=IDA)
    draft = replace(bought(), amount=Money(Decimal(1), ledger_rules().currency))
    for go_on in (lambda: enter_in_ledger(store, draft, author=IDA), lambda: shown_totals(store, day=DAY)):
        with pytest.raises(BadInputError) as caught:
            go_on()
        assert caught.value.problem.slug == ("ledger-gap" if wrong == "a gap" else "ledger-country")


def test_answers_are_kept_with_who_gave_them(store: Store) -> None:
    enter_in_ledger(store, bought(), author=IDA)
    assert asked_about(store, 1).eligible is Eligible.NOT_KNOWN
    assert answer_about(store, 1, "imported", Said.YES, note="papers seen", author=IDA).eligible is Eligible.NO
    answer_all(store)
    assert asked_about(store, 1).eligible is Eligible.YES
    book, _ = ledger_book(store)
    assert [(one.said, one.note) for one in book.answers if one.question == "imported"] == [
        (Said.YES, "papers seen"),
        (Said.NO, ""),
    ]
    for stock, question, slug in ((1, "colour", "ledger-question"), (2, "new", "ledger-stock-unknown")):
        with pytest.raises(BadInputError) as caught:
            answer_about(store, stock, question, Said.NO, author=IDA)
        assert caught.value.problem.slug == slug


def test_the_book_the_sums_and_the_forecourt_go_by_the_settings(store: Store) -> None:
    enter_in_ledger(store, bought(), author=IDA)
    enter_in_ledger(store, sold(), author=IDA)
    answer_all(store)
    assert shown_totals(store, day=DAY).boxes[0].amount == pounds("583.33")
    keep_ledger_settings(LedgerSettings(stagger=2, holding_a_day="10"), author=IDA)
    told = shown_totals(store, day=DAY)
    assert (told.start, told.end, told.boxes[0].amount) == (date(2025, 11, 1), date(2026, 1, 31), pounds("0"))
    assert shown_totals(store, start=DAY).boxes[0].amount == pounds("583.33")
    assert shown_forecourt(store).made[0].holding == pounds("360")
    shown = shown_stock(store)
    assert dict(zip(shown.headings, shown.cells[0], strict=True))["VAT due"] == "583.33"


def test_an_invoice_names_the_house_and_is_refused_without_it(store: Store) -> None:
    enter_in_ledger(store, bought(), author=IDA)
    enter_in_ledger(store, sold(), author=IDA)
    answer_all(store)
    with pytest.raises(BadInputError):
        shown_invoice(store, 2)
    keep_house(HouseDetails("Halloran & Pike", ("Dock Street", "Merrowby")), author=IDA)
    keep_ledger_settings(LedgerSettings(vat_number="GB 000 0000 00"), author=IDA)
    shown = shown_invoice(store, 2)
    assert "Seller: Halloran & Pike, Dock Street, Merrowby, VAT registration number GB 000 0000 00" in shown.text
    assert shown.problems == ()
    assert shown_invoice(store, 1).invoice.side == "purchase"


@pytest.mark.parametrize("what", ["stock", "entries", "journal"])
def test_files_are_written_whole_as_they_are_shown(store: Store, tmp_path: Path, what: str) -> None:
    enter_in_ledger(store, bought(), author=IDA)
    made = ledger_file(store, what, path=tmp_path / "out" / what)
    assert Path(made.path).read_bytes().decode("utf-8-sig") == made.text
    assert ledger_file(store, what).text == made.text
    assert "8500.00" in made.text


@pytest.mark.parametrize(
    ("chosen", "found"),
    [
        (LedgerSettings(country="xx"), "country 'xx'"),
        (LedgerSettings(country="de"), "from memory"),
        (LedgerSettings(stagger=4), "4"),
        (LedgerSettings(country="de", take_from_memory=True, stagger=2), "2"),
        (LedgerSettings(holding_a_day="lots"), "settings of the ledger, holding_a_day: 'lots'"),
        (LedgerSettings(holding_a_day="-1"), "-£1.00"),
        (LedgerSettings(vat_number="none of yours"), "'none of yours'"),
    ],
)
def test_settings_that_may_not_be_are_refused(chosen: LedgerSettings, found: str) -> None:
    with pytest.raises(UserError) as caught:
        keep_ledger_settings(chosen, author=IDA)
    assert caught.value.problem.slug == "ledger-settings"
    assert found in str(caught.value)
    assert ledger_settings() == LedgerSettings()


def test_settings_are_kept_and_a_file_that_is_wrong_is_shown_as_such(own: Path) -> None:
    chosen = LedgerSettings(country="de", take_from_memory=True, holding_a_day="4.50", vat_number="DE 000000000")
    assert keep_ledger_settings(chosen, author=IDA).chosen == chosen
    assert ledger_rules().currency == "EUR"
    (own / "ledger.toml").write_text("stagger = true\n", encoding="utf-8")
    assert ledger_settings_shown().problems[0].slug == "ledger-settings"
    with pytest.raises(UserError):
        ledger_settings()


def test_rows_of_the_firms_own_are_laid_over_ours(own: Path) -> None:
    tables_folder().mkdir(parents=True)
    head = "id,country,from,before,percent,source\n"
    (tables_folder() / "vat_rates.csv").write_text(head + "gb-2011,gb,2011-01-04,,25,a test\n", encoding="utf-8")
    assert ledger_rules().tax_within(Decimal(500), DAY) == 100
    (tables_folder() / "vat_rates.csv").write_bytes(head.encode() + b"\xff\n")
    shown = ledger_settings_shown()
    assert (shown.tables, shown.problems[0].where) == (("vat_rates.csv",), "vat_rates.csv, line 2")


def test_a_ledger_begun_in_one_currency_is_not_read_in_another(store: Store) -> None:
    enter_in_ledger(store, bought(), author=IDA)
    keep_ledger_settings(LedgerSettings(country="de", take_from_memory=True), author=IDA)
    with pytest.raises(BadInputError) as caught:
        shown_stock(store)
    assert caught.value.problem.slug == "ledger-country"
