"""A review by commands: listed, amended, entered at a moment, another still chosen, and told who did what."""

from __future__ import annotations

import json
from collections.abc import Callable
from pathlib import Path

import pytest

from shutline.cli import main
from shutline.cli.review_commands import _seconds

WORDS = """WEBVTT

00:00:00.500 --> 00:00:03.000
The nearside sill is rotten. The bonnet is straight.
"""


def test_a_review_by_commands(
    make_film: Callable[..., Path],
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
) -> None:
    monkeypatch.setenv("SHUTLINE_STORE", str(tmp_path / "store"))
    monkeypatch.setenv("SHUTLINE_AUTHOR", "Ada")
    words = tmp_path / "walk.vtt"
    words.write_text(WORDS, encoding="utf-8")
    film = make_film("by-commands.mp4", frames=40, rate=10, sound=None, gop=10)

    def run(*asked: str, code: int = 0) -> str:
        assert main([*asked]) == code
        shown = capsys.readouterr()
        return shown.out + shown.err

    run("add", str(film), "--car", "blue", "--transcript", str(words))
    listed = run("review", "blue")
    assert "nearside sill" in listed
    assert "bonnet: in good order" in listed
    entries = json.loads(run("review", "blue", "--order", "film", "--json"))["entries"]
    sill = next(one["id"] for one in entries if one["finding"] and one["finding"]["finding"]["part"] == "sill")

    assert "offside sill" in run("amend", "blue", sill[:8], "--side", "off", "--severity", "slight")
    run("still", "blue", sill, "--at", "0:02.55")
    assert "bonnet: dent" in run("enter", "blue", "--at", "1.5", "--part", "bonnet", "--condition", "dent")
    told = run("history", "blue")
    assert [line.split("Ada: ")[1].split(";")[0].split(" (")[0] for line in told.splitlines()] == [
        "entered", "still chosen", "amended",
    ]  # fmt: skip
    assert "drawn" in run("history", "blue", sill)
    assert sill not in run("review", "blue")
    assert "one of the" in run("amend", "blue", sill, "--part", "flux capacitor", code=2)
    assert "where it ends" in run("enter", "blue", "--at", "9:00", "--part", "bonnet", "--condition", "dent", code=2)
    assert "minutes and seconds" in run("still", "blue", sill, "--at", "soon", code=2)


@pytest.mark.parametrize(("text", "seconds"), [("65.4", 65.4), ("1:05.4", 65.4), ("1:02:05", 3725.0), ("0:00", 0.0)])
def test_a_moment_is_read_as_people_write_it(text: str, seconds: float) -> None:
    assert _seconds(text) == pytest.approx(seconds)
