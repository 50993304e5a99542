"""Exhaust gas: CO, HC and lambda against what the test asks of cars of that first use."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date
from enum import StrEnum

from shutline.car.readings import Reading
from shutline.gauge.health.rules import limits, meanings, treated, uses
from shutline.gauge.limits import Amount, FirstUse, Held, Outcome, amount, fitting, hold
from shutline.gauge.results import Meaning, Place, Result, result

_AS_OLD = FirstUse(date(1975, 7, 31), date(1975, 7, 31))
_LABELS = {"carbon_monoxide": "CO", "hydrocarbons": "HC", "lambda": "lambda"}
_DECIMALS = {"carbon_monoxide": 2, "hydrocarbons": 0, "lambda": 3}
_USUAL = {"carbon_monoxide": "idle", "hydrocarbons": "idle", "lambda": "fast idle"}


class EngineKind(StrEnum):
    """What bears on how a petrol engine is tested."""

    PISTON = "piston"
    WANKEL = "wankel"
    TWO_STROKE = "two-stroke"


@dataclass(frozen=True, slots=True)
class CarAtTest:
    """How a car comes to the test: its first use, and what makes it count as older.

    `listed` is whether the tester's list has the maker's figures for this engine, None where nobody knows.
    """

    first_used: FirstUse | None
    q_plate: bool = False
    kit: bool = False
    engine: EngineKind = EngineKind.PISTON
    listed: bool | None = None

    def counted(self) -> tuple[FirstUse | None, str]:
        """Give the first use that counts for the gas test, and why it is another than the car's own."""
        claims = {"q_plate": self.q_plate, "wankel": self.engine is EngineKind.WANKEL, "kit": self.kit}
        for name, claimed in claims.items():
            rule = treated()[name]
            surely = rule.before is None or (self.first_used is not None and self.first_used.latest < rule.before)
            if claimed and surely:
                return _AS_OLD, f"{rule.words} ({rule.source})"
        return self.first_used, ""


def emissions(readings: Iterable[Reading], car: CarAtTest) -> tuple[Result, ...]:
    """Hold exhaust gas against what the test asks.

    Parameters
    ----------
    readings : iterable of Reading
        ``carbon_monoxide`` in %, ``hydrocarbons`` in ppm, ``lambda``; ``speed`` of the details says at which speed of
        the engine, without it idle, lambda at fast idle. Others are passed over.
    car : CarAtTest
        How the car comes to the test.
    """
    return tuple(_told(one, car) for one in readings if one.quantity in _LABELS)


def _told(reading: Reading, car: CarAtTest) -> Result:
    speed = str(reading.details.get("speed", _USUAL[reading.quantity]))
    name = f"{reading.quantity}_{speed.replace(' ', '_')}"
    unit = "" if reading.quantity == "lambda" else reading.unit
    figure = amount(reading.value, unit, reading.uncertainty, floor=0.0)
    first_used, why = car.counted()
    case = "" if car.listed is None else "listed" if car.listed else "unlisted"
    notes = [] if "speed" in reading.details else [f"The engine's speed was not told: taken as {speed}."]
    if why:
        notes.append(f"{why[0].upper()}{why[1:]}.")
    label = f"{_LABELS[reading.quantity]} at {_spoken(speed)}"
    held: list[Held] = []
    if car.engine is EngineKind.TWO_STROKE:
        told = f"{label} {figure.told(_DECIMALS[reading.quantity])}: the gas test is not for two-strokes."
        notes.append("A page on the test of petrol engines says so, read 26 November 2026.")
    else:
        rules = fitting(limits(), name, first_used=first_used, case=case)
        held = [hold(figure, limit, what=label, decimals=_DECIMALS[reading.quantity]) for limit in rules]
        told = "" if held else f"{label} {figure.told(_DECIMALS[reading.quantity])}: the test asks none at that speed."
    if name == "hydrocarbons_idle" and any(one.outcome in {Outcome.OUTSIDE, Outcome.NEAR} for one in held):
        notes.append("Where HC is too high at idle, it may be tried again at about 2,000 turns a minute; CO may not.")
    meant = _meant(reading.quantity, figure, held)
    use = uses()["emissions"]
    return result(name, use, Place("exhaust"), figure=figure, told=told, held=held, meanings=meant, notes=notes)


def _meant(quantity: str, figure: Amount, held: list[Held]) -> list[Meaning]:
    if not any(one.outcome is Outcome.OUTSIDE for one in held):
        return []
    if quantity == "lambda":
        return [meanings()["lambda_high" if figure.value > 1 else "lambda_low"]]
    return [meanings()["co_high" if quantity == "carbon_monoxide" else "hc_high"]]


def _spoken(speed: str) -> str:
    return "about 2,000 turns a minute" if speed == "2000 rpm" else speed
