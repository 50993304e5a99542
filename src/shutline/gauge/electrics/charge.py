"""A battery at rest: its volts to a band of charge, as wide as meter and temperature make it."""

from __future__ import annotations

import math
from enum import StrEnum

import numpy as np

from shutline.car.readings import Reading
from shutline.gauge.electrics.rules import battery, charge_table, meanings, uses
from shutline.gauge.electrics.system import UNKNOWN, System, system_of
from shutline.gauge.limits import Amount, amount
from shutline.gauge.results import Place, Result, amount_of, result


class BatteryKind(StrEnum):
    """How the acid is held: the table of charge is of liquid acid alone."""

    FLOODED = "liquid acid"
    AGM = "AGM"
    GEL = "gel"


def charge_band(volts: Amount, system: System, *, temperature_c: Amount | None = None) -> Amount:
    """Give the charge of a battery at rest, %, with its interval.

    The volts are brought to the temperature of the table, by a share a degree that is known to lie in a range alone;
    the ends of their interval are then looked up in it, straight between its rows. Flat and full bound it.

    Parameters
    ----------
    volts : Amount
        At rest, V.
    system : System
        A 6 V battery is taken as half of a 12 V one.
    temperature_c : Amount, optional
        Of the battery, °C; not known, it may be any of a cold to a warm day.
    """
    rules = battery().rest
    low_c, high_c = rules.unknown_c
    warm = temperature_c or amount((low_c + high_c) / 2, "degC", (high_c - low_c) / math.sqrt(12))
    low_k, high_k = rules.volts_a_degree
    a_degree, own = (low_k + high_k) / 2, (high_k - low_k) / math.sqrt(12)
    colder = rules.table_c - warm.value
    at_table = amount(
        volts.value / system.share + a_degree * colder,
        "V",
        math.hypot(volts.uncertainty / system.share, own * colder, a_degree * warm.uncertainty),
    )
    charge, low, high, below, above = (
        _looked_up(volts_of)
        for volts_of in (
            at_table.value,
            at_table.low,
            at_table.high,
            at_table.value - at_table.uncertainty,
            at_table.value + at_table.uncertainty,
        )
    )
    return Amount(charge, "%", (above - below) / 2, low, high)


def at_rest(reading: Reading, *, system: System | None = None, kind: BatteryKind = BatteryKind.FLOODED) -> Result:
    """Tell what a battery's volts at rest say of its charge.

    Parameters
    ----------
    reading : Reading
        ``rest_voltage`` in V; ``temperature_c``, ``hours`` and ``system`` of its details bear on it.
    system : System, optional
        Of the car, where the reading does not say.
    kind : BatteryKind
        Of another than liquid acid nothing is told: their tables are the makers'.

    Raises
    ------
    BadInputError
        Another unit (slug ``reading-unfit``).
    """
    volts = amount_of(reading, "V")
    use, place = uses()["rest"], Place("battery")
    if kind is not BatteryKind.FLOODED:
        told = f"battery at rest {volts.told(2)}: for {kind} look the charge up in the maker's table."
        return result("battery_at_rest", use, place, figure=volts, told=told)
    of = system_of(reading, system)
    if of is None:
        return result("battery_at_rest", use, place, figure=volts, told=f"battery at rest {volts.told(2)}, {UNKNOWN}")
    warm = reading.details.get("temperature_c")
    figure = charge_band(volts, of, temperature_c=None if warm is None else amount(float(warm), "degC", 1.0))
    told = (
        f"{of} battery at rest {volts.told(2)}: between {figure.low:.0f} and {figure.high:.0f} % charged by the table"
        " of volts at rest."
    )
    notes = ["One per cent of error in the meter alone is about fifteen per cent of charge."]
    if warm is None:
        notes.append("How warm the battery was is not known; the band allows for a cold to a warm day.")
    hours = reading.details.get("hours")
    rest = battery().rest
    if hours is None or float(hours) < rest.hours:
        since = "how long it had stood is not known" if hours is None else f"it had stood {float(hours):g} hours"
        notes.append(f"{since[0].upper()}{since[1:]}: before {rest.hours:g} hours it shows more than it has.")
    bottom, top = charge_table()[0][0] * of.share, charge_table()[-1][0] * of.share
    meant = []
    if volts.low > top + rest.over_full_v * of.share:
        meant.append(meanings()["over_full"])
    elif volts.high < bottom:
        meant.append(meanings()["dead_cell"])
    return result("battery_at_rest", use, place, figure=figure, told=told, meanings=meant, notes=notes)


def _looked_up(volts: float) -> float:
    table = np.array(charge_table())
    return float(np.interp(volts, table[:, 0], table[:, 1]))
