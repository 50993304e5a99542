"""Tables of one's own tell what is at odds, and a wrong row is refused with file and line before anything is shown."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from shutline.car.errors import UserError
from shutline.cli import main
from shutline.survey.odds_layer import odds_tables
from shutline.usecases.own_odds import ODDS_VARIABLE, check_own_odds, own_odds_tables

LEFT_OUT = "id,why,source\nodds_exclusions/denied,we ask the seller,house rules\n"


def test_without_a_folder_the_tables_are_ours(tmp_path: Path) -> None:
    assert own_odds_tables(tmp_path / "none") is odds_tables()


def test_a_table_of_ones_own_counts_and_is_listed(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setenv(ODDS_VARIABLE, str(tmp_path))
    (tmp_path / "odds_left_out.csv").write_text(LEFT_OUT, encoding="utf-8")
    assert "denied" not in {row.id for row in own_odds_tables().exclusions}
    own = check_own_odds()
    assert [(one.name, one.rows) for one in own.files] == [("odds_left_out.csv", 1)]
    assert main(["odds-tables", "--json"]) == 0
    told = json.loads(capsys.readouterr().out)
    assert told["counts"]["odds_exclusions"] == len(odds_tables().exclusions) - 1
    assert main(["odds-tables"]) == 0
    assert "odds_left_out.csv: 1 of your own" in capsys.readouterr().out


@pytest.mark.parametrize(
    ("name", "data", "where"),
    [
        ("odds_left_out.csv", b"id,why,source\nx,y,z\n", "odds_left_out.csv, line 2"),
        ("odds_cues.csv", b"id,why\n\xff\n", "odds_cues.csv, line 2"),
        ("notes.csv", b"id\n", "notes.csv"),
    ],
)
def test_what_is_wrong_is_refused_with_file_and_line(tmp_path: Path, name: str, data: bytes, where: str) -> None:
    (tmp_path / name).write_bytes(data)
    with pytest.raises(UserError) as refused:
        own_odds_tables(tmp_path)
    assert refused.value.problem.slug == "survey-table-refused"
    assert where in str(refused.value)
    assert str(tmp_path) in str(refused.value)
