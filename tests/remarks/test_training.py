"""The narrations and descriptions that teach the reader are as their README says."""

from __future__ import annotations

import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[2]
sys.path.insert(0, str(ROOT / "tools"))

from narrations import gold, load  # noqa: E402

FILES = sorted(file for kind in ("narrations", "descriptions") for file in (ROOT / "training" / kind).glob("*.txt"))


def test_there_are_narrations() -> None:
    assert {file.parent.name for file in FILES} == {"narrations", "descriptions"}
    assert len(FILES) > 900


@pytest.mark.parametrize("file", FILES, ids=lambda file: file.stem)
def test_a_narration_is_well_formed(file: Path) -> None:
    narration = load(file)
    assert not narration.problems
    made = gold(narration)
    text = " ".join(segment["text"] for segment in made["segments"])
    assert text == narration.text
    for label in made["observations"]:
        assert text[label["at"] : label["end"]] == label["quote"]
        assert label["t0"] < label["t1"]


def test_what_is_wrong_is_told_with_its_line(tmp_path: Path) -> None:
    file = tmp_path / "one.txt"
    file.write_text(
        "# speaker: dealer\n# drive: rhd\n\nThe door has a dent.\n"
        "> door - - dint yes - - | has a dent | a dent | door\n"
        "> door - - dent yes - - | has two dents | a dent | door\n"
        "> door - - dent yes - - | has a dent | a dent | door\n",
        encoding="utf-8",
    )
    narration = load(file)
    assert len(narration.labels) == 1
    assert [problem.split(": ")[0] for problem in narration.problems] == ["one.txt:5", "one.txt:6"]


def test_a_short_word_is_looked_for_inside_its_quote(tmp_path: Path) -> None:
    file = tmp_path / "one.txt"
    file.write_text(
        "# speaker: dealer\n# drive: rhd\n\nFine day. The door is fine.\n"
        "> door - - sound yes - - | The door is fine | fine | door\n",
        encoding="utf-8",
    )
    (label,) = load(file).labels
    assert label["say"] == [[label["end"] - 4, label["end"]]]
