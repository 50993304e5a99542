"""The user's own table of cars: found beside the settings or where the environment says, and refused whole."""

from __future__ import annotations

from pathlib import Path

import pytest

from shutline.car.errors import UserError
from shutline.gauge.brakes import Circuit
from shutline.gauge.sheet import GaugeSheet
from shutline.usecases.gauge_sheets import gauge_sheet, sheets_file


def test_no_table_is_an_empty_sheet(tmp_path: Path) -> None:
    assert gauge_sheet("blue-saloon", file=tmp_path / "none.toml") == GaugeSheet()


def test_it_is_found_by_the_car_s_name(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    file = tmp_path / "gauges.toml"
    file.write_bytes(b"\xef\xbb\xbf[blue-saloon]\nbrake_circuits = 1\n")
    monkeypatch.setenv("SHUTLINE_GAUGES", str(file))
    assert sheets_file() == file
    assert gauge_sheet("blue-saloon").circuit is Circuit.SINGLE
    assert gauge_sheet("blue") == GaugeSheet()
    file.write_text("[blue-saloon]\nbrake_circuits = 2\n", encoding="utf-8")
    assert gauge_sheet("blue-saloon").circuit is Circuit.DUAL


def test_it_lies_beside_the_settings(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.delenv("SHUTLINE_GAUGES", raising=False)
    monkeypatch.setenv("SHUTLINE_SETTINGS", str(tmp_path / "settings.toml"))
    assert sheets_file() == tmp_path / "gauges.toml"


@pytest.mark.parametrize(
    ("data", "named"), [(b"[a]\nx = 1\n", "a: unknown: x"), (b"[a]\n# \xff\n", "line 2: no UTF-8")]
)
def test_what_cannot_be_read_is_refused_with_its_place(tmp_path: Path, data: bytes, named: str) -> None:
    file = tmp_path / "gauges.toml"
    file.write_bytes(data)
    with pytest.raises(UserError) as refused:
        gauge_sheet("a", file=file)
    assert refused.value.problem.slug == "gauge-sheet"
    assert named in str(refused.value)


def test_a_folder_is_no_table(tmp_path: Path) -> None:
    with pytest.raises(UserError, match="a file in TOML"):
        gauge_sheet("a", file=tmp_path)
