"""Comparables taken in from files and noted by hand: nothing twice, nothing lost, quick when there are many."""

from __future__ import annotations

import csv
import io
import shutil
from collections.abc import Iterator
from dataclasses import replace
from itertools import pairwise
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from shutline.car.comparables import Comparable
from shutline.car.errors import BadInputError, NotFoundError, StoppedError
from shutline.market import heading_of
from shutline.store import StaleError, Store
from shutline.usecases import comparables_intake
from shutline.usecases.comparables import (
    amend_comparable,
    comparable_shown,
    comparables_shown,
    kept_comparables,
    note_comparable,
    take_comparable_back,
)
from shutline.usecases.comparables_intake import columns_for, kept_columns, take_in, text_of
from shutline.usecases.comparables_out import comparables_csv, comparables_file
from shutline.usecases.progress import Step, Stop

IDA, BEN = "Ida Quill", "Ben Marl"
HEAD = "Date,Paid,How,Reg,Miles,Type,State"
ROWS = (
    '03/05/2026,"£8,500",Sold,FGY 412H,50000,Ninety,tidy',
    "04/05/2026,9000,asked,JPU 77K,30000,Ninety,fine",
    "05/05/2026,7000,sold,KRN 5L,80000,Sixty,tidy",
    "06/05/2026,7000,sold,,80000,Sixty,tidy",
    '06/05/2026,"£7,000",sold,,80000,Sixty,tidy',
)
SAID = {"when": "Date", "price": "Paid", "sold": "How", "car": "Reg", "mileage": "Miles", "model": "Type"}


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
        yield opened


def table(*rows: str) -> str:
    return "\r\n".join((HEAD, *rows)) + "\r\n"


def brought(store: Store, text: str, **more: object) -> tuple[int, int, int, int]:
    columns = columns_for(store, text, SAID, day_form="%d/%m/%Y")
    made = take_in(store, text, columns, name="prices.csv", author=IDA, **more)  # type: ignore[arg-type]
    return made.new, made.anew, made.there, made.apart


def said(store: Store) -> set[Comparable]:
    """Give what is kept, wherever it stood; two attributes are told apart by their order nowhere."""
    return {replace(one, line="", attributes=_Still(one.attributes)) for one in kept_comparables(store)}


class _Still(dict[str, str]):
    def __hash__(self) -> int:  # type: ignore[override]
        return hash(tuple(sorted(self.items())))


def test_columns_are_said_once_for_the_same_headings_and_another_way_is_a_new_version(store: Store) -> None:
    assert brought(store, table(*ROWS)) == (4, 0, 1, 0)
    kept = kept_columns(store, heading_of(table()))
    assert kept is not None
    assert kept.attributes == {"model": "Type", "state": "State"}
    later = take_in(store, table("07/05/2026,6000,sold,LLN 1M,1,Sixty,fair"), name="later.csv", author=BEN)
    assert (later.new, later.columns) == (1, kept)
    assert kept_comparables(store)[-1].attributes == {"model": "Sixty", "state": "fair"}
    other = columns_for(store, table(), {"condition": "State"}, leave_out=["Miles"])
    made = take_in(store, table(*ROWS), other, name="prices.csv", author=BEN)
    assert (made.new, made.anew, made.there) == (0, 4, 1)
    first = kept_comparables(store)[0]
    assert (first.condition, first.attributes, first.mileage) == ("tidy", {"model": "Ninety"}, None)
    record = store.comparable_columns(heading_of(table()))
    assert record is not None
    assert [one.author for one in record.changes] == [IDA, BEN]


def test_without_a_word_headings_that_are_named_like_fields_are_taken(store: Store) -> None:
    made = take_in(store, "When,Price,Model\n2026-05-03,8500,Ninety\n", name="plain.csv", author=IDA)
    assert (made.new, made.columns.attributes) == (1, {"model": "Model"})
    assert store.comparable_columns(("When", "Price", "Model")) is None
    with pytest.raises(BadInputError) as caught:
        take_in(store, table(*ROWS), name="prices.csv", author=IDA)
    assert caught.value.problem.slug == "comparable-columns"
    assert store.comparable_files()[0].name == "plain.csv"


def test_a_file_brought_in_twice_adds_nothing_twice_and_says_so(store: Store) -> None:
    brought(store, table(*ROWS))
    before = store.comparables()
    made = take_in(store, table(*ROWS), name="again.csv", author=BEN)
    assert (made.new, made.there, store.comparables()) == (0, 5, before)
    (told,) = made.problems
    assert (told.slug, told.where, told.found) == (
        "comparable-there",
        "again.csv, lines 2-6",
        "5 rows that are kept already",
    )


def test_what_a_person_changed_stays_when_its_file_comes_again(store: Store) -> None:
    brought(store, table(*ROWS))
    first, second = store.comparables()[:2]
    amend_comparable(store, first.id, {"price": "8400"}, {"Model": "", "body": "saloon"}, author=BEN)
    take_comparable_back(store, second.id, author=BEN)
    made = take_in(store, table(*ROWS), name="prices.csv", author=IDA)
    assert (made.there, made.changed, made.taken_back) == (5, 1, 1)
    assert [one.found for one in made.problems] == [
        "3 rows that are kept already",
        "a row that is kept as a person changed it",
        "a row that was taken back by a person",
    ]
    kept = kept_comparables(store)
    assert (str(kept[0].price), kept[0].attributes) == ("8400", {"state": "tidy", "body": "saloon"})
    assert "JPU 77K" not in {one.car for one in kept}


def test_rows_that_cannot_be_read_are_kept_apart_as_they_came(store: Store) -> None:
    bad = ("x,7000,sold,A,1,Sixty,tidy", '01/01/2026,7000,sold,B,1,Sixty,"tidy', "01/01/2050,7000,sold,C,1,Sixty,tidy")
    assert brought(store, table(bad[0], ROWS[0], bad[1], ROWS[1], bad[2])) == (2, 0, 0, 3)
    (file,) = store.comparable_files()
    assert [(one.line, one.text.strip(), one.found[:10]) for one in file.apart] == [
        (2, bad[0], "day 'x'"),
        (4, bad[1], "quotes or "),
        (6, bad[2], "the day 20"),
    ]


PARTS = st.lists(st.integers(0, len(ROWS) + 2), min_size=1, max_size=14)


@settings(suppress_health_check=[HealthCheck.function_scoped_fixture], max_examples=8, deadline=None)
@given(PARTS, st.lists(st.integers(1, 13), max_size=3), st.randoms(use_true_random=False))
def test_whatever_the_cut_and_the_order_the_same_is_kept(
    empty: Path, tmp_path_factory: pytest.TempPathFactory, numbers: list[int], cuts: list[int], random: object
) -> None:
    more = (
        *ROWS,
        "07/05/2026,6000,sold,LLN 1M,1,Sixty,",
        "no day,1,sold,,,,",
        "08/05/2026,6000.0,sold,LLN 1M,1,Sixty,",
    )
    rows = [more[number] for number in numbers]
    shuffled = list(rows)
    random.shuffle(shuffled)  # type: ignore[attr-defined]
    ends = sorted({0, len(rows), *(cut for cut in cuts if cut < len(rows))})
    found = []
    for files in ([table(*rows)], [table(*shuffled[start:end]) for start, end in pairwise(ends)]):
        folder = tmp_path_factory.mktemp("cut") / "store"
        shutil.copytree(empty, folder)
        with Store.open(folder) as store:
            for text in files:
                brought(store, text)
            found.append(said(store))
            assert len(kept_comparables(store)) == len(found[-1])
    assert found[0] == found[1]


HOSTILE = st.text(st.sampled_from("a=+-@'\t\"\n, £é1\x00\u2028"), max_size=12)


@settings(max_examples=60, deadline=None)
@given(st.lists(st.tuples(HOSTILE, HOSTILE, HOSTILE), min_size=1, max_size=4))
def test_no_cell_that_goes_out_is_a_formula_and_it_comes_in_again_as_it_was(rows: list[tuple[str, str, str]]) -> None:
    from shutline.market import comparable_of, read_comparables

    given_fields = ({"when": "2026-05-03", "price": "8500", "sold": "no", "car": car, "source": source}
                    for car, source, _ in rows)  # fmt: skip
    kept = [
        comparable_of(fields, {"model": model, "price": model})
        for fields, (_, _, model) in zip(given_fields, rows, strict=True)
    ]
    text = comparables_csv(kept)
    for cells in csv.reader(io.StringIO(text, newline="")):
        assert not any(cell.startswith(("=", "+", "-", "@", "\t", "\r")) for cell in cells)
    read = read_comparables(text, name="out.csv")
    assert read.problems == ()
    again = [replace(one, line="") for one in read.comparables]
    wanted = [
        replace(one, attributes={"price (attribute)" if name == "price" else name: text for name, text in
                                 one.attributes.items()})
        for one in kept
    ]  # fmt: skip
    assert again == wanted


def test_what_was_written_out_adds_nothing_when_it_comes_in_again(store: Store, tmp_path: Path) -> None:
    brought(store, table(*ROWS))
    note_comparable(
        store, {"when": "2026-05-03", "price": "1", "sold": "asked", "source": "=HYPERLINK(1)"}, {}, author=IDA
    )
    made = comparables_file(store, path=tmp_path / "out.csv")
    assert (made.rows, "'=HYPERLINK" in made.text) == (5, True)
    again = take_in(store, tmp_path / "out.csv", author=BEN)
    assert (again.new, again.there) == (0, 5)


@pytest.mark.parametrize(
    ("data", "slug"),
    [
        (b"When,Price\n2026-05-03,\xa38500\n", "not-readable"),
        (b"\xff\xfeW\x00h\x00", "not-readable"),
        (None, "no-such-file"),
    ],
)
def test_a_file_that_is_no_table_of_text_is_told(data: bytes | None, slug: str, tmp_path: Path) -> None:
    file = tmp_path / "prices.csv"
    if data is not None:
        file.write_bytes(data)
    with pytest.raises(NotFoundError) as caught:
        text_of(file)
    assert caught.value.problem.slug == slug


def test_a_huge_file_is_refused_before_it_is_read(tmp_path: Path, store: Store) -> None:
    file = tmp_path / "huge.csv"
    with file.open("wb") as opened:
        opened.truncate(20_000_001)
    with pytest.raises(BadInputError) as caught:
        take_in(store, file, author=IDA)
    assert caught.value.problem.slug == "comparable-file"


@pytest.mark.parametrize(
    "text",
    [
        "",
        "\n",
        "\ufeff",
        '"',
        "When,Price\n" + '"' * 4001,
        "When,Price\n" + '"a\n' * 3000,
        "When,Price\n" + "x" * 200_000,
    ],
)
def test_a_hostile_file_costs_its_bad_rows_alone(text: str, store: Store) -> None:
    try:
        made = take_in(store, text, name="hostile.csv", author=IDA)
    except BadInputError as error:
        assert error.problem.slug == "comparable-columns"  # noqa: PT017
    else:
        assert (made.new, made.rows) == (0, made.apart)


def test_five_thousand_rows_come_in_and_are_read(store: Store) -> None:
    rows = [
        f"{1 + at % 28:02d}/{1 + at % 12:02d}/2025,{3000 + at},sold,AB {at} C,{1000 + at},Ninety,tidy"
        for at in range(5000)
    ]
    told: list[Step] = []
    assert brought(store, table(*rows), tell=told.append) == (5000, 0, 0, 0)
    assert [one.done for one in told] == sorted(one.done for one in told)
    assert told[-1].done == 1
    assert len(kept_comparables(store)) == 5000


def test_stopped_it_keeps_what_is_in_and_goes_on_when_it_comes_again(
    store: Store, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(comparables_intake, "_PIECE", 10)
    rows = [f"01/02/2025,{3000 + at},sold,AB {at} C,,Ninety,tidy" for at in range(25)]
    stop = Stop()

    def tell(step: Step) -> None:
        if step.done > 0.6:
            stop.ask()

    with pytest.raises(StoppedError):
        brought(store, table(*rows), tell=tell, stop=stop)
    assert len(kept_comparables(store)) == 10
    assert brought(store, table(*rows)) == (15, 0, 10, 0)


def test_by_hand_it_is_noted_amended_and_let_count_again(store: Store) -> None:
    fields = {
        "when": "2026-05-03",
        "price": "£8,500",
        "sold": "sold",
        "car": "FGY 412H",
        "mileage": "98000",
        "unit": "km",
    }
    kept = note_comparable(store, fields, {"Model": "Ninety"}, author=IDA)
    assert note_comparable(store, fields, {"model": "Ninety"}, author=BEN) == kept
    changed = amend_comparable(store, kept.id[:5], {"mileage": "", "condition": "tidy"}, {}, version=1, author=BEN)
    assert (changed.comparable.mileage, changed.comparable.condition) == (None, "tidy")
    with pytest.raises(StaleError):
        take_comparable_back(store, kept.id, version=1, author=IDA)
    take_comparable_back(store, kept.id, author=IDA)
    assert kept_comparables(store) == ()
    amend_comparable(store, kept.id, {}, {}, author=BEN)
    assert [one.action for one in comparable_shown(store, kept.id).changes] == [
        "noted",
        "amended",
        "taken back",
        "holds again",
    ]


@pytest.mark.parametrize(
    ("fields", "attributes", "found"),
    [
        ({"price": "8500", "sold": "sold"}, {}, "no 'when'"),
        ({"when": "2026-05-03", "price": "many", "sold": "sold"}, {}, "price 'many'"),
        ({"when": "2026-05-03", "price": "1", "sold": "perhaps"}, {}, "sold: 'perhaps'"),
        ({"when": "2050-05-03", "price": "1", "sold": "sold"}, {}, "the day 2050-05-03"),
        ({"when": "2026-05-03", "price": "1", "sold": "sold", "colour": "red"}, {}, "entries colour"),
        ({"when": "2026-05-03", "price": "1", "sold": "sold"}, {" ": "red"}, "an attribute called"),
        ({"when": "2026-05-03", "price": "1", "sold": "sold", "where": "x" * 301}, {}, "301 characters"),
        ({"when": "2026-05-03", "price": "1", "sold": "sold", "currency": "pounds"}, {}, "currency 'pounds'"),
    ],
)
def test_what_cannot_be_is_refused(
    fields: dict[str, str], attributes: dict[str, str], found: str, store: Store
) -> None:
    with pytest.raises(BadInputError) as caught:
        note_comparable(store, fields, attributes, author=IDA)
    assert caught.value.problem.slug == "comparable-unfit"
    assert found in caught.value.problem.found
    assert store.comparables() == ()


def test_all_are_shown_with_why_some_do_not_count_and_found_by_their_words(store: Store) -> None:
    brought(store, table(*ROWS))
    usual = {"when": "2026-06-01", "price": "9100", "sold": "sold"}
    note_comparable(store, {**usual, "car": "FGY 412H"}, {}, author=IDA)
    note_comparable(store, {**usual, "currency": "EUR"}, {}, author=IDA)
    back = note_comparable(store, {**usual, "where": "Merrowby"}, {}, author=IDA)
    take_comparable_back(store, back.id, author=BEN)
    shown = comparables_shown(store)
    assert (shown.all, shown.counting) == (7, 4)
    assert [one.why_not for one in shown.lines if not one.counts] == [
        "the same car, noted again later",
        "another currency",
        "taken back",
    ]
    assert {one.slug for one in shown.problems} == {"comparable-twice", "comparable-currency"}
    assert [one.comparable.car for one in comparables_shown(store, words="sixty KRN").lines] == ["KRN 5L"]
    assert [one.comparable.currency for one in comparables_shown(store, currency="EUR").lines if one.counts] == ["EUR"]
    with pytest.raises(NotFoundError) as caught:
        take_comparable_back(store, "", author=BEN)
    assert caught.value.problem.slug == "comparable-unknown"
