"""The command line: plain verbs, JSON on request, one shape of error, exit codes 0, 1 and 2."""

import json
import os
import re
import sqlite3
import subprocess
import sys
from pathlib import Path

import jsonschema
import pytest
import webvtt

from shutline.cli import main
from shutline.cli.commands import app
from shutline.usecases.settings import open_store

ROOT = Path(__file__).resolve().parents[2]
COMMANDS = sorted(command.name or command.callback.__name__.replace("_", "-") for command in app.registered_commands)
WORDS = """0:00 Nearside front wing, there's a bit of rust on the bottom edge.
0:06 The nearside sill is solid. She's showing forty-one thousand two hundred and six miles.
"""


@pytest.fixture
def walk(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.setenv("SHUTLINE_STORE", str(tmp_path / "store"))
    monkeypatch.chdir(tmp_path)
    path = tmp_path / "walk.txt"
    path.write_text(WORDS, encoding="utf-8")
    return path


@pytest.fixture
def begun(walk: Path, tmp_path: Path) -> Path:
    with open_store(tmp_path / "store"):
        return walk


def run(capsys: pytest.CaptureFixture[str], *words: str) -> tuple[int, str, str]:
    code = main([*words])
    shown = capsys.readouterr()
    return code, shown.out, shown.err


def as_json(capsys: pytest.CaptureFixture[str], *words: str) -> tuple[int, dict]:
    code, out, err = run(capsys, *words, "--json")
    assert err == ""
    return code, json.loads(out)


def test_every_command_has_help_with_an_example(capsys: pytest.CaptureFixture[str]) -> None:
    for command in COMMANDS:
        code, out, _ = run(capsys, command, "--help")
        assert code == 0
        assert re.search(rf"Example: shutline {command}\b", out), command
        assert "--json" in out


def test_every_command_and_option_is_documented(capsys: pytest.CaptureFixture[str]) -> None:
    text = (ROOT / "docs/commands.md").read_text(encoding="utf-8")
    for command in COMMANDS:
        assert f"`shutline {command}" in text
        for option in set(re.findall(r"--[a-z-]+", run(capsys, command, "--help")[1])) - {"--help"}:
            assert f"`{option}" in text, (command, option)


def test_add_show_and_report_one_after_the_other(walk: Path, capsys: pytest.CaptureFixture[str]) -> None:
    code, out, _ = run(capsys, "add", str(walk), "--car", "blue")
    assert code == 0
    assert "walk.txt → blue" in out

    code, out, _ = run(capsys, "show", "bl", "--why")
    assert code == 0
    assert "nearside front wing: rust" in out
    assert "because" in out
    assert "41206 mi" in out
    assert "not to say good" in out

    code, made = as_json(capsys, "report", "blue", "--out", "given")
    assert code == 0
    assert {file["what"] for file in made["files"]} == {"html", "pdf", "json", "captions", "chapters"}
    for file in made["files"]:
        assert Path(file["path"]).stat().st_size == file["byte_size"]
    assert not list(Path("given").glob("*.part"))
    assert [cue.text for cue in webvtt.read("given/captions.vtt")]
    schema = json.loads((ROOT / "docs/schema/car-file.schema.json").read_text(encoding="utf-8"))
    jsonschema.validate(json.loads(Path("given/car-file.json").read_text(encoding="utf-8")), schema)


def test_list_is_empty_then_names_the_cars(begun: Path, capsys: pytest.CaptureFixture[str]) -> None:
    empty = {"words": "", "open": "all", "cars": [], "count": 0, "skip": 0, "behind": 0, "aside": False, "set_aside": 0}
    assert as_json(capsys, "list") == (0, empty)
    assert "No cars yet" in run(capsys, "list")[1]

    run(capsys, "add", str(begun))

    assert [one["car"]["name"] for one in as_json(capsys, "list")[1]["cars"]] == ["walk"]
    assert "walk" in run(capsys, "list")[1]


def test_two_values_for_one_fact_are_shown_as_at_odds(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    words = tmp_path / "walk.txt"
    words.write_text(
        "[00:00] The clock reads forty-one thousand two hundred and six miles. Two keys.\n"
        "[00:09] The book says fifty-two thousand miles on the clock.\n",
        encoding="utf-8",
    )
    code, shown, _ = run(capsys, "read", str(words))
    assert code == 0
    assert "41206 mi" in shown
    assert "52000 mi" in shown
    assert "At odds: 2 values were told for odometer; none was chosen." in shown


def test_words_of_ones_own_are_listed(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setenv("SHUTLINE_WORDS", str(tmp_path))
    assert "No words of your own" in run(capsys, "words")[1]
    tmp_path.joinpath("parts.csv").write_text(
        "id,part,phrases,source,example,counter_example\nlid,boot_lid,turtle deck,house words,the turtle deck,a deck\n",
        encoding="utf-8",
    )
    assert "parts.lid: turtle deck → boot_lid" in run(capsys, "words")[1]


def test_read_keeps_nothing(walk: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    code, read = as_json(capsys, "read", str(walk))

    assert code == 0
    assert {finding["condition"] for finding in read["findings"]} >= {"rust", "sound"}
    assert [fact["value"] for fact in read["facts"] if fact["name"] == "odometer"] == [41206]
    assert not (tmp_path / "store").exists()


@pytest.mark.parametrize(
    ("words", "slug"),
    [
        (("show", "nobody"), "car-unknown"),
        (("report", "nobody"), "car-unknown"),
        (("read", "nowhere.vtt"), "no-such-file"),
        (("read",), "command-line"),
        (("polish", "everything"), "command-line"),
        (("add", "a.mp4", "--drive", "middle"), "command-line"),
    ],
)
def test_every_error_has_one_shape_and_exit_code_2(
    begun: Path, capsys: pytest.CaptureFixture[str], words: tuple[str, ...], slug: str
) -> None:
    code, shown = as_json(capsys, *words)

    assert code == 2
    assert list(shown) == ["error"]
    assert set(shown["error"]) == {"slug", "where", "found", "allowed", "advice"}
    assert shown["error"]["slug"] == slug
    assert all(isinstance(text, str) and text for text in shown["error"].values())

    code, out, err = run(capsys, *words)
    assert code == 2
    assert out == ""
    assert err.startswith("shutline: ")
    assert "Traceback" not in err


@pytest.mark.parametrize(
    "words",
    [
        ("ask", "blue", "any rust?"),
        ("check", "walk.txt", "--car", "blue"),
        ("describe", "blue"),
        ("list",),
        ("serve",),
        ("report", "blue"),
        ("confirm", "blue", "569acb"),
        ("ledger", "stock"),
        ("ledger", "reverse", "1", "--why", "twice"),
        ("comparables", "list"),
    ],
)
def test_a_mistyped_store_is_told_and_not_made(
    walk: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str], words: tuple[str, ...]
) -> None:
    code, _, err = run(capsys, *words, "--store", "stroe")
    assert code == 2
    assert "stroe: no store lies here" in err
    assert not (tmp_path / "stroe").exists()


def test_what_begins_a_store_says_so_once(walk: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert f"There was no store at {tmp_path / 'store'}; one was begun there." in run(capsys, "add", str(walk))[2]
    assert "one was begun" not in run(capsys, "add", str(walk))[2]


def test_a_broken_file_among_good_ones_ends_with_2_and_keeps_the_good(
    begun: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    broken = tmp_path / "broken.mp4"
    broken.write_bytes(b"\0" * 100)

    code, added = as_json(capsys, "add", str(broken), str(begun), "--car", "blue")

    assert code == 2
    assert [bool(item["error"]) for item in added["items"]] == [True, False]
    assert added["items"][1]["findings"] > 0


def test_an_unknown_output_is_refused_by_name(walk: Path, capsys: pytest.CaptureFixture[str]) -> None:
    run(capsys, "add", str(walk))

    code, shown = as_json(capsys, "report", "walk", "--only", "video")

    assert code == 2
    assert shown["error"]["slug"] == "output-unknown"
    assert "captions" in shown["error"]["allowed"]


def test_an_output_folder_that_cannot_be_written_ends_with_1(
    walk: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    run(capsys, "add", str(walk))
    (tmp_path / "taken").write_text("a file, not a folder", encoding="utf-8")

    code, shown = as_json(capsys, "report", "walk", "--only", "json", "--out", "taken")

    assert code == 1
    assert shown["error"]["slug"] == "output-not-written"


def test_a_store_that_another_run_is_writing_to_is_said_to_be_locked(
    walk: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    run(capsys, "add", str(walk))
    monkeypatch.setattr("shutline.usecases.settings.LOCK_TIMEOUT_S", 0.2)
    other = sqlite3.connect(tmp_path / "store/shutline.sqlite", isolation_level=None)
    other.execute("BEGIN IMMEDIATE")
    second = tmp_path / "second.txt"
    second.write_text(WORDS + "0:20 No dents on the roof.\n", encoding="utf-8")
    try:
        code, shown = as_json(capsys, "add", str(second))
    finally:
        other.execute("ROLLBACK")
        other.close()

    assert code == 1
    assert shown["error"]["slug"] == "store-locked"
    assert as_json(capsys, "add", str(second))[0] == 0


def test_speech_cannot_steer_the_terminal(walk: Path, capsys: pytest.CaptureFixture[str]) -> None:
    walk.write_text("0:00 There's rust \x1b[2J\x1b]0;gone\x07 on the sill.\n", encoding="utf-8")

    _, out, err = run(capsys, "read", str(walk))

    assert "\x1b" not in out + err
    assert "\x07" not in out + err


def test_ctrl_c_ends_with_1_and_says_how_to_go_on(walk: Path, capsys: pytest.CaptureFixture[str]) -> None:
    def interrupted(*_: object, **__: object) -> None:
        raise KeyboardInterrupt

    with pytest.MonkeyPatch.context() as patch:
        patch.setattr("shutline.usecases.add.add", interrupted)
        code, _, err = run(capsys, "add", str(walk))

    assert code == 1
    assert "same command again" in err


def test_a_terminal_of_another_encoding_is_no_reason_to_fail(walk: Path) -> None:
    shown = subprocess.run(
        [sys.executable, "-m", "shutline", "read", str(walk)],
        check=False,
        capture_output=True,
        env={**os.environ, "PYTHONIOENCODING": "ascii", "PYTHONUTF8": "0"},
    )

    assert shown.returncode == 0
    assert b"rust" in shown.stdout
