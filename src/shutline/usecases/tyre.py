"""A tyre by what stands on it, no car needed: what it carries, how big it is, how old, and what another size does."""

from __future__ import annotations

import re
from dataclasses import dataclass
from datetime import UTC, date, datetime
from typing import TYPE_CHECKING

from shutline.car.errors import BadInputError, Problem, UserError

if TYPE_CHECKING:
    from shutline.gauge.results import Result
    from shutline.gauge.tyres import Marking


@dataclass(frozen=True, slots=True)
class TyreTold:
    """What a tyre's marking says, in words, and the results that follow; `problems` are what could not be told."""

    marking: Marking
    words: str
    results: tuple[Result, ...]
    problems: tuple[Problem, ...] = ()


def tyre_told(
    text: str,
    *,
    date_on_it: str = "",
    triangle: bool = False,
    meant: str = "",
    diameter_mm: float | str | None = None,
    day: str | date | None = None,
) -> TyreTold:
    """Tell what follows from what stands on a tyre.

    Parameters
    ----------
    text : str
        The marking: ``165 SR 13``, ``205/55 R16 91V``.
    date_on_it : str
        The date code, or the whole line that begins with DOT.
    triangle : bool
        A triangle stands behind the date code.
    meant : str
        The marking of the tyre that is meant for the car, where it is another.
    diameter_mm : float or str, optional
        As measured over the tread, mm; needed where the marking tells no height.
    day : str or date, optional
        On which its age is counted, ISO 8601; today when left out.

    Raises
    ------
    BadInputError
        The marking, the date code, the diameter or the day cannot be (slug ``reading-unfit``).
    """
    from shutline.gauge.limits import amount
    from shutline.gauge.tyres import date_code, marking, rolling_circumference, speedometer_effect, tyre_age

    read = marking(text)
    results, problems = [], []
    measured = None if diameter_mm in (None, "") else amount(_diameter(diameter_mm), "mm", 1.0)
    try:
        results.append(rolling_circumference(read, measured_diameter=measured))
    except UserError as trouble:
        problems.append(trouble.problem)
    if date_on_it.strip():
        results.append(tyre_age(date_code(date_on_it, triangle=triangle), _day(day)))
    if meant.strip():
        results.append(speedometer_effect(marking(meant), read, fitted_diameter=measured))
    return TyreTold(read, marking_words(read), tuple(results), tuple(problems))


def marking_words(marking: Marking) -> str:
    """Say what a marking says and what it does not.

    >>> from shutline.gauge.tyres import marking
    >>> marking_words(marking("165 SR 13"))
    '165 mm wide, no ratio marked, radial, on a rim of 13 in; up to 180 km/h; no load index marked'
    """
    from shutline.gauge.tyres import Kind

    inch = marking.kind is Kind.INCH
    width = f"{marking.width_mm / 25.4:.2f} in wide" if inch else f"{marking.width_mm:g} mm wide"
    ratio = f"side {marking.ratio_pct} % of that high" if marking.ratio_pct else "no ratio marked"
    rim = f"{marking.rim_mm:g} mm" if marking.kind is Kind.RIM_MM else f"{marking.rim_mm / 25.4:g} in"
    speed = "no speed marked"
    if marking.speed_km_h is not None:
        speed = f"{'over' if marking.over else 'up to'} {marking.speed_km_h} km/h"
    load = f"carries {marking.load_kg} kg" if marking.load_kg is not None else "no load index marked"
    return f"{width}, {ratio}, {marking.construction}, on a rim of {rim}; {speed}; {load}"


def _diameter(given: float | str | None) -> float:
    text = str(given).strip().replace(",", ".").removesuffix("mm").strip()
    if not re.fullmatch(r"\d{3,4}(?:\.\d+)?", text, re.ASCII):
        raise _bad("diameter", f"{given!r}", "100 to 9,999 mm", "Measure over the tread, in millimetres.")
    return float(text)


def _day(given: str | date | None) -> date:
    if given is None or given == "":
        return datetime.now(UTC).date()
    if isinstance(given, date):
        return given
    try:
        return date.fromisoformat(given.strip())
    except ValueError:
        raise _bad("day", f"{given!r}", "a day as 2026-04-21", "Write it so.") from None


def _bad(where: str, found: str, allowed: str, advice: str) -> BadInputError:
    return BadInputError(Problem(slug="reading-unfit", where=where, found=found, allowed=allowed, advice=advice))
