"""The verbs of the ledger: in words and JSON, every one with an example, every option documented, errors by slug."""

from __future__ import annotations

import json
import re
import shutil
from pathlib import Path

import pytest
from typer.main import get_command

from shutline.cli import main
from shutline.cli.ledger_commands import app
from shutline.ledger import rules_of
from shutline.store import Store
from shutline.usecases.ledger_shown import shown_entries, shown_forecourt, shown_stock, shown_totals

ROOT = Path(__file__).resolve().parents[2]
COMMANDS = get_command(app).commands  # type: ignore[attr-defined]
Capture = pytest.CaptureFixture[str]


@pytest.fixture(autouse=True)
def own(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("SHUTLINE_STORE", str(tmp_path / "store"))
    monkeypatch.setenv("SHUTLINE_SETTINGS", str(tmp_path / "own" / "settings.toml"))
    monkeypatch.setenv("SHUTLINE_AUTHOR", "Ida Quill")
    Store.open(tmp_path / "store").close()


def run(capsys: Capture, *words: str) -> tuple[int, str, str]:
    code = main(["ledger", *words])
    shown = capsys.readouterr()
    return code, shown.out, shown.err


def given(capsys: Capture, *words: str) -> str:
    code, out, err = run(capsys, *words)
    assert (code, err) == (0, ""), err
    return out


def as_json(capsys: Capture, *words: str) -> dict:
    return json.loads(given(capsys, *words, "--json"))


def refusal(capsys: Capture, *words: str) -> dict:
    code, out, err = run(capsys, *words, "--json")
    assert (code, err) == (2, "")
    return json.loads(out)["error"]


@pytest.fixture
def sold(capsys: Capture) -> None:
    """A car bought, spent on, sold with a deposit, and another taken in for it."""
    given(
        capsys,
        "buy",
        "Corvane Ninety, FGY 412H",
        "8500",
        "--from",
        "Tobias Wend",
        "--address",
        "Merrowby",
        "--day",
        "2026-01-05",
    )
    given(
        capsys, "spend", "1", "240", "--for", "sills", "--to", "Tansley Welding", "--vat", "40", "--day", "2026-01-06"
    )
    given(capsys, "deposit", "1", "200", "--from", "Augusta Harbottle", "--day", "2026-01-20")
    for question in rules_of().questions:
        if not question.after:
            given(capsys, "answer", "1", question.id, "no", "--note", "papers seen")
    out = given(
        capsys,
        "sell",
        "1",
        "12,000",
        "--to",
        "Augusta Harbottle",
        "--address",
        "Tansley",
        "--paper",
        "S1",
        "--day",
        "2026-02-10",
    )
    assert "VAT of £583.33 is owed on it, from the margin; the margin is £3,500.00." in " ".join(out.split())
    given(
        capsys,
        "buy",
        "Calder Merlin, OLD 1",
        "3000",
        "--from",
        "Augusta Harbottle",
        "--against",
        "4",
        "--day",
        "2026-02-10",
    )


def test_every_verb_has_help_with_an_example_and_all_its_options_are_documented(capsys: Capture) -> None:
    text = (ROOT / "docs/commands.md").read_text(encoding="utf-8")
    assert len(COMMANDS) == 17
    for name, command in COMMANDS.items():
        out = given(capsys, name, "--help")
        assert re.search(rf"Example: shutline ledger {name}\b", out), name
        assert f"`shutline ledger {name}" in text
        for option in (one for parameter in command.params for one in (*parameter.opts, *parameter.secondary_opts)):
            assert not option.startswith("--") or f"`{option}" in text, (name, option)


@pytest.mark.usefixtures("sold")
def test_json_is_what_the_use_cases_give(capsys: Capture, tmp_path: Path) -> None:
    import msgspec

    with Store.open(tmp_path / "store") as store:
        wanted = {
            ("stock",): shown_stock(store),
            ("entries",): {"entries": shown_entries(store)},
            ("quarter", "--day", "2026-02-01"): shown_totals(store, day=shown_entries(store)[0].entry.day),
            ("forecourt",): shown_forecourt(store),
        }
    for words, told in wanted.items():
        assert as_json(capsys, *words) == json.loads(json.dumps(msgspec.to_builtins(told)))


@pytest.mark.usefixtures("sold")
def test_the_verbs_tell_the_same_in_words(capsys: Capture) -> None:
    assert "Margin on sale: 3500.00; VAT due: 583.33" in " ".join(given(capsys, "stock").split())
    assert "cost  £240.00 with VAT of £40.00  Tansley Welding, sills" in given(capsys, "entries", "--stock", "1")
    quarter = given(capsys, "quarter", "--start", "2026-01-01", "--end", "2026-03-31")
    assert "box 6: £11,416.67" in quarter
    assert "box 1 £583.33, box 6 £11,416.67" not in quarter
    each = given(capsys, "quarter", "--start", "2026-01-01", "--end", "2026-03-31", "--each")
    assert "box 1 £583.33, box 6 £11,416.67" in each
    assert "cost  Tansley Welding: box 4 £40.00, box 7 £200.00" in each
    assert "£2,716.67, £75.46 a day" in given(capsys, "forecourt", "--day", "2026-03-01")
    assert "No, said Ida Quill on" in " ".join(given(capsys, "answer", "1").split())
    assert "Assets:Stock:00001  8500.00 GBP" in given(capsys, "journal")


@pytest.mark.usefixtures("sold")
def test_files_are_written_where_they_are_asked_for(capsys: Capture, tmp_path: Path) -> None:
    for name in ("stock", "entries", "journal"):
        out = given(capsys, name, "--out", str(tmp_path / f"out/{name}"))
        assert str(tmp_path / f"out/{name}") in out
        assert "Corvane Ninety" in (tmp_path / f"out/{name}").read_text(encoding="utf-8-sig")


@pytest.mark.usefixtures("sold")
def test_what_came_back_and_what_was_wrong_is_entered_by_the_number_of_its_entry(capsys: Capture) -> None:
    cost = as_json(capsys, "spend", "2", "117.50", "--for", "tyres", "--to", "Tansley Tyres", "--rate", "17.5")["entry"]
    assert (cost["vat"]["amount"], cost["rate"]) == ("17.50", "17.5")
    wrong = as_json(capsys, "reverse", "2", "--why", "another car")
    assert wrong["entry"]["amount"]["amount"] == "240.00"
    assert "reversed by entry 7" in given(capsys, "entries")
    back = as_json(capsys, "give-back", "4", "--why", "rejected: gearbox", "--amount", "11900")
    assert (back["entry"]["stock"], back["entry"]["against"]) == (1, 4)


@pytest.mark.usefixtures("sold")
def test_an_invoice_needs_the_house_and_shows_no_price_paid(capsys: Capture, tmp_path: Path) -> None:
    assert refusal(capsys, "invoice", "4")["slug"] == "ledger-invoice"
    (tmp_path / "own").mkdir(exist_ok=True)
    (tmp_path / "own/house.toml").write_text('name = "Halloran & Pike"\nlines = ["Dock Street"]\n', encoding="utf-8")
    out = given(capsys, "invoice", "4")
    assert "Part exchange, Calder Merlin, OLD 1: -£3,000.00" in out
    assert "8,500" not in out
    for words in (("invoice", "4"), ("stock",)):
        given(capsys, *words, "--pdf", str(tmp_path / "paper.pdf"))
        assert (tmp_path / "paper.pdf").read_bytes().startswith(b"%PDF-1.7")
    assert refusal(capsys, "stock", "--pdf", "a.pdf", "--out", "a.csv")["slug"] == "command-line"


def test_an_import_and_the_clock_keep_nothing(capsys: Capture, tmp_path: Path) -> None:
    shutil.rmtree(tmp_path / "store")
    told = as_json(capsys, "import", "20000", "--arrived", "2026-06-01", "--said", "original=yes", "--costs", "500")
    assert {way["id"]: way["vat"]["amount"] for way in told["ways"]}["collectors"] == "1025.00"
    rights = as_json(
        capsys, "clock", "2026-06-01", "--distance", "yes", "--told", "2026-08-01", "--repair", "2026-06-11:2026-06-21"
    )
    last = {one["id"]: one["last"] for one in rights["rights"]}
    assert (last["cancel"], last["reject"]) == ("2026-08-15", "2026-07-12")
    assert "on 2026-06-02 running" in given(capsys, "clock", "2026-06-01", "--day", "2026-06-02")
    assert not (tmp_path / "store").exists()


def test_what_is_set_is_kept_and_shown(capsys: Capture) -> None:
    as_json(capsys, "settings", "--stagger", "3", "--holding", "4.50", "--vat-number", "GB 000 0000 00")
    assert "stagger: 3; VAT number: GB 000 0000 00" in given(capsys, "settings")
    assert refusal(capsys, "settings", "--country", "de")["slug"] == "ledger-settings"
    shown = as_json(capsys, "settings", "--country", "de", "--from-memory", "--stagger", "1")
    assert "From memory" in shown["caution"]


@pytest.mark.parametrize(
    ("words", "slug"),
    [
        (("buy", "a car", "lots", "--from", "x"), "ledger-amount"),
        (("buy", "a car", "5", "--from", "x", "--day", "soon"), "ledger-typed"),
        (("buy", "a car", "5", "--from", "x", "--paper", "A1", "--rate", "lots"), "ledger-typed"),
        (("buy", "a car", "5", "--from", "x", "--paper", "A1", "--rate", "0"), "ledger-typed"),
        (("buy", "a car", "5", "--from", "x", "--car", "nowhere"), "car-unknown"),
        (("sell", "1", "5", "--to", "x", "--paper", "S1"), "ledger-stock-unknown"),
        (("spend", "1", "5"), "command-line"),
        (("reverse", "1", "--why", "x"), "ledger-entry"),
        (("give-back", "1", "--why", "x"), "ledger-entry"),
        (("answer", "1"), "ledger-stock-unknown"),
        (("answer", "1", "new", "perhaps"), "ledger-typed"),
        (("answer", "1", "new"), "ledger-typed"),
        (("answer", "1", "colour", "no"), "ledger-question"),
        (("quarter", "--end", "2026-01-01"), "command-line"),
        (("quarter", "--start", "2026-02-01", "--end", "2026-01-01"), "ledger-period"),
        (("invoice", "1"), "ledger-entry"),
        (("import", "5", "--arrived", "2026-01-01", "--said", "colour=yes"), "ledger-typed"),
        (("import", "5", "--arrived", ""), "ledger-typed"),
        (("clock", "2026-01-01", "--distance", "perhaps"), "ledger-typed"),
        (("clock", "2026-01-01", "--repair", ":2026-01-09"), "ledger-typed"),
        (("clock", "2026-01-01", "--agreed", "2026-01-02"), "ledger-clock"),
    ],
)
def test_what_cannot_be_done_is_refused_by_slug(capsys: Capture, words: tuple[str, ...], slug: str) -> None:
    error = refusal(capsys, *words)
    assert error["slug"] == slug
    assert all(error[name] for name in ("where", "found", "allowed", "advice"))
