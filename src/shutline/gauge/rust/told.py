"""What kept readings of rust and blisters come to."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace
from functools import cache

from shutline.car.errors import BadInputError
from shutline.car.readings import Reading
from shutline.gauge.limits import LEVEL, amount
from shutline.gauge.results import Result, Use, called, place_of, read_uses, result
from shutline.gauge.rust.blisters import rated
from shutline.gauge.rust.grades import BOUNDARY_RULE
from shutline.gauge.rust.settings import d610, words
from shutline.gauge.rust.share import share_sentence
from shutline.gauge.tables import shipped

_SHARE, _DENSITY, _SIZE = "rusted_share", "blister_density", "blister_size"


@cache
def uses() -> dict[str, Use]:
    """Give what results are good for, by id."""
    return read_uses(shipped("rust", "uses.csv"), name="rust/uses.csv")


def rust_told(readings: Iterable[Reading]) -> tuple[Result, ...]:
    """Tell each share of rust with what the standards call as much, then blisters, density and size together.

    Parameters
    ----------
    readings : iterable of Reading
        ``rusted_share`` in per cent; ``blister_density`` and ``blister_size`` belong together where they are of one
        series, else where they are of one place. Others are passed over.
    """
    shares: list[Result] = []
    blisters: dict[tuple[object, ...], dict[str, Reading]] = {}
    for reading in readings:
        if reading.quantity == _SHARE:
            shares.append(_share(reading))
        elif reading.quantity in {_DENSITY, _SIZE}:
            place = (reading.series, reading.part, reading.side, reading.position, reading.spot)
            blisters.setdefault(place, {})[reading.quantity] = reading
    if shares:
        standard = d610()[0].source.partition(":")[0]
        shares[0] = replace(shares[0], notes=(f"Grades of {standard}.", BOUNDARY_RULE, words()["standards"]))
    return (*shares, *map(_blisters, blisters.values()))


def _share(reading: Reading) -> Result:
    figure = amount(reading.value / 100, "", reading.uncertainty / 100, floor=0.0, ceiling=1.0)
    told = share_sentence(figure.value, figure.low, figure.high, level=LEVEL)
    return result(
        "rusted_share",
        uses()["area"],
        place_of(reading),
        figure=amount(reading.value, "%", reading.uncertainty, floor=0.0, ceiling=100.0),
        told=f"{called(reading)}: {told[:1].lower()}{told[1:]}",
    )


def _blisters(both: dict[str, Reading]) -> Result:
    reading = next(iter(both.values()))
    if len(both) < 2:
        lacking = "size" if _DENSITY in both else "density"
        told = f"blister {reading.quantity.removeprefix('blister_')} {reading.value:g}; the {lacking} was not told."
    else:
        density, size = (both[name].value for name in (_DENSITY, _SIZE))
        try:
            # Halves between two pictures are none of the scale: they come out as no rating.
            told = rated(*(int(one) if one.is_integer() else -1 for one in (density, size))).sentence
        except BadInputError:
            told = f"blisters of density {density:g} and size {size:g}, which the drawn scale has no picture of."
    told = f"{called(reading)}: {told[:1].lower()}{told[1:]}"
    return result("blisters", uses()["blisters"], place_of(reading), told=told, notes=(words()["blisters"],))
