"""What goes to a stranger, by commands: the page, links, private words, sealed files and their check."""

from __future__ import annotations

import io
import json
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest

from shutline.cli import main
from shutline.usecases.buyers_page import BuyersPageMade, make_buyers_page

WORDS = """0:00 Nearside front wing, there's a bit of rust on the bottom edge. It was Augusta Harbottle's.
0:06 The nearside sill is solid. She's showing forty-one thousand two hundred and six miles.
"""


@pytest.fixture
def car(tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]) -> Path:
    monkeypatch.setenv("SHUTLINE_STORE", str(tmp_path / "store"))
    monkeypatch.setenv("SHUTLINE_SETTINGS", str(tmp_path / "settings/settings.toml"))
    monkeypatch.chdir(tmp_path)
    (tmp_path / "walk.txt").write_text(WORDS, encoding="utf-8")
    assert main(["add", "walk.txt", "--car", "merlin"]) == 0
    capsys.readouterr()
    assert main(["show", "merlin", "--json"]) == 0
    shown = json.loads(capsys.readouterr().out)
    assert main(["confirm", "merlin", *(one["id"] for one in shown["car"]["findings"])]) == 0
    capsys.readouterr()
    return tmp_path


def told(capsys: pytest.CaptureFixture[str], *words: str) -> tuple[int, str]:
    code = main([*words])
    return code, capsys.readouterr().out


def test_from_private_words_to_a_sealed_file_that_is_found_changed(
    car: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    code, out = told(capsys, "private", "merlin", "Augusta Harbottle", "--as", "keeper", "--by", "Ida")
    assert code == 0
    assert "Augusta Harbottle" in out

    code, out = told(capsys, "buyers-page", "merlin", "--zip")
    assert code == 0
    assert "no film" in out
    page = (car / "out/merlin/buyers-page/index.html").read_text(encoding="utf-8")
    assert "Harbottle" not in page
    assert "bottom edge" in page
    assert (car / "out/merlin/buyers-page.zip").is_file()

    code, out = told(capsys, "share", "merlin", "--by", "Ida", "--json")
    assert code == 0
    (link,) = json.loads(out)["links"]
    assert link["open"]
    code, out = told(capsys, "share", "merlin", "--end", link["share"]["token"][:8])
    assert code == 0
    assert "ended" in out

    code, out = told(capsys, "seal", "merlin", "--as", "sold", "--for", "buyer", "--json")
    assert code == 0
    made = json.loads(out)
    folder = Path(made["sealed"]["folder"])
    assert Path(made["sheet"]).read_bytes().startswith(b"%PDF")
    code, out = told(capsys, "verify", str(folder))
    assert code == 0
    assert "as it was sealed" in out
    assert "your own" in out
    assert "merlin, sold, for the buyer, sealed 20" in out
    assert told(capsys, "verify", str(folder), "--number", made["sealed"]["number"])[0] == 0
    assert told(capsys, "verify", str(folder), "--fingerprint", "0" * 64)[0] == 2
    (folder / "data/page/index.html").write_bytes(b"no rust")
    code, out = told(capsys, "verify", str(folder))
    assert code == 2
    assert "NOT as it was sealed" in out
    assert "data/page/index.html: its bytes are not those that were sealed" in out
    code, out = told(capsys, "seal", "merlin", "--kept")
    assert made["sealed"]["number"] in out
    assert f"{json.loads((folder / 'data/seal.json').read_text())['sealed_at'][:19].replace('T', ' ')} UTC  sold" in out


def test_a_key_that_is_gone_stops_the_sealing_until_another_is_asked_for(
    car: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert told(capsys, "seal", "merlin", "--as", "offered")[0] == 0
    (car / "settings/seal-key.pem").unlink()
    code = main(["seal", "merlin", "--as", "sold"])
    assert code == 2
    assert "is gone" in capsys.readouterr().err
    assert told(capsys, "seal-key", "--new")[0] == 0
    code = main(["seal", "merlin", "--as", "sold"])
    assert code == 0
    err = capsys.readouterr().err
    assert "signed with another key than the sealed file before" in err
    assert "names no seller" in err


def test_private_words_that_nobody_says_are_told_to_be_so(car: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert "Nobody says" not in told(capsys, "private", "merlin", "Augusta Harbottle")[1]
    assert (
        "Nobody says \N{LEFT SINGLE QUOTATION MARK}Wet Fenwick Road"
        in told(capsys, "private", "merlin", "Wet Fenwick Road")[1]
    )


def test_what_is_wrong_with_a_sealing_is_told_in_one_sentence_that_says_what_to_type(
    car: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    assert main(["seal", "merlin"]) == 2
    err = capsys.readouterr().err
    assert err == (
        "shutline: not told why it is sealed; --as offered or --as sold. Type: shutline seal merlin --as offered\n"
    )
    (car / "file").write_bytes(b"")
    assert main(["seal", "merlin", "--as", "offered", "--out", "file/below"]) != 0
    err = capsys.readouterr().err
    assert "file/below: no sealed file can be written there" in err
    assert ".part" not in err
    assert told(capsys, "seal", "merlin", "--as", "offered", "--out", "new/below")[1].startswith(
        "new was not there: a new folder was made."
    )
    monkeypatch.setenv("SHUTLINE_NEW_SEAL_PHRASE", "a wet Sunday")
    assert main(["seal-key", "--lock"]) == 0
    monkeypatch.setattr("sys.stdin", io.StringIO())
    monkeypatch.setattr("getpass.getpass", _nobody)
    capsys.readouterr()
    assert main(["seal", "merlin", "--as", "offered"]) == 2
    assert "a pass phrase is needed, and there is nobody to ask for it" in capsys.readouterr().err


def _nobody(*_: object, **__: object) -> str:
    raise EOFError


def test_a_file_of_ones_own_in_the_folder_of_a_former_page_is_named_and_kept(
    car: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert told(capsys, "buyers-page", "merlin", "--out", "page")[0] == 0
    (car / "page/.DS_Store").write_bytes(b"")
    assert told(capsys, "buyers-page", "merlin", "--out", "page")[0] == 0
    (car / "page/film").mkdir(exist_ok=True)
    (car / "page/film/mine.txt").write_bytes(b"mine")
    capsys.readouterr()
    assert main(["buyers-page", "merlin", "--out", "page"]) == 2
    assert "it holds film/mine.txt, which is no part of a buyer's page" in capsys.readouterr().err
    assert (car / "page/film/mine.txt").read_bytes() == b"mine"


def test_a_command_that_writes_a_file_says_that_its_folder_was_not_there(
    car: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    for words in (("describe", "merlin", "--out"), ("route", "merlin", "--pdf")):
        folder = f"mistyped-{words[0]}"
        code, out = told(capsys, *words, f"{folder}/b/c.txt")
        assert code == 0
        assert f"{folder} was not there: a new folder was made." in out
        assert (car / folder / "b/c.txt").is_file()
        assert "was not there" not in told(capsys, *words, f"{folder}/b/d.txt")[1]


def test_a_page_without_a_house_says_so_and_one_with_a_telephone_has_a_number_to_tap(
    car: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["buyers-page", "merlin"]) == 0
    assert "the page names no seller, and no way to ask" in capsys.readouterr().err
    (car / "settings").mkdir(exist_ok=True)
    (car / "settings/house.toml").write_text(
        'name = "Halloran & Pike"\ntelephone = "+44 (0)1632 960123 ext 4"\n', encoding="utf-8"
    )
    assert main(["buyers-page", "merlin"]) == 0
    assert "no seller" not in capsys.readouterr().err
    page = (car / "out/merlin/buyers-page/index.html").read_text(encoding="utf-8")
    assert '<a href="tel:+441632960123">+44 (0)1632 960123 ext 4</a>' in page


def test_a_stop_does_not_promise_to_go_on_where_it_begins_anew(
    car: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    def stopped(*_: object, **__: object) -> None:
        raise KeyboardInterrupt

    monkeypatch.setattr("shutline.usecases.sealing.seal", stopped)
    assert main(["seal", "merlin", "--as", "offered"]) != 0
    err = capsys.readouterr().err
    assert err.startswith("shutline: seal: stopped on request; nothing half done is left.")
    assert "to go on" not in err


@pytest.mark.parametrize(
    "words",
    [
        ["seal", "merlin"],
        ["seal", "merlin", "--as", "sold", "--kept"],
        ["share", "merlin", "--kept", "--end", "all"],
        ["private", "merlin", "words", "--take-back", "1"],
        ["verify", "nowhere"],
        ["share", "merlin", "--until", "soon"],
    ],
)
def test_what_makes_no_sense_is_refused_and_nothing_is_written(
    car: Path, capsys: pytest.CaptureFixture[str], words: list[str]
) -> None:
    code, _ = told(capsys, *words)
    assert code == 2
    assert not (car / "out").exists()


def test_a_page_without_a_film_that_cannot_be_read_does_not_end_as_if_all_were_well(
    car: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    def made_without(*args: Any, **more: Any) -> BuyersPageMade:
        return replace(make_buyers_page(*args, **more), unread=1)

    monkeypatch.setattr("shutline.usecases.buyers_page.make_buyers_page", made_without)
    code, out = told(capsys, "buyers-page", "merlin")
    assert code == 2
    assert "Films that could not be read, and are not on it: 1." in out
    code, out = told(capsys, "buyers-page", "merlin", "--json")
    assert code == 2
    assert json.loads(out)["unread"] == 1


def test_a_page_that_is_refused_names_the_private_words_and_where_they_stand(
    car: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    (car / "settings").mkdir(exist_ok=True)
    (car / "settings/house.toml").write_text('name = "Ostler & Quill\'s"\n', encoding="utf-8")
    assert main(["private", "merlin", "Quill's", "--as", "keeper", "--by", "Ida"]) == 0
    assert main(["private", "merlin", "the", "--as", "keeper", "--by", "Ida"]) == 2
    assert "'the', which stands in every text" in capsys.readouterr().err
    assert main(["buyers-page", "merlin"]) == 2
    refused = " ".join(capsys.readouterr().err.split())
    assert "merlin, index.html: 'Quill's', which was said to be private, still stands in the page" in refused
    assert not (car / "out/merlin/buyers-page").exists()
