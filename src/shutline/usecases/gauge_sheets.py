"""The user's own table of what is known of cars beside their readings: where it lies, and what it says of a car."""

from __future__ import annotations

import os
from functools import lru_cache
from pathlib import Path
from typing import TYPE_CHECKING

from shutline.car.errors import Problem, UserError
from shutline.usecases.settings import settings_file

if TYPE_CHECKING:
    from collections.abc import Mapping

    from shutline.gauge.sheet import GaugeSheet

SHEETS_VARIABLE = "SHUTLINE_GAUGES"
"""Environment variable that names another file of what is known of cars."""


def sheets_file() -> Path:
    """Give where the table lies: what the environment names, else ``gauges.toml`` beside the settings."""
    named = os.environ.get(SHEETS_VARIABLE)
    return Path(named) if named else settings_file().parent / "gauges.toml"


def gauge_sheet(car: str, *, file: Path | None = None) -> GaugeSheet:
    """Give what the user's table says of a car; an empty sheet where it says nothing, or there is none.

    Parameters
    ----------
    car : str
        The car's whole name.
    file : Path, optional
        Where the table lies; as `sheets_file` says when left out.

    Raises
    ------
    UserError
        The table cannot be read, or an entry cannot be (slug ``gauge-sheet``), with the file, the car and the entry.
    """
    from shutline.gauge.sheet import GaugeSheet

    there = file or sheets_file()
    try:
        data = there.read_bytes()
    except FileNotFoundError:
        return GaugeSheet()
    except OSError as error:
        found = error.strerror or "it cannot be read"
        raise UserError(
            Problem("gauge-sheet", str(there), found, "a file in TOML", "Look at who may read it.")
        ) from None
    return _read(data, str(there)).get(car, GaugeSheet())


@lru_cache(maxsize=4)
def _read(data: bytes, name: str) -> Mapping[str, GaugeSheet]:
    from shutline.gauge.sheet import read_sheets

    try:
        text = data.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        line = data[: error.start].count(b"\n") + 1
        raise UserError(
            Problem("gauge-sheet", f"{name}, line {line}", "no UTF-8", "a file in UTF-8", "Save it as UTF-8.")
        ) from None
    return read_sheets(text, name=name)
