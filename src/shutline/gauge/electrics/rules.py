"""The tables of electrics, read once."""

from __future__ import annotations

import tomllib
from dataclasses import dataclass, fields
from functools import cache
from itertools import pairwise
from typing import Any

from shutline.gauge.limits import Limit, read_limits
from shutline.gauge.results import Meaning, Use, read_meanings, read_uses
from shutline.gauge.tables import bad_row, shipped, table_rows


@dataclass(frozen=True, slots=True)
class RestRules:
    """How volts at rest are turned into charge; see ``battery.toml``."""

    table_c: float
    volts_a_degree: tuple[float, float]
    unknown_c: tuple[float, float]
    hours: float
    over_full_v: float
    share_of_six_volts: float
    surely_twelve_v: float


@dataclass(frozen=True, slots=True)
class DrainRules:
    """How a drain is turned into days."""

    capacity_left: tuple[float, float]
    start_needs: float


@dataclass(frozen=True, slots=True)
class InsulationRules:
    """When a test of insulation tells anything."""

    least_test_share: float
    high_voltage_dc_v: float


@dataclass(frozen=True, slots=True)
class BatteryRules:
    """All of ``battery.toml``."""

    rest: RestRules
    drain: DrainRules
    insulation: InsulationRules


@cache
def limits() -> tuple[Limit, ...]:
    """Give the limits of electrics."""
    return read_limits(shipped("electrics", "limits.csv"), name="electrics/limits.csv")


@cache
def uses() -> dict[str, Use]:
    """Give what results are good for, by id."""
    return read_uses(shipped("electrics", "uses.csv"), name="electrics/uses.csv")


@cache
def meanings() -> dict[str, Meaning]:
    """Give what figures may mean, by id."""
    return read_meanings(shipped("electrics", "meanings.csv"), name="electrics/meanings.csv")


@cache
def charge_table() -> tuple[tuple[float, float], ...]:
    """Give pairs of volts at rest and per cent of charge, both rising, of a 12 V battery."""
    rows = table_rows(
        shipped("electrics", "charge.csv"),
        name="electrics/charge.csv",
        columns=("id", "volts", "specific_gravity", "source"),
    )
    return _rising([(float(row["volts"]), float(row["id"])) for _, row in rows], "electrics/charge.csv")


@cache
def load_test() -> tuple[tuple[float, float], ...]:
    """Give pairs of °C and the least volts of a load test, both rising, of a 12 V battery."""
    name = "electrics/load_test.csv"
    rows = table_rows(shipped("electrics", "load_test.csv"), name=name, columns=("id", "volts", "source"))
    return _rising(sorted((float(row["id"]), float(row["volts"])) for _, row in rows), name)


@cache
def battery() -> BatteryRules:
    """Give how volts and milliamperes are read."""
    return read_battery(shipped("electrics", "battery.toml"))


def read_battery(text: str) -> BatteryRules:
    """Read ``battery.toml``.

    Raises
    ------
    UserError
        A section or an entry is missing or unknown, or a range does not rise (slug ``gauge-row``).
    """
    raw = tomllib.loads(text)
    kinds: dict[str, Any] = {"rest": RestRules, "drain": DrainRules, "insulation": InsulationRules}
    if set(raw) != set(kinds):
        raise bad_row("electrics/battery.toml", f"{sorted(set(raw) ^ set(kinds))} missing or unknown", ", ".join(kinds))
    made: dict[str, Any] = {}
    for name, kind in kinds.items():
        known = {field.name for field in fields(kind)}
        where = f"electrics/battery.toml, {name}"
        if set(raw[name]) != known:
            raise bad_row(where, f"{sorted(set(raw[name]) ^ known)} missing or unknown", ", ".join(sorted(known)))
        pairs = {key: tuple(map(float, value)) for key, value in raw[name].items() if isinstance(value, list)}
        wrong = [key for key, pair in pairs.items() if len(pair) != 2 or pair[0] >= pair[1]]
        if wrong:
            raise bad_row(where, f"{', '.join(wrong)}", "two figures, the smaller first")
        made[name] = kind(**{**raw[name], **pairs})
    return BatteryRules(**made)


def _rising(pairs: list[tuple[float, float]], name: str) -> tuple[tuple[float, float], ...]:
    for before, after in pairwise(pairs):
        if after[0] <= before[0] or after[1] <= before[1]:
            raise bad_row(
                name, f"{after[0]:g} and {after[1]:g} after {before[0]:g} and {before[1]:g}", "rising figures"
            )
    return tuple(pairs)
