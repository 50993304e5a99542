"""How big a tyre is, how far it rolls in a turn, and what another size does to speed and miles shown."""

from __future__ import annotations

import math
from dataclasses import dataclass

from shutline.gauge.limits import Amount, amount, hold, unfit
from shutline.gauge.results import Place, Result, result
from shutline.gauge.tyres.markings import Kind, Marking
from shutline.gauge.tyres.rules import aspects, limits, rolling, uses

SECONDS_AN_HOUR = 3600.0


@dataclass(frozen=True, slots=True)
class Size:
    """What follows from a marking: mm. `assumed` says which ratio was taken where the marking gives none."""

    side_mm: Amount
    diameter_mm: Amount
    circumference_mm: Amount
    assumed: str


def size_of(marking: Marking, *, measured_diameter: Amount | None = None) -> Size:
    """Work out a tyre's size from its marking.

    Diameter = 2 x width x ratio + rim; the rolling circumference is a multiple of it (``rolling.csv``), within 1 %
    either way, evenly. Where the marking has no ratio, it lies between those that the sources take (82 % and 80 %),
    and is told to. An inch size tells no height, so its diameter is not worked out: it has to be measured.

    Parameters
    ----------
    marking : Marking
        The tyre.
    measured_diameter : Amount, optional
        Measured over the tread, mm; goes before what follows from the marking.

    Raises
    ------
    BadInputError
        Of an inch size without a measured diameter; of one in another unit (slug ``reading-unfit``).
    """
    assumed = ""
    if measured_diameter is not None:
        if measured_diameter.unit != "mm":
            raise unfit("diameter", f"unit {measured_diameter.unit!r}", "mm", "Give millimetres.")
        diameter = measured_diameter
        assumed = "diameter as measured"
    elif marking.ratio_pct is not None:
        diameter = amount(2 * marking.width_mm * marking.ratio_pct / 100 + marking.rim_mm, "mm")
    elif marking.kind is Kind.INCH:
        raise unfit(
            "diameter",
            f"{marking.text}, whose marking tells no height",
            "a diameter that was measured",
            "Measure over the tread, the tyre pumped up, or roll the wheel one turn and measure along the ground.",
        )
    else:
        heights = [one.pct for one in aspects()]
        low, high = (2 * marking.width_mm * pct / 100 + marking.rim_mm for pct in (min(heights), max(heights)))
        diameter = Amount((low + high) / 2, "mm", (high - low) / math.sqrt(12), low, high)
        assumed = "no ratio is marked: " + " or ".join(f"{one.pct:g} % ({one.who})" for one in aspects())
    side = (diameter.value - marking.rim_mm) / 2
    half = (diameter.high - diameter.low) / 4
    turn = rolling()[marking.construction.value]
    own = diameter.uncertainty / diameter.value
    share = math.hypot(own, turn.half_width / math.sqrt(3))
    around = turn.factor * diameter.value
    return Size(
        side_mm=Amount(side, "mm", diameter.uncertainty / 2, side - half, side + half),
        diameter_mm=diameter,
        circumference_mm=amount(around, "mm", around * share),
        assumed=assumed,
    )


def rolling_circumference(marking: Marking, *, measured_diameter: Amount | None = None) -> Result:
    """Tell how far a tyre rolls in one turn; raises as `size_of` does."""
    size = size_of(marking, measured_diameter=measured_diameter)
    told = (
        f"{marking.text}: {size.diameter_mm.told()} across, and rolls {size.circumference_mm.told(0)} in one turn"
        f"{'; ' + size.assumed if size.assumed else ''}."
    )
    notes = ("Load, pressure and tread left move it by about one per cent.",)
    use = uses()["rolling"]
    return result("rolling_circumference", use, Place("tyre"), figure=size.circumference_mm, told=told, notes=notes)


def speed_ratio(meant: Size, fitted: Size) -> Amount:
    """Give the true speed as a share of what is shown, the speedometer being right on the size that was meant.

    The errors of the two circumferences are taken as independent, which makes the interval the wider.
    """
    ratio = fitted.circumference_mm.value / meant.circumference_mm.value
    shares = (one.circumference_mm.uncertainty / one.circumference_mm.value for one in (meant, fitted))
    return amount(ratio, "", ratio * math.hypot(*shares))


def speedometer_effect(
    meant: Marking, fitted: Marking, *, shown_mph: float = 60.0, fitted_diameter: Amount | None = None
) -> Result:
    """Tell what another size than the one meant for the car does to speed and miles shown.

    Where a marking tells no height and no diameter was measured, it is told that it has to be.

    Parameters
    ----------
    meant, fitted : Marking
        The tyre that the speedometer was made for, and the one that is on the car.
    shown_mph : float
        The speed that is shown.
    fitted_diameter : Amount, optional
        Of the tyre that is fitted, measured over the tread, mm.

    Raises
    ------
    BadInputError
        The speed is not above nought, or the diameter is not in mm (slug ``reading-unfit``).
    """
    if not shown_mph > 0:
        raise unfit("speed", f"{shown_mph:g} mph", "above nought", "Give the speed that is shown.")
    use, place = uses()["speedometer"], Place("instruments")
    unknown = [one.text for one, known in ((meant, None), (fitted, fitted_diameter)) if _no_height(one) and not known]
    if unknown:
        told = (
            f"{fitted.text} where {meant.text} is meant: {' and '.join(unknown)} tells no height; measure both tyres."
        )
        return result("speedometer_effect", use, place, told=told)
    ratio = speed_ratio(size_of(meant), size_of(fitted, measured_diameter=fitted_diameter))
    true = amount(shown_mph * ratio.value, "mph", shown_mph * ratio.uncertainty)
    pct = amount(100 * (ratio.value - 1), "%", 100 * ratio.uncertainty)
    way = "more than" if ratio.low > 1 else "less than" if ratio.high < 1 else "about"
    told = (
        f"{fitted.text} where {meant.text} is meant: when {shown_mph:g} mph is shown, the car goes {way} that,"
        f" {true.told()}; of 1,000 miles driven {1000 / ratio.value:,.0f} are counted."
    )
    limit = next(one for one in limits() if one.of == "speed_shown")
    held = (hold(pct, limit, what="true speed over what is shown"),)
    notes = ("The tyres' share alone: what the speedometer itself is off is not in it.",)
    return result("speedometer_effect", use, place, figure=true, told=told, held=held, notes=notes)


def _no_height(tyre: Marking) -> bool:
    return tyre.kind is Kind.INCH


def timed_mile_mph(seconds: float) -> float:
    """Give the speed of a mile driven in so many seconds, mph.

    >>> timed_mile_mph(60.0)
    60.0

    Raises
    ------
    BadInputError
        The time is not above nought (slug ``reading-unfit``).
    """
    if not seconds > 0:
        raise unfit("time over a mile", f"{seconds:g} s", "above nought", "Give the seconds from post to post.")
    return SECONDS_AN_HOUR / seconds
