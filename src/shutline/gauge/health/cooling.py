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
        ``coolant_temperature`` in °C (``degC``), each with ``minutes`` of its details, since the start. Others are
        passed over.
    maker : Limit, optional
        Where it should settle: see `makers_coolant`.

    Raises
    ------
    BadInputError
        None was given, in another unit, or without minutes (slug ``reading-unfit``).
    """
    points = []
    for reading in readings:
        if reading.quantity != "coolant_temperature":
            continue
        minutes = reading.details.get("minutes")
        if reading.unit != "degC" or minutes is None:
            raise unfit(
                "coolant temperature",
                f"{reading.value:g} {reading.unit} {'without minutes' if minutes is None else ''}".strip(),
                "degC with the minutes since the start",
                "Say after how many minutes each was read.",
            )
        points.append((float(minutes), amount(reading.value, "degC", reading.uncertainty)))
    if not points:
        raise unfit("coolant temperature", "none", "one or more", "Read it every few minutes from cold.")
    points.sort(key=lambda point: point[0])
    last_at, last = points[-1]
    slope = slope_per_minute(points[-_LAST:])
    rising = slope is not None and slope.low > 0
    told = f"coolant {_degrees(last)} after {last_at:g} minutes"
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
    notes = ("A gauge in the dash tells little; a thermometer at the thermostat housing tells more.",)
    use = uses()["cooling"]
    return result("coolant", use, Place("cooling"), figure=last, told=told, held=held, meanings=meant, notes=notes)


def slope_per_minute(points: list[tuple[float, Amount]]) -> Amount | None:
    """Give the slope through readings, °C a minute, by least squares; None for fewer than three, or all at one time.

    The errors are taken as independent from reading to reading; what is common to them falls out.
    """
    at = np.array([minute for minute, _ in points])
    spread = at - at.mean()
    lever = float(spread @ spread)
    if len(points) < 3 or lever == 0:
        return None
    values = np.array([one.value for _, one in points])
    own = np.array([one.uncertainty for _, one in points])
    return amount(float(spread @ values) / lever, "degC/min", float(np.sqrt(spread**2 @ own**2)) / lever)


def _degrees(figure: Amount) -> str:
    return f"{figure.value:.0f} °C ({figure.low:.0f} to {figure.high:.0f})"
