"""What a roller test tells, held against the limits for the car's first use."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from enum import StrEnum

from shutline.car.findings import Position, Side
from shutline.car.readings import Reading
from shutline.gauge.brakes.efforts import Applied, Efforts, Wheel, efficiency, imbalance, sorted_efforts, total
from shutline.gauge.brakes.rules import limits, meanings, uses
from shutline.gauge.limits import Amount, FirstUse, Held, Outcome, amount, fitting, hold
from shutline.gauge.results import Place, Result, result

_SIDES = (Side.NEAR, Side.OFF)
_FOUR: tuple[Wheel, ...] = tuple((end, side) for end in (Position.FRONT, Position.REAR) for side in _SIDES)
_NAMES = {Applied.SERVICE: "service brake", Applied.SECONDARY: "secondary brake", Applied.PARKING: "parking brake"}


class Circuit(StrEnum):
    """Through how many circuits the footbrake works: with one, the handbrake has to be the secondary brake too."""

    SINGLE = "single"
    DUAL = "dual"


def roller_test(
    readings: Iterable[Reading],
    *,
    first_used: FirstUse | None,
    circuit: Circuit | None = None,
) -> tuple[Result, ...]:
    """Tell what a roller test says of efficiency, imbalance and binding, and which wheels locked.

    Parameters
    ----------
    readings : iterable of Reading
        As `sorted_efforts` takes them.
    first_used : FirstUse or None
        When the car was first used; the limits go by it.
    circuit : Circuit or None
        Of the footbrake; not known, both limits of the parking brake are shown.

    Raises
    ------
    BadInputError
        An effort cannot be used, or the weight (slug ``reading-unfit``).
    """
    efforts = sorted_efforts(readings)
    told = [
        _efficiency(efforts, applied, first_used=first_used, circuit=circuit)
        for applied in (Applied.SERVICE, Applied.SECONDARY, Applied.PARKING)
        if applied in efforts.by
    ]
    for applied in (Applied.SERVICE, Applied.PARKING):
        told += _imbalances(efforts.by.get(applied, {}), applied)
    told += _binding(efforts.by.get(Applied.BIND, {}))
    if efforts.left_out:
        text = f"Left out, for nobody said of which wheel: {'; '.join(efforts.left_out)}?"
        told.append(result("efforts_left_out", uses()["efficiency"], Place("brakes"), told=text))
    return tuple(told)


def _efficiency(efforts: Efforts, applied: Applied, *, first_used: FirstUse | None, circuit: Circuit | None) -> Result:
    name = f"{applied}_efficiency"
    use = uses()["efficiency"]
    place = Place("handbrake" if applied is Applied.PARKING else "brakes")
    wheels = efforts.by[applied]
    missing = [_wheel(one) for one in _FOUR if one not in wheels] if applied is Applied.SERVICE else []
    sides = {side for _, side in wheels}
    if applied is not Applied.SERVICE and len(sides) < 2:
        missing = [f"the {side}side" for side in _SIDES if side not in sides]
    if missing or efforts.weight is None:
        lacking = ["the test weight"] if efforts.weight is None else []
        told = f"{_NAMES[applied]}: no efficiency without {', '.join(missing + lacking)}."
        return result(name, use, place, told=told)
    effort = total(wheels.values())
    figure = efficiency(effort, efforts.weight)
    told = f"{_NAMES[applied]}: {effort.told(0)} together, on a test weight of {efforts.weight.told(0)}."
    rules = fitting(limits(), name, first_used=first_used, case=circuit.value if circuit else "")
    held = [hold(figure, limit, what="efficiency") for limit in rules]
    held += _dangerous(figure, held)
    notes = []
    if locked := efforts.locked.get(applied):
        named = ", ".join(sorted(_wheel(one) for one in locked))
        notes.append(
            f"{len(locked)} wheel{'s' if len(locked) > 1 else ''} locked on the rollers ({named}): the effort would"
            " have been higher; where more than half lock, pages on the test say that it counts as met. The tester"
            " knows."
        )
    if applied is Applied.PARKING and circuit is None:
        notes.append("Whether the footbrake has one circuit or two is not known: look at the master cylinder.")
    return result(name, use, place, figure=figure, told=told, held=held, notes=notes)


def _dangerous(figure: Amount, held: list[Held]) -> list[Held]:
    """Hold against half of what is required, where one limit alone is for the car and it may not be met."""
    if len(held) != 1 or held[0].limit.value is None or held[0].outcome is Outcome.WITHIN:
        return []
    required = held[0].limit.value
    share = amount(100 * figure.value / required, "%", 100 * figure.uncertainty / required, floor=0.0)
    (limit,) = fitting(limits(), "share_of_required", first_used=None)
    return [hold(share, limit, what="of what is required it has", decimals=0)]


def _imbalances(wheels: Mapping[Wheel, Amount], applied: Applied) -> list[Result]:
    told = []
    for end in dict.fromkeys(end for end, _ in wheels):
        near, off = wheels.get((end, Side.NEAR)), wheels.get((end, Side.OFF))
        if near is None or off is None or max(near.value, off.value) == 0:
            continue
        figure = imbalance(near, off)
        place = Place("handbrake" if applied is Applied.PARKING else "brakes", position=end)
        spoken = f"{_NAMES[applied]}{f', {end}' if end else ''}"
        text = f"{spoken}: nearside {near.told(0)}, offside {off.told(0)}."
        held = []
        if applied is Applied.SERVICE:
            (limit,) = fitting(limits(), "imbalance", first_used=None)
            held.append(hold(figure, limit, what="imbalance"))
            if end is Position.FRONT and held[0].outcome is not Outcome.WITHIN:
                (limit,) = fitting(limits(), "imbalance_steered", first_used=None)
                held.append(hold(figure, limit, what="imbalance"))
        else:
            text += f" Imbalance {figure.told()}; the limit seen is the footbrake's."
        meant = []
        if held and held[0].outcome is not Outcome.WITHIN and figure.low > 0:
            meant.append(meanings()["weaker_near" if near.value < off.value else "weaker_off"])
        notes = ("The highest efforts are compared; the test also looks at how they rise and fall together.",)
        use = uses()["imbalance"]
        told.append(result("imbalance", use, place, figure=figure, told=text, held=held, meanings=meant, notes=notes))
    return told


def _binding(wheels: Mapping[Wheel, Amount]) -> list[Result]:
    (limit,) = fitting(limits(), "bind", first_used=None)
    return [
        result(
            "bind",
            uses()["bind"],
            Place("brakes", side, end),
            figure=effort,
            held=[hold(effort, limit, what=f"{_wheel((end, side))} with no brake applied", decimals=0)],
        )
        for (end, side), effort in wheels.items()
    ]


def _wheel(wheel: Wheel) -> str:
    end, side = wheel
    return f"the {end} {side}side" if end else f"the {side}side"
