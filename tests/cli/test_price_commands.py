"""The price of a car, asked for by a command: in words, with figures of one's own, kept and taken back."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from shutline.cli import main
from shutline.store import Store

CAR = "blue-pavane"
PRICES = """when,price,sold,car,mileage,model,age,condition
2026-03-01,8000,yes,FGY 412H,50000,Pavane,50,tidy
2025-10-09,"£9,500",no,JPU 77K,30000,Pavane,48,fine
2026-07-20,7000,yes,KRN 5L,80000,Corvane,52,tidy
"""


@pytest.fixture(autouse=True)
def there(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("SHUTLINE_SETTINGS", str(tmp_path / "settings.toml"))
    monkeypatch.setenv("SHUTLINE_STORE", str(tmp_path / "store"))
    prices = tmp_path / "prices.csv"
    prices.write_text(PRICES, encoding="utf-8")
    with Store.open(tmp_path / "store") as store:
        store.create_car(CAR, title="Blue Pavane")
    assert main(["comparables", "take-in", str(prices)]) == 0


def run(capsys: pytest.CaptureFixture[str], *arguments: str) -> tuple[int, str, str]:
    capsys.readouterr()
    code = main(["price", CAR, "--day", "2026-11-26", *arguments])
    shown = capsys.readouterr()
    return code, shown.out, shown.err


def test_words_tell_what_the_json_has(capsys: pytest.CaptureFixture[str]) -> None:
    code, out, _ = run(capsys)
    assert code == 0
    told = json.loads(run(capsys, "--json")[1])
    plain = " ".join(out.split())
    assert f"£{told['fetch']['middle']:,}, between £{told['fetch']['low']:,}" in plain
    assert "model: Pavane (as its title has it)" in plain
    for one in told["mosts"]:
        assert one["words"] in plain
        assert all(words in plain for words in one["movers"])
    assert f"£{told['asking']['asking']['best']['price']:,} leaves most" in plain
    assert all(words in plain for words in told["left_out"])
    assert plain.count(told["note"]) == 1


def test_what_is_said_and_given_is_kept_and_taken_back(capsys: pytest.CaptureFixture[str]) -> None:
    said = ("--say", "age=44", "--say", "condition=")
    assert run(capsys, *said, "--allowed", "5", "--asking", "8250", "--keep", "--by", "Ida Quill")[0] == 0
    told = json.loads(run(capsys, "--json")[1])
    assert told["said"]["attributes"] == {"age": "44", "condition": ""}
    assert told["said"]["figures"] == {"allowed": 5.0}
    assert told["said"]["changes"][-1]["author"] == "Ida Quill"
    assert told["asking"]["kept"] == 8250.0
    assert told["mosts"][0]["most"]["allowed"] == 0.05
    afresh = json.loads(run(capsys, "--afresh", "--json")[1])
    assert afresh["mosts"][0]["most"]["allowed"] == 0.1
    assert run(capsys, "--unsay", "age", "--unsay", "condition")[0] == 0
    assert json.loads(run(capsys, "--json")[1])["said"]["attributes"] == {}


def test_what_cannot_be_is_refused(capsys: pytest.CaptureFixture[str]) -> None:
    for wrong in (("--say", "age"), ("--day", "soon"), ("--allowed", "0"), ("--tax", "half"), ("--premium", "Dock")):
        code, out, _ = run(capsys, *wrong, "--json")
        assert (code, json.loads(out)["error"]["slug"]) == (2, "price-refused")
