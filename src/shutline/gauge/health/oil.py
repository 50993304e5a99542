"""Oil pressure hot and cold, held against what the maker asks; no figure is shipped."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from shutline.car.readings import Reading
from shutline.gauge.health.rules import meanings, uses
from shutline.gauge.limits import Amount, Held, Limit, Outcome, amount, hold, maker_in, makers_limit
from shutline.gauge.results import Meaning, Place, Result, result

# Another speed by more than this is another test: common practice, no source.
_SPEED_SHARE = 0.15


@dataclass(frozen=True, slots=True)
class MakersOil:
    """What the maker asks of the oil pressure, hot or cold, at a speed in turns a minute; None at any."""

    limit: Limit
    state: str
    rpm: float | None


def makers_oil(
    unit: str,
    *,
    least: float | None,
    most: float | None = None,
    state: str = "hot",
    rpm: float | None = None,
    source: str,
) -> MakersOil:
    """Make a limit of what the user read in the maker's book; raises as `makers_limit` does."""
    return MakersOil(makers_limit(f"oil_pressure_{state}", unit, least=least, most=most, source=source), state, rpm)


def oil_pressure(readings: Iterable[Reading], *, makers: Sequence[MakersOil] = ()) -> tuple[Result, ...]:
    """Tell of each oil pressure what it is, and how it lies to the maker's figure for that state and speed.

    Parameters
    ----------
    readings : iterable of Reading
        ``oil_pressure`` in any unit; ``state`` of the details is hot or cold, ``rpm`` the speed. Others are passed
        over.
    makers : sequence of MakersOil
        What the maker asks, in any unit of the quantity.
    """
    taken = [one for one in readings if one.quantity == "oil_pressure"]
    hotter = _more_hot_than_cold(taken)
    return tuple(_told(reading, makers, hotter=hotter) for reading in taken)


def _told(reading: Reading, makers: Sequence[MakersOil], *, hotter: bool) -> Result:
    figure = _amount(reading)
    state, rpm = reading.details.get("state", ""), reading.details.get("rpm")
    held = [
        hold(figure, maker_in(one.limit, "oil_pressure", reading.unit), what="that")
        for one in makers
        if one.state == state and _same_speed(one.rpm, rpm)
    ]
    at = f" at {float(rpm):,.0f} turns a minute" if rpm is not None else ""
    told = f"oil pressure {state}{at}: {figure.told()}.".replace("  ", " ").replace(" :", ":")
    notes = []
    if not held:
        told += " No maker's figure for that was entered: alone it says little."
    if not state:
        notes.append("Whether the engine was hot or cold was not told; it matters more than anything else.")
    if rpm is None:
        notes.append("The speed was not told: pressure goes with it.")
    place, use = Place("oil_pressure"), uses()["oil_pressure"]
    return result(
        "oil_pressure",
        use,
        place,
        figure=figure,
        told=told,
        held=held,
        meanings=_meant(held, hotter=hotter),
        notes=notes,
    )


def _meant(held: Sequence[Held], *, hotter: bool) -> list[Meaning]:
    found = []
    for one in held:
        if one.outcome is Outcome.OUTSIDE and one.limit.value is not None:
            top = one.limit.upper if one.limit.upper is not None else one.limit.value
            over = one.limit.sense != "at least" and one.figure.value > top
            found.append(meanings()["oil_high" if over else "oil_low"])
    if hotter:
        found.append(meanings()["oil_hotter_higher"])
    return list(dict.fromkeys(found))


def _more_hot_than_cold(readings: Sequence[Reading]) -> bool:
    """Tell whether any hot reading lies surely above a cold one at a like speed."""
    hot, cold = ([r for r in readings if r.details.get("state") == state] for state in ("hot", "cold"))
    for one in hot:
        for two in cold:
            speeds = one.details.get("rpm"), two.details.get("rpm")
            if one.unit != two.unit or None in speeds or not _same_speed(float(speeds[0] or 0), speeds[1]):
                continue
            gap = amount(one.value - two.value, one.unit, (one.uncertainty**2 + two.uncertainty**2) ** 0.5)
            if gap.low > 0:
                return True
    return False


def _same_speed(asked: float | None, had: float | str | None) -> bool:
    if asked is None:
        return True
    return had is not None and abs(float(had) - asked) <= _SPEED_SHARE * asked


def _amount(reading: Reading) -> Amount:
    return amount(reading.value, reading.unit, reading.uncertainty, floor=0.0)
