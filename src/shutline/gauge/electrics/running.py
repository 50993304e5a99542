"""The battery while the starter turns, and the charging while the engine runs."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from shutline.car.readings import Reading
from shutline.gauge.electrics.rules import limits, load_test, meanings, uses
from shutline.gauge.electrics.system import UNKNOWN, System, system_of
from shutline.gauge.limits import Amount, Limit, Outcome, amount, fitting, hold, makers_limit
from shutline.gauge.results import Place, Result, amount_of, result


def cranking(reading: Reading, *, system: System | None = None, rest: Amount | None = None) -> Result:
    """Tell how far the battery drops while the starter turns.

    Parameters
    ----------
    reading : Reading
        ``cranking_voltage`` in V; ``temperature_c`` and ``system`` of its details bear on it.
    system : System, optional
        Of the car, where the reading does not say.
    rest : Amount, optional
        The volts at rest before, V.

    Raises
    ------
    BadInputError
        Another unit (slug ``reading-unfit``).
    """
    volts = amount_of(reading, "V")
    of = system_of(reading, system)
    use, place = uses()["cranking"], Place("battery")
    if of is None:
        told = f"battery while cranking {volts.told()}, {UNKNOWN}"
        return result("battery_cranking", use, place, figure=volts, told=told)
    warm = reading.details.get("temperature_c")
    told = ""
    if rest is not None:
        drop = amount(rest.value - volts.value, "V", (rest.uncertainty**2 + volts.uncertainty**2) ** 0.5)
        told = f"It drops by {drop.told()} from rest."
    held = [hold(volts, _cranking_limit(of, warm), what=f"{of} battery while cranking")]
    meant = [meanings()["cranking_low"]] if held[0].outcome is Outcome.OUTSIDE else []
    notes = ["The makers' figure is of a load test at half the cold-cranking current; a starter may ask less or more."]
    if warm is None:
        notes.append("How warm the battery was is not known: taken as 20 °C or more.")
    if of is System.SIX:
        notes.append("For 6 V half of it was taken: from memory.")
    return result("battery_cranking", use, place, figure=volts, told=told, held=held, meanings=meant, notes=notes)


def least_cranking_v(temperature_c: float | None) -> float:
    """Give the least volts of a 12 V battery under load at a temperature, straight between the rows of the table."""
    table = np.array(load_test())
    return float(np.interp(table[-1, 0] if temperature_c is None else temperature_c, table[:, 0], table[:, 1]))


def _cranking_limit(of: System, warm: float | str | None) -> Limit:
    (row,) = fitting(limits(), "cranking_voltage", first_used=None)
    degrees = None if warm is None else float(warm)
    least = round(least_cranking_v(degrees) * of.share, 3)
    shown = "20 °C" if degrees is None else f"{degrees:g} °C"
    return replace(row, value=least, rule=row.rule.format(volts=f"{least:.1f}", degrees=shown))


def makers_charging(*, least_v: float | None, most_v: float | None, source: str) -> Limit:
    """Make a limit of the charging voltage in the maker's book; raises as `makers_limit` does."""
    return makers_limit("charging_voltage", "V", least=least_v, most=most_v, source=source)


def charging(
    reading: Reading, *, system: System | None = None, rest: Amount | None = None, maker: Limit | None = None
) -> Result:
    """Tell how the battery is charged with the engine running.

    An alternator is held against what is common; a dynamo, whose figures go by speed and temperature, against the
    maker's alone. Either is held against the volts at rest, where they are known: above them it charges.

    Parameters
    ----------
    reading : Reading
        ``charging_voltage`` in V; ``source`` (dynamo or alternator), ``rpm`` and ``system`` of its details bear on it.
    system : System, optional
        Of the car, where the reading does not say.
    rest : Amount, optional
        The volts at rest before, V.
    maker : Limit, optional
        What the maker's book says: see `makers_charging`; goes before what is common.

    Raises
    ------
    BadInputError
        Another unit (slug ``reading-unfit``).
    """
    volts = amount_of(reading, "V")
    of = system_of(reading, system)
    use, place = uses()["charging"], Place("charging")
    if of is None:
        return result("charging", use, place, figure=volts, told=f"charging {volts.told()}, {UNKNOWN}")
    source = str(reading.details.get("source", ""))
    rpm = reading.details.get("rpm")
    rules = (
        (maker,)
        if maker
        else tuple(_for(of, one) for one in fitting(limits(), "charging_voltage", first_used=None, case=source))
    )
    at = f" at {float(rpm):,.0f} turns a minute" if rpm is not None else ""
    what = f"{of} charging{' by ' + source if source else ''}{at}"
    held = [hold(volts, one, what=what) for one in rules]
    meant, told = [], ""
    if rest is not None:
        above = amount(volts.value - rest.value, "V", (rest.uncertainty**2 + volts.uncertainty**2) ** 0.5)
        told = f"{above.told()} above rest: it {_charges(above)}."
        if above.high <= 0:
            meant.append(meanings()["not_charging"])
    valued = [one for one in held if one.outcome is Outcome.OUTSIDE and one.limit.value is not None]
    if valued and len(held) == 1:
        low = valued[0].limit.sense != "at most" and volts.value < (valued[0].limit.value or 0.0)
        meant.append(meanings()["charging_low" if low else "charging_high"])
    notes = []
    if not source:
        notes.append("Whether it is a dynamo or an alternator was not told.")
    if source == "dynamo":
        notes.append("A dynamo charges little or not at all at idle: measure at a fast idle as well.")
    if rpm is None:
        notes.append("The speed of the engine was not told.")
    return result("charging", use, place, figure=volts, told=told, held=held, meanings=meant, notes=notes)


def _charges(above: Amount) -> str:
    if above.low > 0:
        return "charges"
    return "does not charge" if above.high <= 0 else "cannot be told whether it charges"


def _for(of: System, limit: Limit) -> Limit:
    if limit.value is None or of is System.TWELVE:
        return limit
    value, upper = (None if one is None else round(one * of.share, 2) for one in (limit.value, limit.upper))
    return replace(limit, value=value, upper=upper, rule=f"half of this on 6 V (from memory): {limit.rule}")
