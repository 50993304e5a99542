"""Places inside one car held against its driest ones, meter by meter."""

from __future__ import annotations

import math
import statistics
from collections.abc import Sequence

from shutline.car.readings import Reading
from shutline.gauge.damp.results import DampMeter, Dampness, DampPlace, DampResult
from shutline.gauge.damp.tables import places, settings, words
from shutline.gauge.readings.quantities import quantity
from shutline.gauge.usual import Measured, PlaceUsual, weigh

QUANTITY = "moisture"
_PER_CENT = "%"


def compare_damp(readings: Sequence[Reading]) -> DampResult:
    """Tell what moisture readings of one car come to.

    Readings of one part, side, position and word for the spot are of one place. The car's own ground is what its driest
    places share; a place is damp beside it, not by a figure of its own. Readings of other quantities are passed over;
    what was struck is the caller's to leave out.
    """
    meters: dict[tuple[str, str], dict[DampPlace, list[Reading]]] = {}
    for reading in readings:
        if reading.quantity == QUANTITY:
            place = DampPlace(reading.part, reading.side, reading.position, reading.spot.strip().casefold())
            of_meter = meters.setdefault((reading.instrument, reading.unit), {})
            of_meter.setdefault(place, []).append(reading)
    said = words()
    return DampResult(
        meters=tuple(_meter(instrument, unit, group) for (instrument, unit), group in meters.items()),
        good_for=said["good_for"]["place"],
        decides=said["decides"]["place"],
        cautions=(said["cautions"]["electric"],),
        note=said["sentences"]["wet_all"],
    )


def _meter(instrument: str, unit: str, group: dict[DampPlace, list[Reading]]) -> DampMeter:
    own, said = settings(), words()["sentences"]
    model = own.usual if unit == _PER_CENT else own.relative
    label = next((one.label for one in quantity(QUANTITY).units if one.id == unit), unit)
    means = [_mean(taken) for taken in group.values()]
    usual = weigh([[one] for one in means], model, level=own.told.level)
    known = len(group) >= own.told.places
    found = tuple(
        _dampness(place, taken, mean, held, unit=label, known=known)
        for (place, taken), mean, held in zip(group.items(), means, usual.places, strict=True)
    )
    return DampMeter(
        instrument=instrument,
        unit=unit,
        ground=usual.ground,
        known=known,
        places=found,
        sentence=said["ground" if known else "few"].format(
            figure=f"{usual.ground.figure:.0f}",
            low=f"{usual.ground.low:.0f}",
            high=f"{usual.ground.high:.0f}",
            unit=label,
            places=len(group),
            least=own.told.places,
        ),
    )


def _mean(taken: Sequence[Reading]) -> Measured:
    values = [one.value for one in taken]
    gauge = math.sqrt(statistics.fmean(one.uncertainty**2 for one in taken))
    scatter = statistics.stdev(values) if len(values) > 1 else 0.0
    return Measured(statistics.fmean(values), max(gauge, scatter) / math.sqrt(len(values)), len(values))


def _dampness(
    place: DampPlace, taken: Sequence[Reading], mean: Measured, held: PlaceUsual, *, unit: str, known: bool
) -> Dampness:
    told = _told(held) if known else "alone"
    name = place.name
    row = places().get(place.part)
    return Dampness(
        place=place,
        mean=mean.value,
        uncertainty=mean.uncertainty,
        readings=mean.readings,
        ratio=held.ratio,
        damper=held.more,
        told=told,
        sentence=words()["sentences"][told].format(
            Name=name[0].upper() + name[1:],
            ratio=f"{held.ratio.figure:.1f}",
            low=f"{held.ratio.low:.1f}",
            high=f"{held.ratio.high:.1f}",
            figure=f"{mean.value:.0f}",
            unit=unit,
        ),
        notes=(row.note,) if row is not None and row.note and told in {"damper", "unclear"} else (),
        sources=tuple(dict.fromkeys(one.source for one in taken if one.source)),
    )


def _told(held: PlaceUsual) -> str:
    own = settings().told
    if held.more >= own.sure:
        return "damper"
    return "own" if held.more <= own.unlikely else "unclear"
