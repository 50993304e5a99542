"""What can be read off an instrument, the instruments, and the spots within a part: the data beside this module."""

from __future__ import annotations

import csv
import io
import math
import tomllib
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from functools import cache
from importlib.resources import files
from typing import Any

from shutline.car.errors import Problem, UserError
from shutline.car.readings import Reading


@dataclass(frozen=True, slots=True)
class Unit:
    """A unit of a quantity; ``value * factor + offset`` gives the value in the quantity's first unit."""

    id: str
    label: str
    factor: float
    offset: float = 0.0


@dataclass(frozen=True, slots=True)
class Quantity:
    """What a figure is of.

    The first of `units` is the one sums are done in; `lowest` and `highest` are in it, and say what an instrument can
    show at all. `parts` are ids of the vocabulary, the likeliest first; empty where it may be any. `spots` is
    ``words``, ``cylinder``, ``cell`` or ``none``. `sided` is True where a figure is of one side of
    a part that lies across the car. `details` are what else may be told, with the words allowed; a
    number where there are none; `own_details` are those of them that differ from figure to figure.
    """

    id: str
    label: str
    section: str
    units: tuple[Unit, ...]
    lowest: float
    highest: float
    decimals: int
    parts: tuple[str, ...]
    spots: str
    details: Mapping[str, tuple[str, ...]]
    source: str
    sided: bool = False
    own_details: tuple[str, ...] = ()

    def unit(self, name: str) -> Unit | None:
        """Give a unit by its id or the way it is written; None for one that this quantity has not."""
        plain = name.strip().casefold()
        return next((one for one in self.units if plain in (one.id.casefold(), one.label.casefold())), None)

    def in_first(self, value: float, unit: str) -> float:
        """Give a value in the first unit.

        Raises
        ------
        KeyError
            The quantity has no such unit.
        """
        one = self.unit(unit)
        if one is None:
            raise KeyError(unit)
        return value * one.factor + one.offset


@dataclass(frozen=True, slots=True)
class Instrument:
    """An instrument and how well it tells, in `unit`, or in the quantity's own where that is empty.

    A figure `v` is taken to be within ``share * v + absolute`` either way, evenly, and is told in steps of
    `resolution`.
    """

    id: str
    label: str
    quantities: tuple[str, ...]
    resolution: float
    share: float
    absolute: float
    unit: str
    source: str

    def uncertainty(self, quantity: Quantity, value: float, unit: str) -> float:
        """Give the standard uncertainty of a value in a unit of its quantity: two even spreads, JCGM 100:2008, 4.3.7.

        A float, in `unit`.
        """
        of = quantity.unit(unit) or quantity.units[0]
        ours = quantity.unit(self.unit) or quantity.units[0]
        scale = ours.factor / of.factor
        bound = self.share * abs(value) + self.absolute * scale
        return math.sqrt(bound**2 / 3 + (self.resolution * scale) ** 2 / 12)


@dataclass(frozen=True, slots=True)
class Spot:
    """A word for a place within a part: how far back and how far up, shares of its size, None where it tells not."""

    word: str
    along: float | None
    up: float | None
    meaning: str


@dataclass(frozen=True, slots=True)
class SpokenCue:
    """Words after or before which a run of figures is of a quantity; not where `counter` follows them.

    Figures from `low` to `high`, in `unit`, are what people read out of it.
    """

    quantity: str
    unit: str
    low: float
    high: float
    words: tuple[str, ...]
    counter: str
    example: str


@cache
def quantities() -> dict[str, Quantity]:
    """Give what can be read, by id, in the order in which it is shown."""
    raw = tomllib.loads(_text("quantities.toml"))
    return {key: _quantity(key, value) for key, value in raw.items()}


def quantity(name: str, *, where: str = "reading") -> Quantity:
    """Give a quantity by its id or label.

    Raises
    ------
    UserError
        There is none of that name (slug ``reading-refused``).
    """
    plain = name.strip().casefold().replace("-", "_").replace(" ", "_")
    for one in quantities().values():
        if plain in (one.id, one.label.casefold().replace("-", "_").replace(" ", "_")):
            return one
    allowed = ", ".join(quantities())
    raise refused(where, f"{name!r} is no quantity of the list", f"one of {allowed}", "Choose one of them.")


def in_first_unit(reading: Reading) -> Reading:
    """Give a reading in the first unit of its quantity, its uncertainty too."""
    of = quantities()[reading.quantity]
    unit = of.unit(reading.unit) or of.units[0]
    if unit is of.units[0]:
        return reading
    value = reading.value * unit.factor + unit.offset
    return replace(reading, value=value, unit=of.units[0].id, uncertainty=reading.uncertainty * unit.factor)


@cache
def instruments() -> dict[str, Instrument]:
    """Give the shipped instruments by id."""
    return {one.id: one for one in read_instruments(_text("instruments.csv"), name="instruments.csv")}


def read_instruments(text: str, *, name: str) -> tuple[Instrument, ...]:
    """Read a table of instruments; `name` is how messages call it.

    Raises
    ------
    UserError
        A column, a number or a quantity is not as it should be (slug ``instrument-row``), with file and line.
    """
    found = []
    for where, row in _rows(
        text, name, ("id", "label", "quantities", "resolution", "share", "absolute", "unit", "source")
    ):
        of = tuple(row["quantities"].split())
        unknown = [one for one in of if one not in quantities()]
        if unknown or not of:
            raise _bad_row(where, f"quantities {row['quantities']!r}", f"ids out of {', '.join(quantities())}")
        numbers = {key: _number(where, key, row[key]) for key in ("resolution", "share", "absolute")}
        if row["unit"] and any(quantities()[one].unit(row["unit"]) is None for one in of):
            raise _bad_row(where, f"unit {row['unit']!r}", "a unit that each of its quantities has, or none")
        found.append(Instrument(row["id"], row["label"], of, **numbers, unit=row["unit"], source=row["source"]))
    return tuple(found)


@cache
def spots() -> dict[str, Spot]:
    """Give the words for places within a part."""
    rows = _rows(_text("spots.csv"), "spots.csv", ("word", "along", "up", "meaning"))
    return {
        row["word"]: Spot(
            row["word"],
            float(row["along"]) if row["along"] else None,
            float(row["up"]) if row["up"] else None,
            row["meaning"],
        )
        for _, row in rows
    }


@cache
def spoken_cues() -> tuple[SpokenCue, ...]:
    """Give the words that speak of readings, the longest first."""
    rows = _rows(_text("spoken.csv"), "spoken.csv", ("quantity", "unit", "low", "high", "words", "counter", "example"))
    cues = [
        SpokenCue(
            row["quantity"],
            row["unit"],
            float(row["low"]),
            float(row["high"]),
            tuple(row["words"].split()),
            row["counter"],
            row["example"],
        )
        for _, row in rows
    ]
    return tuple(sorted(cues, key=lambda cue: -len(cue.words)))


@cache
def spoken_ends() -> tuple[frozenset[str], frozenset[str]]:
    """Give the words right behind a figure that make it one of something else, and those that end a run."""
    rows = [row for _, row in _rows(_text("spoken_ends.csv"), "spoken_ends.csv", ("words", "where", "meaning"))]
    after, between = (
        frozenset(row["words"] for row in rows if row["where"] == where) for where in ("after", "between")
    )
    return after, between


def refused(where: str, found: str, allowed: str, advice: str) -> UserError:
    """Make the error for a reading that cannot be taken."""
    return UserError(Problem(slug="reading-refused", where=where, found=found, allowed=allowed, advice=advice))


def _quantity(key: str, raw: dict[str, Any]) -> Quantity:
    units = tuple(Unit(**unit) for unit in raw.pop("units"))
    details = {name: tuple(words) for name, words in raw.pop("details").items()}
    parts = tuple(raw.pop("parts"))
    own = tuple(raw.pop("own_details", ()))
    return Quantity(id=key, units=units, details=details, parts=parts, own_details=own, **raw)


def _number(where: str, column: str, text: str) -> float:
    try:
        value = float(text)
    except ValueError:
        value = math.nan
    if not (math.isfinite(value) and value >= 0):
        raise _bad_row(where, f"{column} {text!r}", "a number, nought or more")
    return value


def _rows(text: str, name: str, columns: tuple[str, ...]) -> Iterator[tuple[str, dict[str, str]]]:
    reader = csv.DictReader(io.StringIO(text))
    if tuple(reader.fieldnames or ()) != columns:
        raise _bad_row(f"{name}, line 1", f"columns {', '.join(reader.fieldnames or ())}", ", ".join(columns))
    for row in reader:
        where = f"{name}, line {reader.line_num}"
        if None in row or None in row.values():
            raise _bad_row(where, "too many or too few columns", ", ".join(columns))
        if not row[columns[0]].strip():
            raise _bad_row(where, f"no {columns[0]}", "one in each row")
        yield where, row


def _bad_row(where: str, found: str, allowed: str) -> UserError:
    return UserError(Problem(slug="instrument-row", where=where, found=found, allowed=allowed, advice="Mend the line."))


def _text(name: str) -> str:
    return files("shutline.gauge.readings").joinpath("data", name).read_text(encoding="utf-8")
