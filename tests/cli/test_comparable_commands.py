"""Comparables by commands: the same as the use cases give, each verb and option documented."""

from __future__ import annotations

import json
import re
from pathlib import Path

import msgspec
import pytest
from typer.main import get_command

from shutline.cli import comparable_commands, main
from shutline.store import Store
from shutline.usecases.comparables import comparables_shown
from shutline.usecases.market_settings import market_settings_shown

ROOT = Path(__file__).parents[2]
COMMANDS = get_command(comparable_commands.app).commands  # type: ignore[attr-defined]
PRICES = """Date,Paid,How,Reg,Miles,Type,State
03/05/2026,"£8,500",sold,FGY 412H,50000,Ninety,tidy
04/05/2026,9000,asked,JPU 77K,30000,Ninety,fine
some day,7000,sold,KRN 5L,80000,Sixty,tidy
"""
SAID = [f"--column={one}" for one in ("when=Date", "price=Paid", "sold=How", "car=Reg", "mileage=Miles", "model=Type")]
Capture = pytest.CaptureFixture[str]


@pytest.fixture(autouse=True)
def own(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("SHUTLINE_STORE", str(tmp_path / "store"))
    monkeypatch.setenv("SHUTLINE_SETTINGS", str(tmp_path / "own" / "settings.toml"))
    monkeypatch.setenv("SHUTLINE_AUTHOR", "Ida Quill")
    Store.open(tmp_path / "store").close()
    (tmp_path / "prices.csv").write_text(PRICES, encoding="utf-8")
    monkeypatch.chdir(tmp_path)


def run(capsys: Capture, *words: str) -> tuple[int, str, str]:
    code = main(list(words))
    shown = capsys.readouterr()
    return code, shown.out, shown.err


def told(capsys: Capture, *words: str) -> dict[str, object]:
    code, out, _ = run(capsys, *words, "--json")
    assert code == 0
    found: dict[str, object] = json.loads(out)
    return found


def taken_in(capsys: Capture) -> None:
    code, out, err = run(capsys, "comparables", "take-in", "prices.csv", *SAID, "--day-form", "%d/%m/%Y")
    assert code == 0
    assert "3 rows: 2 new, 0 read anew, 0 there already, 1 kept apart" in out
    assert "attribute model = Type" in " ".join(out.split())
    assert "prices.csv, line 4: day 'some day'" in err


def test_every_verb_has_help_with_an_example_and_all_its_options_are_documented(capsys: Capture) -> None:
    text = (ROOT / "docs/commands.md").read_text(encoding="utf-8")
    assert len(COMMANDS) == 7
    for name, command in COMMANDS.items():
        out = run(capsys, "comparables", name, "--help")[1]
        assert re.search(rf"Example: shutline comparables {name}\b", out), name
        assert f"`shutline comparables {name}" in text
        for option in (one for parameter in command.params for one in (*parameter.opts, *parameter.secondary_opts)):
            assert not option.startswith("--") or f"`{option}" in text, (name, option)


def test_json_is_what_the_use_cases_give(capsys: Capture, tmp_path: Path) -> None:
    taken_in(capsys)
    with Store.open(tmp_path / "store") as store:
        wanted = comparables_shown(store)
    assert told(capsys, "comparables", "list") == json.loads(json.dumps(msgspec.to_builtins(wanted)))
    assert told(capsys, "market-settings") == json.loads(json.dumps(msgspec.to_builtins(market_settings_shown())))


def test_what_is_taken_in_needs_no_word_the_second_time_and_is_what_will_fetch_goes_by(capsys: Capture) -> None:
    taken_in(capsys)
    again = told(capsys, "comparables", "take-in", "prices.csv")
    assert (again["new"], again["there"], again["apart"]) == (0, 2, 1)
    asked = ("--car", "Model=Ninety, mileage=40000", "--day", "2026-11-01")
    code, out, _ = run(capsys, "will-fetch", *asked)
    assert (code, "from 2 prices" in out) == (0, True)
    run(capsys, "market-settings", "--set", "told.level=0.6")
    fetch = told(capsys, "will-fetch", *asked)["fetch"]
    assert isinstance(fetch, dict)
    assert fetch["level"] == 0.6
    assert run(capsys, "will-fetch", *asked, "--column", "price=Paid")[0] == 2


def test_one_is_noted_amended_taken_back_and_written_out(capsys: Capture, tmp_path: Path) -> None:
    made = told(
        capsys,
        *("comparables", "note", "£8,500", "--day", "2026-05-03", "--car", "FGY 412H", "--mileage", "98000 km"),
        *("--attribute", "model=Ninety", "--source", "=SUM(A1)", "--asked"),
    )
    ref = str(made["id"])
    code, out, _ = run(capsys, "comparables", "amend", ref[:6], "--sold", "--price", "8400", "--mileage", "")
    assert (code, "sold   £8,400  FGY 412H, Ninety, =SUM(A1)" in out) == (0, True)
    code, _, err = run(capsys, "comparables", "take-back", ref, "--version", "1")
    assert (code, "changed" in err) == (2, True)
    assert "taken back by Ida Quill" in run(capsys, "comparables", "take-back", ref)[1]
    assert "(taken back)" in run(capsys, "comparables", "list", "ninety")[1]
    assert "0 of 1 count" in run(capsys, "comparables", "list", "sixty")[1]
    run(capsys, "comparables", "amend", ref)
    assert "holds again by Ida Quill" in run(capsys, "comparables", "show", ref)[1]
    assert "Written: " in run(capsys, "comparables", "write", "--out", "out.csv")[1]
    assert (tmp_path / "out.csv").read_text(encoding="utf-8").splitlines()[1].endswith(",'=SUM(A1),Ninety")


@pytest.mark.parametrize(
    ("words", "found"),
    [
        (("comparables", "take-in", "nowhere.csv"), "nowhere.csv: it cannot be read"),
        (("comparables", "take-in", "prices.csv"), "no column for when, price"),
        (("comparables", "take-in", "prices.csv", *SAID, "--day-form", "%d%d"), "day, month and year"),
        (("comparables", "note", "many", "--day", "2026-05-03"), "price 'many'"),
        (("comparables", "note", "1", "--attribute", "model"), "a name, = and what it is"),
        (("comparables", "show", "abc"), "there is none of that id"),
        (("market-settings", "--set", "money.interest=x"), "a number"),
        (("market-settings", "--premium", "Dock Street"), "both together"),
        (("market-settings", "--premium", "Dock Street", "--tier", "5:x"), "rising tiers"),
        (("market-settings", "--premium", "Dock Street", "--tier", "0:101"), "from 0 to 100 per cent"),
    ],
)
def test_what_cannot_be_is_told(words: tuple[str, ...], found: str, capsys: Capture) -> None:
    code, _, err = run(capsys, *words)
    assert code == 2
    assert found in err


def test_settings_of_the_market_are_said_and_shown(capsys: Capture, tmp_path: Path) -> None:
    (tmp_path / "index.csv").write_text("day,level,source\n2026-01-01,100,ours\n", encoding="utf-8")
    code, out, _ = run(
        capsys,
        *("market-settings", "--set", "money.fees=1,2,3", "--premium", "Dock Street", "--tier", "0:10"),
        *("--tier", "1000:5:20", "--vat", "20", "--cap", "1500", "--counts", "--index", "index.csv"),
    )
    assert code == 0
    assert "money.fees = 40, 90, 200  yours: 1, 2, 3" in out
    assert "premium of Dock Street: above £0 10 %; above £1,000 5 % and £20, £1,500 at the most, 20 % tax on it" in out
    assert "index: 1 row, 2026-01-01 at 100" in out
    dropped = told(capsys, "market-settings", "--unset", "money.fees", "--drop-premium", "Dock Street", "--drop-index")
    assert (dropped["premiums"], dropped["index"]) == ([], [])
