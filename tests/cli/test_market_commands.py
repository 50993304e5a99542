"""What a car will fetch, asked for by a command."""

import json
from pathlib import Path

import pytest

from shutline.cli import main

PRICES = """Date,Paid,sold,car,mileage,model,condition
01/03/2026,8000,yes,FGY 412H,50000,Ninety,tidy
09/10/2025,"£9,500",no,JPU 77K,30000,Ninety,fine
20/07/2026,7000,yes,KRN 5L,80000,Sixty,tidy
some day,7000,yes,,,Sixty,
"""
ASKED = ("--car", "model=Ninety, mileage=98000 km, condition=tidy", "--column", "when=Date", "--column", "price=Paid")
MORE = ("--day-form", "%d/%m/%Y", "--day", "2026-11-01")


def run(capsys: pytest.CaptureFixture[str], *arguments: str) -> tuple[int, str, str]:
    code = main(list(arguments))
    shown = capsys.readouterr()
    return code, shown.out, shown.err


@pytest.fixture
def prices(tmp_path: Path) -> str:
    path = tmp_path / "prices.csv"
    path.write_text(PRICES, encoding="utf-8")
    return str(path)


def test_words_show_the_estimate_its_promise_and_a_bridge_that_adds_up(
    prices: str, capsys: pytest.CaptureFixture[str]
) -> None:
    code, out, err = run(capsys, "will-fetch", prices, *ASKED, *MORE)
    assert code == 0
    assert "from 3 prices" in out
    assert "No guarantee" in " ".join(out.split())
    assert "mileage: 50,000 → 60,894" in out
    assert "nothing here is advice" in out
    assert "prices.csv, line 5" in err
    bridge = out[out.index("from FGY 412H") :].splitlines()[1:]
    figures = []
    for line in bridge:
        figures.append(int(line.split()[0].replace(",", "")))
        if len(line.split()) == 1 and len(figures) > 1:
            break
    assert sum(figures[:-1]) == figures[-1]


def test_json_has_the_same(prices: str, capsys: pytest.CaptureFixture[str]) -> None:
    code, out, _ = run(capsys, "will-fetch", prices, *ASKED, *MORE, "--json")
    assert code == 0
    told = json.loads(out)
    assert told["fetch"]["low"] < told["fetch"]["middle"] < told["fetch"]["high"]
    assert [one["slug"] for one in told["problems"]] == ["comparable-row"]
    words = run(capsys, "will-fetch", prices, *ASKED, *MORE)[1]
    assert f"£{told['fetch']['middle']:,}" in words


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        (("nowhere.csv", "--car", "model=Ninety"), "nowhere.csv: it cannot be read"),
        (("prices.csv", *ASKED[2:], "--car", "Ninety"), "a name, = and what it is"),
        (("prices.csv", *ASKED[2:], "--car", "mileage=many"), "mileage=61000"),
        (("prices.csv", *ASKED, "--day", "soon"), "a day such as 2026-11-26"),
        (("prices.csv", "--car", "model=Ninety"), "no column for when, price"),
    ],
)
def test_what_cannot_be_is_told(
    arguments: tuple[str, ...],
    words: str,
    prices: str,
    monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
) -> None:
    monkeypatch.chdir(Path(prices).parent)
    code, _, err = run(capsys, "will-fetch", *arguments)
    assert code == 2
    assert words in err
