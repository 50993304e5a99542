"""The few numbers that each body is drawn from, read from ``data/bodies.toml``."""

from __future__ import annotations

import tomllib
from dataclasses import dataclass, fields
from functools import cache
from importlib.resources import files
from typing import Any

from shutline.car.errors import Problem, UserError

_CHOICES = {
    "back": frozenset({"boot", "hatch", "flat", "bed"}),
    "top": frozenset({"fixed", "hood", "open"}),
    "nose": frozenset({"round", "square"}),
    "corners": frozenset({"round", "square"}),
    "grille": frozenset({"plain", "oval", "wide", "slats"}),
    "rear_glass": frozenset({"sides", "none"}),
    "rear_seat": frozenset({"bench", "none"}),
    "spare": frozenset({"boot", "tail"}),
}
_UNKNOWN_BODY = "saloon"


@dataclass(frozen=True, slots=True)
class Body:
    """What a body is drawn from: centimetres, x from the nose backwards, heights from the ground."""

    name: str
    length: float
    width: float
    height: float
    wheelbase: float
    front_overhang: float
    tyre_radius: float
    clearance: float
    waist_height: float
    nose_height: float
    cowl_height: float
    cowl_x: float
    screen_run: float
    roof_end_x: float
    back_run: float
    rear_post: float
    deck_height: float
    tail_height: float
    tumblehome: float
    back: str
    top: str
    nose: str
    corners: str
    grille: str
    rear_glass: str
    rear_seat: str
    spare: str
    doors: int
    door_counts: tuple[int, ...]

    @property
    def rear_axle_x(self) -> float:
        """How far the rear axle is behind the nose."""
        return self.front_overhang + self.wheelbase

    @property
    def roof_x(self) -> float:
        """Where the roof begins, above the windscreen."""
        return self.cowl_x + self.screen_run

    @property
    def deck_x(self) -> float:
        """Where the rear screen ends and the deck begins."""
        return min(self.roof_end_x + self.back_run, self.length - 3)


def read_bodies(text: str, *, source: str) -> dict[str, Body]:
    """Read bodies from TOML.

    Parameters
    ----------
    text : str
        A table for each body, with every field of `Body` but its name.
    source : str
        Name of the file, for messages.

    Raises
    ------
    UserError
        A key is unknown or missing, or a value is of the wrong kind.
    """
    try:
        raw = tomllib.loads(text)
    except tomllib.TOMLDecodeError as error:
        raise UserError(
            Problem("bodies-not-toml", source, str(error), "a TOML table for each body", "Mend the file at that line.")
        ) from error
    return {name: _body(name, row, source) for name, row in raw.items()}


def _body(name: str, row: Any, source: str) -> Body:
    where = f"{source}, [{name}]"
    wanted = {field.name: str(field.type) for field in fields(Body) if field.name != "name"}
    if not isinstance(row, dict):
        raise _refused(where, repr(row), "a table of numbers")
    for key in row:
        if key not in wanted:
            raise _refused(where, f"unknown key {key}", ", ".join(wanted))
    values: dict[str, Any] = {}
    for key, kind in wanted.items():
        if key not in row:
            raise _refused(where, f"key {key} is missing", ", ".join(wanted))
        values[key] = _value(f"{where}, {key}", key, kind, row[key])
    return Body(name=name, **values)


def _value(where: str, key: str, kind: str, value: object) -> object:
    if key in _CHOICES:
        if value not in _CHOICES[key]:
            raise _refused(where, repr(value), ", ".join(sorted(_CHOICES[key])))
        return value
    if kind == "float":
        if isinstance(value, bool) or not isinstance(value, int | float) or not 0 < value < 2000:
            raise _refused(where, repr(value), "centimetres between 0 and 2000")
        return float(value)
    if kind == "int":
        if value not in (2, 4):
            raise _refused(where, repr(value), "2 or 4")
        return value
    if not isinstance(value, list) or not value or not set(value) <= {2, 3, 4, 5}:
        raise _refused(where, repr(value), "a list of counts out of 2, 3, 4, 5")
    return tuple(value)


def _refused(where: str, found: str, allowed: str) -> UserError:
    return UserError(Problem("body-row-refused", where, found, f"allowed: {allowed}", "Mend that entry of the file."))


@cache
def bodies() -> dict[str, Body]:
    """Read the shipped bodies once, by name."""
    text = files("shutline.car").joinpath("data/bodies.toml").read_text(encoding="utf-8")
    return read_bodies(text, source="bodies.toml")


def choose_body(name: str | None, doors: int | None) -> tuple[Body, int]:
    """Choose the numbers for a body, and the count of its side doors: 2 or 4.

    A rear door may be counted or not: 3 and 5 are 2 and 4 with one. None is a plain saloon, or what is usual.

    Raises
    ------
    UserError
        Naming what is allowed.
    """
    shipped = bodies()
    body = shipped.get(name or _UNKNOWN_BODY)
    if body is None:
        raise UserError(
            Problem(
                "unknown-body",
                "body of the car",
                repr(name),
                f"allowed: {', '.join(shipped)}",
                "Choose the nearest of these, or leave it out while it is not known.",
            )
        )
    if doors is None:
        return body, body.doors
    if doors not in body.door_counts:
        raise UserError(
            Problem(
                "unknown-door-count",
                f"doors of a {body.name}",
                str(doors),
                f"allowed: {', '.join(map(str, body.door_counts))}",
                "Count the side doors, or leave it out while it is not known.",
            )
        )
    return body, doors if doors % 2 == 0 else doors - 1
