"""The user's own chart of colours: where its table lies, and what it says."""

from __future__ import annotations

import os
from functools import lru_cache
from pathlib import Path
from typing import TYPE_CHECKING

from shutline.car.errors import Problem, UserError
from shutline.usecases.settings import settings_file

if TYPE_CHECKING:
    from shutline.gauge.colour import Chart

CHART_VARIABLE = "SHUTLINE_CHART"
"""Environment variable that names another file of a chart."""


def own_chart() -> Chart | None:
    """Give the user's chart, None where there is none: what the environment names, or ``chart.csv`` by the settings.

    Raises
    ------
    UserError
        The table cannot be read, or a row is not as it should be (slug ``gauge-row``), with file and line.
    """
    named = os.environ.get(CHART_VARIABLE)
    there = Path(named) if named else settings_file().parent / "chart.csv"
    try:
        data = there.read_bytes()
    except FileNotFoundError:
        return None
    except OSError as error:
        raise _unread(str(there), error.strerror or "it cannot be read") from None
    return _read(data, str(there))


@lru_cache(maxsize=4)
def _read(data: bytes, name: str) -> Chart:
    from shutline.gauge.colour import read_chart

    try:
        text = data.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        raise _unread(name, f"byte {error.start} is no UTF-8") from None
    return read_chart(text, name=name)


def _unread(name: str, found: str) -> UserError:
    return UserError(Problem("gauge-row", name, found, "a table in CSV, UTF-8", "Save the chart's table so."))
