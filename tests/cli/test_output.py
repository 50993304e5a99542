"""What is told of long work away from a terminal."""

from __future__ import annotations

import pytest

from shutline.cli import output
from shutline.usecases.progress import Step


def lines_of(steps: list[Step], capsys: pytest.CaptureFixture[str]) -> list[str]:
    with output.progress(quiet=False) as tell:
        for step in steps:
            tell(step)
    return capsys.readouterr().err.splitlines()


def test_a_line_is_told_where_another_ten_is_done_and_the_end_once(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setattr(output, "LOG_EVERY_S", 0.0)
    steps = [Step("walk.mp4", "small film", done / 1000) for done in range(1001)]
    told = lines_of([*steps, *[steps[-1]] * 500], capsys)
    assert told == [f"walk.mp4: small film {tens * 10}%" for tens in range(11)]


def test_little_time_between_leaves_the_start_and_the_end(capsys: pytest.CaptureFixture[str]) -> None:
    told = lines_of([Step("walk.mp4", "small film", done / 10) for done in (0, 3, 6, 10, 10)], capsys)
    assert told == ["walk.mp4: small film 0%", "walk.mp4: small film 100%"]


def test_what_is_not_done_is_not_told_as_done(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setattr(output, "LOG_EVERY_S", 0.0)
    assert lines_of([Step("walk.mp4", "words", 0.999)], capsys) == ["walk.mp4: words 99%"]


def test_another_note_is_told(monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]) -> None:
    monkeypatch.setattr(output, "LOG_EVERY_S", 0.0)
    steps = [Step("walk.mp4", "look", 0.5, note) for note in ("3 of 9", "3 of 9", "4 of 9")]
    assert lines_of(steps, capsys) == ["walk.mp4: look 50% (3 of 9)", "walk.mp4: look 50% (4 of 9)"]


def test_a_note_that_stays_is_told_once(monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]) -> None:
    monkeypatch.setattr(output, "LOG_EVERY_S", 0.0)
    steps = [Step("walk.mp4", "small film", done, "goes on from 18 %") for done in (0.18, 0.2, 1.0)]
    assert lines_of(steps, capsys) == [
        "walk.mp4: small film 18% (goes on from 18 %)",
        "walk.mp4: small film 20%",
        "walk.mp4: small film 100%",
    ]
