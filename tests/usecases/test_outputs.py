"""What is made of a car is kept while it holds, made anew once it does not, and never has what was struck."""

from __future__ import annotations

import json
import shutil
import threading
from collections.abc import Iterator
from datetime import UTC, datetime
from pathlib import Path

import pytest

from shutline.car.errors import NotFoundError, UserError
from shutline.store import Store
from shutline.usecases.add import add
from shutline.usecases.description_settings import DescriptionDetails, keep_description
from shutline.usecases.house import HouseDetails, keep_house
from shutline.usecases.outputs import Output, make_outputs, output_file, outputs
from shutline.usecases.report import WHATS, make_report
from shutline.usecases.review import confirm, strike
from shutline.usecases.words_editing import keep_words

WORDS = """WEBVTT

00:00:01.000 --> 00:00:06.000
Nearside sill is rotten. The door is straight, no dents.

00:00:06.500 --> 00:00:12.000
It was made in nineteen sixty-eight. The offside tyre is cracked.
"""
FIRST, LATER = datetime(2026, 11, 1, 9, tzinfo=UTC), datetime(2026, 11, 20, 9, tzinfo=UTC)


@pytest.fixture(autouse=True)
def own(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("SHUTLINE_SETTINGS", str(tmp_path / "own" / "settings.toml"))
    monkeypatch.setenv("SHUTLINE_WORDS", str(tmp_path / "own" / "words"))


@pytest.fixture(scope="module")
def told(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The folder of a store with one car that was spoken of; copied for each test."""
    folder = tmp_path_factory.mktemp("told")
    words = folder / "walk.vtt"
    words.write_text(WORDS, encoding="utf-8")
    with Store.open(folder / "store") as opened:
        add(opened, [words], car="blue", title="Café: 1968 \u202eblue/green?")
    return folder / "store"


@pytest.fixture
def store(told: Path, tmp_path: Path) -> Iterator[Store]:
    shutil.copytree(told, tmp_path / "store")
    with Store.open(tmp_path / "store") as opened:
        yield opened


def made(store: Store, what: str) -> Output:
    return next(output for output in outputs(store, "blue").outputs if output.what == what)


def read(store: Store, name: str) -> bytes:
    return output_file(store, "blue", name)[0].read_bytes()


def test_nothing_is_made_until_somebody_asks(store: Store) -> None:
    assert {output.made_at for output in outputs(store, "blue").outputs} == {None}
    assert not (store.folder / "outputs").exists()


def test_what_is_made_is_what_the_report_command_writes(store: Store, tmp_path: Path) -> None:
    make_outputs(store, "blue", made_at=FIRST)
    for file in make_report(store, "blue", out=tmp_path / "out", made_at=FIRST).files:
        assert read(store, Path(file.path).name) == Path(file.path).read_bytes()
    assert {output.fresh for output in outputs(store, "blue").outputs} == {True}


def test_it_is_kept_while_the_car_stays_as_it_is(store: Store) -> None:
    make_outputs(store, "blue", only=["html"], made_at=FIRST)
    make_outputs(store, "blue", only=["html"], made_at=LATER)
    assert made(store, "html").made_at == "2026-11-01T09:00:00Z"


def test_what_is_struck_makes_all_of_them_out_of_date_and_stands_in_none(store: Store) -> None:
    make_outputs(store, "blue", made_at=FIRST)
    assert b'"rust"' in read(store, "car-file.json")
    sill = [kept.id for kept in store.car_file("blue").findings if "is rotten" in kept.finding.footings[0].quote]
    year = next(kept for kept in store.car_file("blue").facts if kept.fact.name == "year")
    strike(store, "blue", [*sill, year.id], author="Ida")
    assert {(output.fresh, output.files) for output in outputs(store, "blue").outputs} == {(False, ())}
    assert made(store, "html").made_at == "2026-11-01T09:00:00Z"
    page = read(store, "report.html").decode()
    assert "is rotten" not in page
    assert "tyre is cracked" in page
    given = json.loads(read(store, "car-file.json"))
    assert not any(id_ in json.dumps(given) for id_ in sill)
    assert year.id not in json.dumps(given)
    assert {kept["finding"]["state"] for kept in given["findings"]} == {"heard"}


def test_the_house_makes_the_report_out_of_date_and_nothing_else(store: Store) -> None:
    make_outputs(store, "blue", made_at=FIRST)
    keep_house(HouseDetails("Halloran & Pike"), author="Ida")
    stale = {output.what for output in outputs(store, "blue").outputs if not output.fresh}
    assert stale == {"html", "pdf", "description"}
    assert "Halloran &amp; Pike" in read(store, "report.html").decode()
    keep_house(HouseDetails("Halloran & Pike", sign="Ida"), author="Ida")
    assert made(store, "html").fresh


def test_words_of_ones_own_make_what_follows_the_walk_out_of_date(store: Store) -> None:
    make_outputs(store, "blue", made_at=FIRST)
    heading = "id,condition,found,severity,part,phrases,source,example,counter_example"
    keep_words("conditions", f"{heading}\nskanky,dirt,yes,,,skanky,house words,a skanky sill,sky\n", author="Ida")
    fresh = {output.what for output in outputs(store, "blue").outputs if output.fresh}
    assert fresh == {"json", "captions", "description"}


def test_a_description_is_made_anew_once_something_stands_or_the_house_speaks_otherwise(store: Store) -> None:
    make_outputs(store, "blue", only=["description"], made_at=FIRST)
    assert "sill" not in read(store, "description.txt").decode().partition("Nobody has spoken of")[0]
    names = {"description.txt", "description.html", "description.md", "offer.jsonld"}
    assert {file.name for file in made(store, "description").files} == names
    confirm(store, "blue", [kept.id for kept in store.car_file("blue").findings], author="Ida Quill")
    assert not made(store, "description").fresh
    assert "The nearside sill has bad rust." in read(store, "description.txt").decode()
    keep_description(DescriptionDetails(closing=("Ring first.",)), author="Ida Quill")
    assert not made(store, "description").fresh
    assert "Ring first." in read(store, "description.html").decode()


def test_what_is_out_of_date_is_taken_away_once_it_is_made_anew(store: Store) -> None:
    make_outputs(store, "blue", only=["html"], made_at=FIRST)
    keep_house(HouseDetails("Halloran & Pike"), author="Ida")
    make_outputs(store, "blue", only=["html"], made_at=LATER)
    assert len(list((store.folder / "outputs" / "blue").iterdir())) == 1


def test_a_file_is_handed_out_under_the_cars_name_with_nothing_a_system_refuses(store: Store) -> None:
    assert output_file(store, "blue", "report.html")[1] == "Café 1968 blue green - report.html"


@pytest.mark.parametrize("name", ["made.json", "../../shutline.sqlite", "captions-2.vtt", "report.HTML", ""])
def test_no_other_file_is_handed_out(store: Store, name: str) -> None:
    with pytest.raises(NotFoundError):
        output_file(store, "blue", name)


def test_what_cannot_be_made_is_said(store: Store) -> None:
    with pytest.raises(UserError, match="one of html"):
        make_outputs(store, "blue", only=["docx"])
    assert tuple(output.what for output in outputs(store, "blue").outputs) == WHATS


def test_several_at_once_make_one(store: Store) -> None:
    failed: list[BaseException] = []

    def run() -> None:
        try:
            make_outputs(store, "blue", only=["html"], made_at=FIRST)
        except BaseException as error:  # noqa: BLE001 - whatever it is, the test must see it
            failed.append(error)

    threads = [threading.Thread(target=run) for _ in range(4)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert failed == []
    assert [path.name.partition("-")[0] for path in (store.folder / "outputs" / "blue").iterdir()] == ["html"]
