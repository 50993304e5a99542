"""Leak-down: how much of the air let into a cylinder gets out, and by the sound where."""

from __future__ import annotations

from collections.abc import Iterable

from shutline.car.readings import Reading
from shutline.gauge.health.rules import leak_bands, meanings, uses
from shutline.gauge.limits import Amount, unfit
from shutline.gauge.results import Place, Result, amount_of, result

HEARD_AT = ("exhaust", "inlet", "filler", "radiator", "neighbour")
"""Where the air may be heard: tail pipe, carburettor, oil filler, bubbles in the coolant, the plug hole beside."""


def leak_down(readings: Iterable[Reading]) -> tuple[Result, ...]:
    """Tell of each cylinder how much it leaks.

    There is no rule: what one page calls such figures is told, as its words.

    Parameters
    ----------
    readings : iterable of Reading
        ``leak_down`` in per cent; the spot is the cylinder, ``heard_at`` of the details where the air was heard, one
        of `HEARD_AT`. Others are passed over.

    Raises
    ------
    BadInputError
        A reading is in another unit, or a place is unknown (slug ``reading-unfit``).
    """
    told = []
    for reading in readings:
        if reading.quantity != "leak_down":
            continue
        figure = amount_of(reading, "%")
        number = int(reading.spot) if reading.spot.isdecimal() else None
        heard = reading.details.get("heard_at")
        if heard is not None and heard not in HEARD_AT:
            raise unfit("leak-down", f"heard at {heard}", ", ".join(HEARD_AT), "Choose one of them.")
        meant = [] if heard is None else [meanings()[f"leak_{heard}"]]
        named = "a cylinder nobody named" if number is None else f"cylinder {number}"
        text = f"{named} leaks {figure.told(0)}: {bands_told(figure)}."
        place = Place("engine", spot=reading.spot)
        notes = (
            "Piston at the top of its compression stroke, engine warm; another maker's tester shows other figures.",
        )
        told.append(
            result("leak_down", uses()["leak_down"], place, figure=figure, told=text, meanings=meant, notes=notes)
        )
    return tuple(told)


def bands_told(figure: Amount) -> str:
    """Give the words of the bands that an interval touches, joined by ``or``."""
    touched = [band.words for band in leak_bands() if figure.low < band.high and figure.high >= band.low]
    return " or ".join(touched) if touched else leak_bands()[-1].words
