"""Papers by command: brought in, decided about, looked at and let out; each by JSON as the use case gives it."""

from __future__ import annotations

import json
import sys
from pathlib import Path

import pytest

from shutline.cli import main
from shutline.store import Store

sys.path.insert(0, str(Path(__file__).resolve().parents[2] / "bench"))

from papers_made import locked_pdf, pdf_of

CAR = "corvane-ninety"
OPENS = "salt marsh"
INVOICE = """= Invoice
Invoice date: 12/03/2019 \\
Mileage: 41,206 miles \\
Customer: Mrs Augusta Harbottle
"""


@pytest.fixture
def folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.setenv("SHUTLINE_STORE", str(tmp_path / "store"))
    monkeypatch.setenv("SHUTLINE_SETTINGS", str(tmp_path / "settings.toml"))
    monkeypatch.setenv("SHUTLINE_AUTHOR", "Ida Quill")
    with Store.open(tmp_path / "store") as store:
        store.create_car(CAR)
    (tmp_path / "invoice.pdf").write_bytes(pdf_of(INVOICE))
    (tmp_path / "locked.pdf").write_bytes(locked_pdf("Mileage 41,206 miles", OPENS))
    return tmp_path


def told(capsys: pytest.CaptureFixture[str], *words: str, code: int = 0) -> str:
    assert main([*words]) == code
    shown = capsys.readouterr()
    return shown.out + shown.err


def as_json(capsys: pytest.CaptureFixture[str], *words: str, code: int = 0) -> dict:
    assert main([*words, "--json"]) == code
    return json.loads(capsys.readouterr().out)


def test_papers_are_brought_in_decided_about_and_let_out(capsys: pytest.CaptureFixture[str], folder: Path) -> None:
    assert "No papers" in told(capsys, "papers", CAR)
    said = told(capsys, "papers", CAR, str(folder / "invoice.pdf"), str(folder / "locked.pdf"), code=2)
    assert "1 of 1 pages read" in said
    assert "under a password" in said
    came = as_json(capsys, "papers", CAR, str(folder / "locked.pdf"), "--password", OPENS)
    assert (came["papers"][0]["new"], came["papers"][0]["error"]) == (True, None)
    shown = as_json(capsys, "papers", CAR)
    invoice, _ = shown["papers"]
    ids = {read["kind"]: read["id"] for read in invoice["reads"]}
    taken = as_json(capsys, "papers", CAR, "--take", ids["mileage"])
    assert (taken["read"]["state"], taken["read"]["by"]) == ("taken", "Ida Quill")
    assert "42,206" not in told(capsys, "papers", CAR)
    assert "42206" in told(capsys, "papers", CAR, "--amend", ids["mileage"], "--value", "42,206", "--day", "2019-03-12")
    assert "struck" in told(capsys, "papers", CAR, "--strike", ids["date"])
    assert "waits" in told(capsys, "papers", CAR, "--again", ids["date"])
    assert "private" in told(capsys, "papers", CAR)
    assert "another car" in told(capsys, "papers", CAR, "--other", invoice["id"])
    assert "nothing on it" in told(capsys, "papers", CAR, "--open", invoice["id"])
    assert "letter," in told(capsys, "papers", CAR, "--is", "letter", "--paper", invoice["id"][:6])
    assert "Nothing was left" in told(capsys, "papers", CAR, "--go-on")
    assert "1 of 1 pages read" in told(capsys, "papers", CAR, "--anew", "--password", OPENS)

    looked = told(capsys, "paper-out", CAR, invoice["id"], "--out", str(folder / "pages"))
    assert (folder / "pages" / "page-1.jpg").read_bytes().startswith(b"\xff\xd8")
    assert "stays here" in looked
    more = as_json(capsys, "paper-out", CAR, invoice["id"], "--cover", "1,0.1,0.5,0.2,0.05")
    assert 0.4875 in [box["top"] for box in more["pages"][0]["boxes"]]
    assert as_json(capsys, "paper-out", CAR, invoice["id"], "--let", more["mark"][:16])["out"]
    assert "goes out" in told(capsys, "paper-out", CAR, invoice["id"])
    assert "was let out, and shows" in told(capsys, "paper-out", CAR, invoice["id"], "--uncover")
    assert "stays here" in told(capsys, "paper-out", CAR, invoice["id"], "--hold-back")


@pytest.mark.parametrize(
    "words",
    [
        ("papers", CAR, "--take", "a", "--strike", "b"),
        ("papers", CAR, "--is", "letter"),
        ("papers", CAR, "--paper", "a"),
        ("papers", CAR, "x.pdf", "--go-on"),
        ("paper-out", CAR, "a", "--hold-back", "--uncover"),
        ("paper-out", CAR, "a", "--cover", "1,2"),
        ("papers", CAR, "--take", "zz"),
        ("papers", "nobody"),
    ],
)
def test_what_cannot_be_done_is_refused(
    capsys: pytest.CaptureFixture[str], folder: Path, words: tuple[str, ...]
) -> None:
    refused = as_json(capsys, *words, code=2)
    assert refused["error"]["slug"] in {"command-line", "paper-unknown", "paper-read-unknown", "car-unknown"}
