"""Prices of like cars in the workbench: the same records as the command line, with who said so, refused with why."""

from __future__ import annotations

import json
import shutil
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from starlette.testclient import TestClient

from shutline.cli.commands import run
from shutline.store import Store
from shutline.usecases.comparables import kept_comparables, note_comparable, take_comparable_back

IDA = "Ida Quill"
JSON = {"accept": "application/json"}
TEXT = 'Date,Paid,How,Reg,Miles,Type\n03/05/2026,"£8,500",sold,FGY 412H,50000,<b>Ninety</b>\nsome day,1,sold,,,\n'
MEANS = ("when", "price", "sold", "car", "mileage", "attribute")


@pytest.fixture(scope="module")
def empty(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("empty") / "store"
    Store.open(folder).close()
    return folder


@pytest.fixture
def store(empty: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[Store]:
    monkeypatch.setenv("SHUTLINE_SETTINGS", str(tmp_path / "own" / "settings.toml"))
    shutil.copytree(empty, tmp_path / "store")
    with Store.open(tmp_path / "store") as opened:
        yield opened


def chosen(look: dict[str, Any]) -> dict[str, Any]:
    headings = [{**one, "means": means, "called": "model"} for one, means in zip(look["headings"], MEANS, strict=True)]
    return {
        **{name: look[name] for name in ("day_form", "sold_words", "sold", "currency", "unit")},
        "headings": headings,
    }


def noted(store: Store, price: str = "9000", **more: str) -> str:
    fields = {"when": "2026-05-03", "price": price, "sold": "sold", **more}
    return note_comparable(store, fields, {"model": "Ninety"}, author=IDA).id


def test_a_table_is_looked_at_its_columns_said_and_taken_in(client: TestClient, store: Store) -> None:
    look = client.post("/prices/look", json={"name": "p.csv", "text": TEXT}, headers=JSON).json()
    assert (look["said"], look["day_form"]) == (False, "%d/%m/%Y")
    assert look["headings"][0] == {
        "heading": "Date",
        "samples": ["03/05/2026", "some day"],
        "means": "when",
        "called": "date",
    }
    sent = {"name": "../p.csv", "text": TEXT, "chosen": chosen(look)}
    made = client.post("/prices/take-in", json=sent, headers=JSON).json()
    assert (made["new"], made["apart"], made["file"]["name"], made["file"]["author"]) == (1, 1, "p.csv", IDA)
    assert made["problems"][0]["where"] == "p.csv, line 3"
    assert [one.attributes for one in kept_comparables(store)] == [{"model": "<b>Ninety</b>"}]
    again = client.post("/prices/look", json={"name": "p.csv", "text": TEXT}, headers=JSON).json()
    assert (again["said"], again["headings"][5]["called"]) == (True, "model")
    page = client.get("/prices").text
    assert "&lt;b&gt;Ninety&lt;/b&gt;" in page
    assert "1 row kept apart" in page


def test_the_twin_is_what_the_command_line_prints(
    client: TestClient, store: Store, capsys: pytest.CaptureFixture[str]
) -> None:
    ref = noted(store, car="FGY 412H")
    noted(store, "9100", car="FGY 412H")
    for address, words in (("/prices.json", ("list",)), (f"/prices/{ref}.json", ("show", ref))):
        assert run(["comparables", *words, "--store", str(store.folder), "--json"]) == 0
        assert client.get(address).json() == json.loads(capsys.readouterr().out)


def test_one_is_noted_said_otherwise_taken_back_and_counts_again(client: TestClient, store: Store) -> None:
    fields = {"when": "2026-05-03", "price": "9000", "sold": "asked", "car": "", "unit": "miles", "mileage": ""}
    made = client.post("/prices/note", json={"fields": fields, "attributes": {"model": "Ninety"}}, headers=JSON).json()
    ref = made["id"]
    assert (made["comparable"]["sold"], made["changes"][0]["author"]) == (False, IDA)
    sent = {"fields": {"price": "9,500"}, "attributes": {}, "version": 1}
    assert client.post(f"/prices/{ref}/amend", json=sent, headers=JSON).json()["comparable"]["price"] == "9500"
    late = client.post(f"/prices/{ref}/take-back", json={"version": 1}, headers=JSON)
    assert (late.status_code, late.json()["said"]["present"]) == (409, "2026-05-03 asked £9,500 Ninety")
    assert client.post(f"/prices/{ref}/take-back", json={"version": 2}, headers=JSON).json()["holds"] is False
    assert "does not count" in client.get(f"/prices/{ref}").text
    client.post(f"/prices/{ref}/amend", json={"fields": {}, "attributes": {}, "version": 3}, headers=JSON)
    page = client.get(f"/prices/{ref}").text
    assert "price: before 9000, then 9500" in page
    assert [one.price for one in kept_comparables(store)] == [9500]


def test_prices_are_found_by_words_and_told_why_they_do_not_count(client: TestClient, store: Store) -> None:
    noted(store, car="FGY 412H", where="Merrowby")
    noted(store, "9100", car="FGY 412H")
    take_comparable_back(store, noted(store, "1"), author=IDA)
    page = client.get("/prices").text
    assert "Does not count: the same car, noted again later" in page
    assert "Does not count: taken back" in page
    assert "3 prices are kept of like cars, and 1 counts" in page
    assert "1 with these words" in client.get("/prices?words=merrowby").text
    assert "Nothing is kept with these words" in client.get("/prices?words=nowhere").text
    assert client.get("/prices?page=x").status_code == 400


def test_what_cannot_be_is_refused_and_nothing_kept(client: TestClient, store: Store) -> None:
    look = client.post("/prices/look", json={"name": "p.csv", "text": TEXT}, headers=JSON).json()
    twice = chosen(look)
    twice["headings"][2]["means"] = "price"
    nameless = chosen(look)
    nameless["headings"][5]["called"] = " "
    for sent in (twice, nameless, {**chosen(look), "day_form": "%d%d"}):
        answer = client.post("/prices/take-in", json={"name": "p", "text": TEXT, "chosen": sent}, headers=JSON)
        assert (answer.status_code, answer.json()["error"]["slug"]) == (400, "comparable-columns")
    for text in ("", "a,a\n1,2\n"):
        answer = client.post("/prices/look", json={"name": "p", "text": text}, headers=JSON)
        assert answer.json()["error"]["slug"] == "comparable-columns"
    answer = client.post("/prices/note", json={"fields": {"when": "2026-05-03"}, "attributes": {}}, headers=JSON)
    assert (answer.status_code, answer.json()["error"]["slug"]) == (400, "comparable-unfit")
    assert client.get("/prices/nothing").status_code == 404
    assert client.post("/prices/note", json={"fields": 1}, headers=JSON).json()["error"]["slug"] == "web-sent"
    assert store.comparables() == ()
    assert store.comparable_files() == ()


def test_nobody_who_was_not_let_in_sees_or_changes_prices(outside: TestClient, store: Store) -> None:
    ref = noted(store)
    for address in ("/prices", "/prices.json", "/prices.csv", f"/prices/{ref}"):
        assert outside.get(address).status_code in {303, 401, 403}
    assert outside.post(f"/prices/{ref}/take-back", json={"version": 1}).status_code in {401, 403}


def test_the_table_that_goes_out_has_no_formula(client: TestClient, store: Store) -> None:
    noted(store, source="=HYPERLINK(1)")
    answer = client.get("/prices.csv")
    assert answer.headers["content-type"].startswith("text/csv")
    assert ",'=HYPERLINK(1)," in answer.text
