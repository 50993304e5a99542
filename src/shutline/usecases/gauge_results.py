"""What the readings of a car tell, one gauge after the other, from what is known of the car beside them."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import TYPE_CHECKING

from shutline.car.figures import FigureKind, FigureState
from shutline.car.findings import State

if TYPE_CHECKING:
    from datetime import date

    from shutline.car.carfile import CarFile
    from shutline.car.readings import Reading
    from shutline.gauge.limits import FirstUse
    from shutline.gauge.results import Place, Result
    from shutline.gauge.sheet import GaugeSheet


@dataclass(frozen=True, slots=True)
class Known:
    """A car, its readings that stand, when it was first used, the day ages are counted on, and the user's own sheet."""

    car: CarFile
    readings: tuple[Reading, ...]
    first_used: FirstUse | None
    day: date
    sheet: GaugeSheet

    def some(self, *quantities: str) -> list[Reading]:
        """Give the readings of some quantities."""
        return [one for one in self.readings if one.quantity in quantities]

    def as_keyed(self, quantity: str) -> list[Reading]:
        """Give the readings of a quantity in the unit they were keyed in; in its first where that is not one unit."""
        kept = [one.reading for one in self.car.readings if one.state is State.STANDS]
        own = [one for one in kept if one.quantity == quantity]
        return own if len({one.unit for one in own}) == 1 else self.some(quantity)


def _colour(known: Known) -> tuple[Result, ...]:
    from shutline.gauge.colour import colours_told

    return colours_told(known.readings, meet=_meet)


def _meet(one: Place, other: Place) -> bool:
    from shutline.gauge.paint import Panel, are_neighbours

    return are_neighbours(*(Panel(place.part, place.side, place.position) for place in (one, other)))


def _rust(known: Known) -> tuple[Result, ...]:
    from shutline.gauge.rust import rust_told

    return rust_told(known.readings)


def _sizes(known: Known) -> tuple[Result, ...]:
    from shutline.gauge.size import sizes_told

    return sizes_told(known.readings)


def _tyres(known: Known) -> tuple[Result, ...]:
    from shutline.gauge.results import Place
    from shutline.gauge.tyres import date_code, marking, speedometer_effect, treads, tyre_age, tyres_together

    sheet = known.sheet
    told = list(treads(known.some("tread_depth"), first_used=known.first_used))
    taken = [one for one in known.car.figures if one.state is FigureState.TAKEN]
    dates = {
        (figure.position, figure.side): date_code(code)
        for figure in taken
        if figure.read.kind is FigureKind.TYRE_DATE and (code := _code(figure.read.text))
    }
    fitted = {
        (figure.position, figure.side): marking(str(figure.value))
        for figure in taken
        if figure.read.kind is FigureKind.TYRE_SIZE and figure.side is not None and figure.position is not None
    }
    # What somebody wrote down of a wheel goes before what was read off a picture of it.
    for tyre in sheet.tyres:
        if tyre.date is not None:
            dates[tyre.position, tyre.side] = tyre.date
        if tyre.marking is not None:
            fitted[tyre.position, tyre.side] = tyre.marking
    told += [tyre_age(code, known.day, place=Place("tyre", side, position)) for (position, side), code in dates.items()]
    if len(fitted) > 1:
        told += tyres_together(fitted)
    if sheet.meant is not None:
        others = dict.fromkeys(one for one in fitted.values() if one != sheet.meant)
        told += [speedometer_effect(sheet.meant, one) for one in others]
    return tuple(told)


def _code(text: str) -> str:
    """Give the figures of a date code: the last three or four of what was read."""
    figures = "".join(sign if sign.isdecimal() else " " for sign in text).split()
    return next((one for one in reversed(figures) if len(one) in (3, 4)), "")


def _brakes(known: Known) -> tuple[Result, ...]:
    from shutline.gauge.brakes import roller_test

    if not known.some("brake_effort"):
        return ()
    own = known.some("brake_effort", "test_weight")
    return roller_test(own, first_used=known.first_used, circuit=known.sheet.circuit)


def _engine(known: Known) -> tuple[Result, ...]:
    from shutline.gauge.health import compression, leak_down, oil_pressure, warming

    sheet = known.sheet
    cylinders = next((one.note.cylinders for one in reversed(known.car.engine_notes)), None)
    told: list[Result] = []
    if own := known.as_keyed("compression"):
        told += compression(own, cylinders=cylinders, maker=sheet.compression)
    if own := known.some("leak_down"):
        told += leak_down(own)
    if own := known.as_keyed("oil_pressure"):
        told += oil_pressure(own, makers=sheet.oil)
    if own := known.some("coolant_temperature"):
        told.append(warming(own, maker=sheet.coolant))
    return tuple(told)


def _exhaust(known: Known) -> tuple[Result, ...]:
    from shutline.gauge.health import CarAtTest, emissions

    sheet = known.sheet
    at_test = CarAtTest(
        known.first_used, q_plate=sheet.q_plate, kit=sheet.kit, engine=sheet.engine, listed=sheet.listed
    )
    return emissions(known.some("carbon_monoxide", "hydrocarbons", "lambda"), at_test)


def _electrics(known: Known) -> tuple[Result, ...]:
    from shutline.gauge.electrics import at_rest, charging, cranking, drain, insulation
    from shutline.gauge.results import amount_of

    sheet = known.sheet
    rests = known.some("rest_voltage")
    rest = amount_of(rests[-1], "V") if rests else None
    told = [at_rest(one, system=sheet.system, kind=sheet.battery) for one in rests]
    told += [cranking(one, system=sheet.system, rest=rest) for one in known.some("cranking_voltage")]
    told += [
        charging(one, system=sheet.system, rest=rest, maker=sheet.charging) for one in known.some("charging_voltage")
    ]
    charge = next((one.amount for one in reversed(told) if one.amount is not None and one.amount.unit == "%"), None)
    told += [drain(one, charge_pct=charge) for one in known.some("rest_current")]
    told += [insulation(one) for one in known.some("insulation_resistance")]
    return tuple(told)


GAUGES: tuple[tuple[str, str, Callable[[Known], tuple[Result, ...]]], ...] = (
    ("colour", "Colour", _colour),
    ("rust", "Rust and blisters", _rust),
    ("size", "Sizes", _sizes),
    ("tyres", "Tyres", _tyres),
    ("brakes", "Brakes", _brakes),
    ("engine", "Engine", _engine),
    ("exhaust", "Exhaust gas", _exhaust),
    ("electrics", "Electrics", _electrics),
)
"""Each gauge by its id and title, in the order they are told in, with what tells of it."""
