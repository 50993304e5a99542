"""Coolant along the minutes: where it settles, whether it still rises, and how that lies to the thermostat."""

from __future__ import annotations

from collections.abc import Iterable

import numpy as np

from shutline.car.readings import Reading
from shutline.gauge.health.rules import meanings, uses
from shutline.gauge.limits import Amount, Limit, Outcome, amount, hold, makers_limit, unfit
from shutline.gauge.results import Place, Result, result

_LAST = 3
"""The slope at the end is taken over so many readings."""


def makers_coolant(*, least_c: float | None, most_c: float | None, source: str) -> Limit:
    """Make a limit of where the coolant should settle, °C: the thermostat's stamp, the maker's book.

    Raises as `makers_limit` does.
    """
    return makers_limit("coolant_settled", "degC", least=least_c, most=most_c, source=source)


def warming(readings: Iterable[Reading], *, maker: Limit | None = None) -> Result:
    """Tell how the coolant warmed up.

    Parameters
    ----------
    readings : iterable of Reading
        ``coolant_temperature`` in °C (``degC``), with ``minutes`` of its details, since the start. Others are passed
        over.
    maker : Limit, optional
        Where it should settle: see `makers_coolant`.

    Raises
    ------
    BadInputError
        None was given, or in another unit (slug ``reading-unfit``).
    """
    points, untimed = _timed(readings)
    last_at, last = points[-1] if points else (None, untimed[-1])
    slope = slope_per_minute(points[-_LAST:])
    rising = slope is not None and slope.low > 0
    told = f"coolant {_degrees(last)}" + ("" if last_at is None else f" after {last_at:g} minutes")
    if slope is None:
        told += "; whether it had settled cannot be told from so few."
    elif rising:
        told += f"; still rising by {slope.value:.1f} °C a minute ({slope.low:.1f} to {slope.high:.1f})."
    else:
        told += f"; not surely rising any more ({slope.low:.1f} to {slope.high:.1f} °C a minute)."
    held = [hold(last, maker, what="where it was last", decimals=0)] if maker is not None else []
    if maker is None:
        told += " No figure for where it should settle was entered."
    meant = [meanings()["cool_rising"]] if rising else []
    if held and held[0].outcome is Outcome.OUTSIDE and maker is not None and maker.value is not None:
        low = maker.sense != "at most" and last.value < maker.value
        if not (low and rising):
            meant.append(meanings()["cool_low" if low else "cool_high"])
    notes = ["A gauge in the dash tells little; a thermometer at the thermostat housing tells more."]
    if untimed:
        notes.append(
            "Of some it was not told after how many minutes they were read; they say nothing of the warming up."
        )
    use = uses()["cooling"]
    return result("coolant", use, Place("cooling"), figure=last, told=told, held=held, meanings=meant, notes=notes)


def slope_per_minute(points: list[tuple[float, Amount]]) -> Amount | None:
    """Give the slope through readings, °C a minute, by least squares; None for fewer than three, or all at one time.

    The errors are taken as independent from reading to reading; what is common to them falls out.
    """
    if len(points) < 3:
        return None
    at = np.array([minute for minute, _ in points])
    spread = at - at.mean()
    lever = float(spread @ spread)
    if lever == 0:
        return None
    values = np.array([one.value for _, one in points])
    own = np.array([one.uncertainty for _, one in points])
    return amount(float(spread @ values) / lever, "degC/min", float(np.sqrt(spread**2 @ own**2)) / lever)


def _timed(readings: Iterable[Reading]) -> tuple[list[tuple[float, Amount]], list[Amount]]:
    """Give the readings by minutes, in order, and those without."""
    points: list[tuple[float, Amount]] = []
    untimed: list[Amount] = []
    for reading in readings:
        if reading.quantity != "coolant_temperature":
            continue
        if reading.unit != "degC":
            raise unfit("coolant temperature", f"unit {reading.unit!r}", "degC", "Give degrees Celsius.")
        figure = amount(reading.value, "degC", reading.uncertainty)
        minutes = reading.details.get("minutes")
        if minutes is None:
            untimed.append(figure)
        else:
            points.append((float(minutes), figure))
    if not points and not untimed:
        raise unfit("coolant temperature", "none", "one or more", "Read it every few minutes from cold.")
    return sorted(points, key=lambda point: point[0]), untimed


def _degrees(figure: Amount) -> str:
    return f"{figure.value:.0f} °C ({figure.low:.0f} to {figure.high:.0f})"
