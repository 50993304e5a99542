"""What somebody knows of a car that no instrument shows: makers' figures, circuits, how it counts for the test, tyres.

Read from a table of the user's own, in TOML; see ``docs/gauge_sheets.md``.
"""

from __future__ import annotations

import tomllib
from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from enum import StrEnum
from typing import Any, TypeVar

from shutline.car.errors import Problem, UserError
from shutline.car.findings import Position, Side
from shutline.gauge.brakes import Circuit
from shutline.gauge.electrics import BatteryKind, System, makers_charging
from shutline.gauge.health import EngineKind, MakersOil, makers_compression, makers_coolant, makers_oil
from shutline.gauge.limits import Limit
from shutline.gauge.readings import quantities
from shutline.gauge.tyres import DateCode, Marking, date_code, marking

T = TypeVar("T")
K = TypeVar("K")


@dataclass(frozen=True, slots=True)
class FittedTyre:
    """What stands on the tyre of one wheel; None where nobody read it."""

    position: Position
    side: Side
    marking: Marking | None
    date: DateCode | None


@dataclass(frozen=True, slots=True)
class GaugeSheet:
    """What is known of one car; None where it is not.

    `circuit` is how the footbrake works, `listed` whether the tester's list has the maker's figures of the gas test
    for this engine. `compression` and `oil` are limits out of the maker's book, in the unit that stands there;
    `coolant` and `charging` in the first unit of their quantity. `meant` is the tyre that the speedometer was made for.
    """

    circuit: Circuit | None = None
    system: System | None = None
    battery: BatteryKind = BatteryKind.FLOODED
    q_plate: bool = False
    kit: bool = False
    engine: EngineKind = EngineKind.PISTON
    listed: bool | None = None
    compression: Limit | None = None
    coolant: Limit | None = None
    charging: Limit | None = None
    oil: tuple[MakersOil, ...] = ()
    tyres: tuple[FittedTyre, ...] = ()
    meant: Marking | None = None


class _Of(StrEnum):
    COMPRESSION = "compression"
    COOLANT = "coolant"
    CHARGING = "charging"
    OIL = "oil_pressure"


_QUANTITY = {
    _Of.COMPRESSION: "compression",
    _Of.COOLANT: "coolant_temperature",
    _Of.CHARGING: "charging_voltage",
    _Of.OIL: "oil_pressure",
}
_CIRCUITS = {1: Circuit.SINGLE, 2: Circuit.DUAL}
_KNOWN = ("brake_circuits", "system", "battery", "q_plate", "kit", "engine", "listed", "meant", "maker", "tyre")
_MAKER = ("of", "least", "most", "unit", "source", "state", "rpm")
_TYRE = ("position", "side", "marking", "date")


def read_sheets(text: str, *, name: str) -> dict[str, GaugeSheet]:
    """Read what is known of cars, by the name of the car.

    Parameters
    ----------
    text : str
        TOML: a table for each car.
    name : str
        How messages call the file.

    Raises
    ------
    UserError
        It is no TOML, or an entry is unknown or cannot be (slug ``gauge-sheet``); the message names car and entry.
    """
    try:
        raw = tomllib.loads(text)
    except tomllib.TOMLDecodeError as trouble:
        raise _bad(name, str(trouble), "TOML, a table for each car") from trouble
    sheets = {}
    for car, table in raw.items():
        if not isinstance(table, dict):
            raise _bad(f"{name}, {car}", f"{table!r}", "a table for each car: [blue-saloon]")
        sheets[car] = _sheet(table, f"{name}, {car}")
    return sheets


def _sheet(raw: Mapping[str, Any], where: str) -> GaugeSheet:
    _only(raw, _KNOWN, where)
    made = GaugeSheet(
        circuit=_among(raw, "brake_circuits", where, _CIRCUITS),
        system=_among(raw, "system", where, {one.value: one for one in System}),
        battery=_among(raw, "battery", where, {one.value: one for one in BatteryKind}) or BatteryKind.FLOODED,
        q_plate=_among(raw, "q_plate", where, _YES_NO) or False,
        kit=_among(raw, "kit", where, _YES_NO) or False,
        engine=_among(raw, "engine", where, {one.value: one for one in EngineKind}) or EngineKind.PISTON,
        listed=_among(raw, "listed", where, _YES_NO),
        meant=_read(marking, raw.get("meant"), f"{where}, meant"),
        tyres=tuple(_tyre(one, f"{where}, tyre {count}") for count, one in _tables(raw, "tyre", where)),
    )
    for count, one in _tables(raw, "maker", where):
        made = _with_maker(made, one, f"{where}, maker {count}")
    return made


_YES_NO = {True: True, False: False}


def _with_maker(sheet: GaugeSheet, raw: Mapping[str, Any], where: str) -> GaugeSheet:
    _only(raw, _MAKER, where)
    of = _among(raw, "of", where, {one.value: one for one in _Of})
    if of is None:
        raise _bad(where, "no `of`", ", ".join(_Of))
    least, most, unit = _bounds(raw, _QUANTITY[of], where)
    source = str(raw.get("source", "")).strip()
    try:
        if of is _Of.OIL:
            state = _among(raw, "state", where, {"hot": "hot", "cold": "cold"}) or "hot"
            rpm = _number(raw, "rpm", where)
            own = makers_oil(unit, least=least, most=most, state=state, rpm=rpm, source=source)
            return replace(sheet, oil=(*sheet.oil, own))
        if of is _Of.COMPRESSION:
            return replace(sheet, compression=makers_compression(unit, least=least, most=most, source=source))
        least, most, source = _in_first_unit(least, most, unit, _QUANTITY[of], source)
        if of is _Of.COOLANT:
            return replace(sheet, coolant=makers_coolant(least_c=least, most_c=most, source=source))
        return replace(sheet, charging=makers_charging(least_v=least, most_v=most, source=source))
    except UserError as trouble:
        raise _bad(where, trouble.problem.found, trouble.problem.allowed) from trouble


def _bounds(raw: Mapping[str, Any], quantity: str, where: str) -> tuple[float | None, float | None, str]:
    """Give least and most as they stand in the book, and their unit."""
    of = quantities()[quantity]
    name = str(raw.get("unit", of.units[0].id))
    unit = of.unit(name)
    if unit is None:
        raise _bad(where, f"unit {name!r}", ", ".join(one.id for one in of.units))
    return _number(raw, "least", where), _number(raw, "most", where), unit.id


def _in_first_unit(
    least: float | None, most: float | None, unit: str, quantity: str, source: str
) -> tuple[float | None, float | None, str]:
    """Give least and most in the first unit of a quantity, and the source with the figures as they stand there."""
    of = quantities()[quantity]
    if unit == of.units[0].id or not source:
        return least, most, source
    told = " to ".join(f"{one:g}" for one in (least, most) if one is not None)
    first = [None if one is None else round(of.in_first(one, unit), 4) for one in (least, most)]
    return first[0], first[1], f"{source}, {told} {unit} there"


def _tyre(raw: Mapping[str, Any], where: str) -> FittedTyre:
    _only(raw, _TYRE, where)
    position = _among(raw, "position", where, {"front": Position.FRONT, "rear": Position.REAR})
    side = _among(raw, "side", where, {"near": Side.NEAR, "off": Side.OFF})
    if position is None or side is None:
        raise _bad(where, "no wheel", "position front or rear, and side near or off")
    return FittedTyre(
        position,
        side,
        _read(marking, raw.get("marking"), f"{where}, marking"),
        _read(date_code, raw.get("date"), f"{where}, date"),
    )


def _read(reader: Callable[[str], T], value: object, where: str) -> T | None:
    if value is None:
        return None
    try:
        return reader(str(value))
    except UserError as trouble:
        raise _bad(where, trouble.problem.found, trouble.problem.allowed) from trouble


def _tables(raw: Mapping[str, Any], name: str, where: str) -> list[tuple[int, Mapping[str, Any]]]:
    found = raw.get(name, [])
    if not isinstance(found, list) or not all(isinstance(one, dict) for one in found):
        raise _bad(f"{where}, {name}", f"{found!r}", f"tables, each begun by [[CAR.{name}]]")
    return list(enumerate(found, 1))


def _among(raw: Mapping[str, Any], name: str, where: str, known: Mapping[K, T]) -> T | None:
    if name not in raw:
        return None
    value = raw[name]
    for key, meant in known.items():
        # True is 1 in Python: a figure is no yes.
        if value == key and isinstance(value, bool) == isinstance(key, bool):
            return meant
    allowed = ", ".join(str(key).lower() if isinstance(key, bool) else str(key) for key in known)
    raise _bad(f"{where}, {name}", f"{value!r}", allowed)


def _number(raw: Mapping[str, Any], name: str, where: str) -> float | None:
    value = raw.get(name)
    if value is None:
        return None
    if isinstance(value, bool) or not isinstance(value, int | float):
        raise _bad(f"{where}, {name}", f"{value!r}", "a number")
    return float(value)


def _only(raw: Mapping[str, Any], known: tuple[str, ...], where: str) -> None:
    unknown = sorted(set(raw) - set(known))
    if unknown:
        raise _bad(where, f"unknown: {', '.join(unknown)}", ", ".join(known))


def _bad(where: str, found: str, allowed: str) -> UserError:
    return UserError(
        Problem(slug="gauge-sheet", where=where, found=found, allowed=allowed, advice="Mend the entry that is named.")
    )
