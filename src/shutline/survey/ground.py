"""What guides may name: bands of cost, tools, cautions, and where round the car one stands for each part."""

from __future__ import annotations

import csv
import io
import re
import tomllib
from collections.abc import Mapping
from dataclasses import dataclass, replace
from functools import cache
from importlib.resources import files
from typing import Any

from shutline.car.errors import BadInputError, Problem
from shutline.car.findings import Drive, Position, Side
from shutline.survey.checks import Asked, Band, Caution, Check, How, Tool

DRIVER = "driver"
"""Stands for the seat behind the wheel, on whichever side it is."""

_BAND_FIELDS = {"id", "label", "hours", "material"}
_RANGE = 2


@dataclass(frozen=True, slots=True)
class Station:
    """A place to stand at, or to get into, while looking at what lies there.

    `point` is where on the ground it is, `enter_m` what opening it or getting in is worth in metres of walking,
    `after` are stations that are done with before. `raised` tells that the car must be up for it.
    """

    id: str
    label: str
    point: str
    enter_m: float
    after: tuple[str, ...]
    raised: bool


@dataclass(frozen=True, slots=True)
class Way:
    """A way between two points, metres, of a car about four metres long."""

    one: str
    other: str
    metres: float


@dataclass(frozen=True, slots=True)
class Ground:
    """All of it by id, in the order of the files.

    `homes` are for each part the stations it is looked at from, at the front and at the rear, with ``*`` for the
    side; `spoken_of_with` the whole-car parts that speak of it in passing.
    """

    bands: Mapping[str, Band]
    safety_counts_as: str
    tools: Mapping[str, Tool]
    cautions: Mapping[str, Caution]
    stations: Mapping[str, Station]
    ways: tuple[Way, ...]
    homes: Mapping[str, tuple[str, ...]]
    spoken_of_with: Mapping[str, tuple[str, ...]]

    def station_names(self) -> tuple[str, ...]:
        """Give what a check may name as its station; ``*`` stands for the side."""
        sided = ("*" + name.removeprefix("near") for name in self.stations if name.startswith("near_"))
        return (*self.stations, *sided, "inside_*", DRIVER)

    def may_stand(self, station: str, *, sided: bool) -> bool:
        """Tell whether a check may name such a station; one with ``*`` is for a part that has a side."""
        return station in self.station_names() and (sided or "*" not in station)

    def station_of(self, asked: Asked, *, drive: Drive, engine_behind: bool) -> Station:
        """Give where a check is made.

        With the engine behind, what lies at the open bonnet is at the rear, and the boot in front.
        """
        check = asked.check
        homes = (check.station,) if check.station else self.homes[check.part]
        home = homes[-1] if asked.position is Position.REAR else homes[0]
        if home == DRIVER:
            home = "inside_near" if drive is Drive.LHD else "inside_off"
        station = self.stations[home.replace("*", (asked.side or Side.NEAR).value)]
        other = {"engine_bay": "boot", "boot": "engine_bay"}.get(station.id)
        if engine_behind and other is not None:
            return replace(station, point=self.stations[other].point)
        return station

    def cautions_of(self, check: Check) -> tuple[str, ...]:
        """Give the cautions that a check calls for by its part, its way of looking, its words and its place."""
        homes = (check.station,) if check.station else self.homes[check.part]
        raised = any(self.stations[home].raised for home in homes if home in self.stations)
        return tuple(
            one.id
            for one in self.cautions.values()
            if check.part in one.parts
            or one.how & set(check.how)
            or (one.raised and raised)
            or any(re.search(rf"\b{re.escape(word)}\b", check.look_for, re.IGNORECASE) for word in one.words)
        )

    def cost(self, check: Check) -> tuple[float, float]:
        """Give what a check weighs when it is bad, for an order: the most and the least, in hours of a workshop."""
        low, high = self.bands[check.when_bad[0]].most, self.bands[check.when_bad[1]].most
        return (max(high, self.bands[self.safety_counts_as].most) if check.safety else high), low


@cache
def ground() -> Ground:
    """Read the shipped data once."""
    bands, safety = read_bands(_shipped("bands.toml"), file="bands.toml")
    rows = tomllib.loads(_shipped("cautions.toml"))["caution"]
    return Ground(
        bands=bands,
        safety_counts_as=safety,
        tools={row["id"]: Tool(row["id"], row["label"], row["always"] == "yes") for row in _table("tools.csv")},
        cautions={row["id"]: _caution(row) for row in rows},
        stations={row["id"]: _station(row) for row in _table("stations.csv")},
        ways=tuple(Way(row["from"], row["to"], float(row["metres"])) for row in _table("ways.csv")),
        homes={row["part"]: tuple(row["stations"].split()) for row in _table("where.csv")},
        spoken_of_with={row["part"]: tuple(row["spoken_of_with"].split()) for row in _table("where.csv")},
    )


def with_bands(text: str, *, file: str) -> Ground:
    """Give the shipped data with a user's own bands of cost in place of ours; raises as `read_bands` does."""
    shipped = ground()
    bands, safety = read_bands(text, file=file)
    if list(bands) != list(shipped.bands):
        raise _refused(f"{file}", f"bands {', '.join(bands)}", f"in this order: {', '.join(shipped.bands)}")
    return replace(shipped, bands=bands, safety_counts_as=safety)


def read_bands(text: str, *, file: str) -> tuple[dict[str, Band], str]:
    """Read bands of cost, the lowest first, and the band that a matter of safety counts as at least.

    Raises
    ------
    BadInputError
        It is no TOML, or an entry is unknown, missing or no range (slug ``guide-refused``), with file and line.
    """
    try:
        raw = tomllib.loads(text)
    except tomllib.TOMLDecodeError as error:
        found = re.search(r"line (\d+)", str(error))
        raise _refused(f"{file}, line {found[1] if found else 1}", "it cannot be read as TOML", "TOML") from error
    lines = [number for number, line in enumerate(text.splitlines(), start=1) if line.strip() == "[[band]]"]
    rows = raw.get("band", [])
    bands: dict[str, Band] = {}
    for number, row in enumerate(rows):
        where = f"{file}, line {lines[number]}" if len(lines) == len(rows) else file
        if not isinstance(row, dict) or set(row) != _BAND_FIELDS or row["id"] in bands:
            raise _refused(where, "a band with other entries, or twice", f"{', '.join(sorted(_BAND_FIELDS))}, once")
        bands[row["id"]] = Band(
            str(row["id"]), str(row["label"]), _range(row, "hours", where), _range(row, "material", where)
        )
    safety = raw.get("safety_counts_as")
    if safety not in bands:
        raise _refused(file, f"safety_counts_as {safety!r}", f"one of {', '.join(bands)}")
    return bands, safety


def _range(row: Mapping[str, Any], entry: str, where: str) -> tuple[float, float]:
    value = row[entry]
    good = isinstance(value, list) and len(value) == _RANGE and all(type(one) in (int, float) for one in value)
    if not good or not 0 <= value[0] <= value[1]:
        raise _refused(where, f"{entry} {value!r}", "the least and the most, as [1, 4]")
    return float(value[0]), float(value[1])


def _caution(row: Mapping[str, Any]) -> Caution:
    return Caution(
        id=row["id"],
        text=row["text"],
        parts=frozenset(row.get("parts", ())),
        how=frozenset(How(one) for one in row.get("how", ())),
        words=tuple(row.get("words", ())),
        raised=row.get("raised", False),
        tools=tuple(row.get("tools", ())),
    )


def _station(row: Mapping[str, str]) -> Station:
    return Station(
        row["id"],
        row["label"],
        row["point"],
        float(row["enter_m"]),
        tuple(row["after"].split()),
        row["raised"] == "yes",
    )


def _table(name: str) -> list[dict[str, str]]:
    return list(csv.DictReader(io.StringIO(_shipped(name))))


def _shipped(name: str) -> str:
    return files("shutline.survey").joinpath("data", name).read_text(encoding="utf-8")


def _refused(where: str, found: str, allowed: str) -> BadInputError:
    return BadInputError(Problem("guide-refused", where, found, allowed, "Mend that line and give the command again."))
