"""What drains a car that stands, to days; and the insulation of an electric drive."""

from __future__ import annotations

import math
from enum import StrEnum

from shutline.car.readings import Reading
from shutline.gauge.electrics.rules import battery, limits, uses
from shutline.gauge.limits import Amount, amount, fitting, hold, unfit
from shutline.gauge.results import Place, Result, amount_of, result

_HOURS_A_DAY = 24.0
_MILLI = 1000.0
_OHM_A_MEGOHM = 1e6
_JOINED = (
    "Where direct and alternating current are joined, 500 Ω for each volt is asked of both, or 100 if the side of"
    " alternating current is protected twice over: the licensed person knows (UN Regulation 100, 5.1.3.2)."
)


class Current(StrEnum):
    """What runs in the part whose insulation was measured."""

    DC = "dc"
    AC = "ac"


def days_until(
    drain_ma: Amount, capacity_ah: float, *, charge_pct: Amount | None = None, down_to_pct: float = 0.0
) -> tuple[float, float]:
    """Give how many days a battery lasts, the least and the most.

    Days = capacity x what is left of it x charge / drain. The least takes the low end of each and the high end of the
    drain, the most the other ends; what a battery loses by itself is not in it.

    Parameters
    ----------
    drain_ma : Amount
        Current at rest, mA.
    capacity_ah : float
        What stands on the battery, Ah.
    charge_pct : Amount, optional
        Charge now, %; full where nobody knows.
    down_to_pct : float
        To what charge.

    Returns
    -------
    tuple of float
        Least and most; the most is infinite where it may be that nothing drains.

    Raises
    ------
    BadInputError
        The capacity is not above nought (slug ``reading-unfit``).
    """
    if not capacity_ah > 0:
        raise unfit("capacity", f"{capacity_ah:g} Ah", "above nought", "Read it off the battery.")
    charge = charge_pct or amount(100.0, "%")
    lowest, highest = battery().drain.capacity_left
    hours = [
        capacity_ah * left * max(0.0, of - down_to_pct) / 100 * _MILLI / current if current > 0 else math.inf
        for left, of, current in ((lowest, charge.low, drain_ma.high), (highest, charge.high, drain_ma.low))
    ]
    return hours[0] / _HOURS_A_DAY, hours[1] / _HOURS_A_DAY


def drain(reading: Reading, *, charge_pct: Amount | None = None) -> Result:
    """Tell how long a car may stand with what it draws at rest.

    Parameters
    ----------
    reading : Reading
        ``rest_current`` in mA; ``capacity_ah`` of its details is what stands on the battery.
    charge_pct : Amount, optional
        Charge now, %: see `charge_band`; full where nobody knows.

    Raises
    ------
    BadInputError
        Another unit, or a capacity that is not above nought (slug ``reading-unfit``).
    """
    current = amount_of(reading, "mA")
    held = [hold(current, one, what="drain", decimals=0) for one in fitting(limits(), "rest_current", first_used=None)]
    capacity = reading.details.get("capacity_ah")
    notes = [
        "Measured with everything off, doors shut and the meter in the lead for some minutes.",
        "What a battery loses by itself is not in it. An old car without clock, radio or alarm draws next to nothing.",
    ]
    told = "How many days it lasts cannot be told without the capacity on the battery."
    if capacity is not None:
        needs = 100 * battery().drain.start_needs
        half = days_until(current, float(capacity), charge_pct=charge_pct, down_to_pct=needs)
        flat = days_until(current, float(capacity), charge_pct=charge_pct)
        told = f"On {float(capacity):g} Ah it may no longer start after {_days(half)}, and is flat after {_days(flat)}."
        low, high = battery().drain.capacity_left
        notes.append(f"{100 * low:.0f} to {100 * high:.0f} % of the capacity on it are taken to be left.")
        if charge_pct is None:
            notes.append("The battery is taken to be full now.")
    return result("drain", uses()["drain"], Place("battery"), figure=current, told=told, held=held, notes=notes)


def insulation(reading: Reading, *, current: Current | None = None) -> Result:
    """Tell how insulation that a licensed person measured lies to the regulation for new vehicles.

    Parameters
    ----------
    reading : Reading
        ``insulation_resistance`` in MΩ (``Mohm``); ``system_v`` of its details is the working voltage, ``test_v`` the
        voltage of the tester.
    current : Current or None
        What runs in the part; not known, or where both are joined, both limits are shown.

    Raises
    ------
    BadInputError
        Another unit (slug ``reading-unfit``).
    """
    measured = amount_of(reading, "Mohm")
    working, test = reading.details.get("system_v"), reading.details.get("test_v")
    care = uses()["insulation"].cautions[0]
    place, use = Place(reading.part), uses()["insulation"]
    if working is None or not float(working) > 0:
        told = f"{care} Insulation {measured.told(2)}: it tells something only beside the working voltage of the drive."
        return result("insulation", use, place, figure=measured, told=told)
    volts = float(working)
    scale = _OHM_A_MEGOHM / volts
    figure = amount(measured.value * scale, "ohm/V", measured.uncertainty * scale, floor=0.0)
    rules = battery().insulation
    told = f"{care} Insulation {measured.told(2)} on a working voltage of {volts:g} V."
    notes = [_JOINED]
    enough = test is None or float(test) >= rules.least_test_share * volts
    if not enough:
        told += f" Tested with {float(test or 0):g} V, less than half of that: it is not held against anything."
    if test is None:
        notes.append("With which voltage it was tested was not told: it has to be at least half the working voltage.")
    if volts <= rules.high_voltage_dc_v:
        notes.append(
            f"The regulation speaks of more than {rules.high_voltage_dc_v:g} V of direct current (from memory)."
        )
    case = current.value if current else ""
    limits_for = fitting(limits(), "insulation", first_used=None, case=case) if enough else ()
    held = [hold(figure, one, what="that is", decimals=0) for one in limits_for]
    return result("insulation", use, place, figure=figure, told=told, held=held, notes=notes)


def _days(days: tuple[float, float]) -> str:
    low, high = days
    if math.isinf(high):
        return f"{_count(low)} days or more" if math.isfinite(low) else "no time that can be told"
    return f"{_count(low)} to {_count(high)} days" if _count(low) != _count(high) else f"about {_count(low)} days"


def _count(days: float) -> str:
    return f"{days:.1f}" if days < 3 else f"{days:,.0f}"
