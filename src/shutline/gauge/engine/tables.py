"""The tables beside this module: names of figures, what they may mean, why one is not told, words to look for."""

from __future__ import annotations

import csv
import io
import tomllib
from collections.abc import Iterator
from dataclasses import dataclass
from functools import cache
from importlib.resources import files

from shutline.car.engine import EngineFigure


@dataclass(frozen=True, slots=True)
class FigureName:
    """What a figure is called, its unit, and how it is come by."""

    id: str
    label: str
    unit: str
    how: str


@dataclass(frozen=True, slots=True)
class Meaning:
    """What a figure from `low` up to but not including `high` may mean; None is no bound."""

    id: str
    figure: str
    low: float | None
    high: float | None
    meaning: str
    source: str


@dataclass(frozen=True, slots=True)
class Reason:
    """Why a figure is not told, and what to do."""

    id: str
    sentence: str
    advice: str


@dataclass(frozen=True, slots=True)
class Phrase:
    """Words that tell something: `says` is ``cold`` or ``warm``, or the cylinders and strokes with a space between."""

    id: str
    words: tuple[str, ...]
    says: str
    example: str
    counter_example: str


@dataclass(frozen=True, slots=True)
class ColdLimits:
    """When readings make an engine cold, °C and hours, and which readings are taken at all."""

    coolant_c: float
    over_outside_c: float
    outside_alone_c: float
    standing_h: float
    allowed_c: tuple[float, float]
    allowed_h: tuple[float, float]


@cache
def figure_names() -> dict[str, FigureName]:
    """Give the figures by their id, in the order in which they are shown."""
    rows = _rows("figures.csv", ("id", "label", "unit", "how"))
    return {row["id"]: FigureName(**row) for _, row in rows}


@cache
def meanings() -> tuple[Meaning, ...]:
    """Give what figures may mean; raises ValueError, with file and line, where a row is out of order."""
    found = []
    for where, row in _rows("meanings.csv", ("id", "figure", "from", "to", "meaning", "source")):
        if row["figure"] not in figure_names():
            raise ValueError(f"{where}: figure {row['figure']!r}; allowed: {', '.join(figure_names())}")
        low, high = (float(row[side]) if row[side] else None for side in ("from", "to"))
        if low is not None and high is not None and low >= high:
            raise ValueError(f"{where}: from {low} to {high}; allowed: a smaller and a larger number")
        found.append(Meaning(row["id"], row["figure"], low, high, row["meaning"], row["source"]))
    return tuple(found)


def meaning_of(figure: EngineFigure) -> Meaning | None:
    """Give what a figure may mean; None where no row is for it."""
    for one in meanings():
        above = one.low is None or figure.value >= one.low
        below = one.high is None or figure.value < one.high
        if one.figure == figure.name and above and below:
            return one
    return None


@cache
def reasons() -> dict[str, Reason]:
    """Give the reasons for which a figure is not told, by id."""
    return {row["id"]: Reason(**row) for _, row in _rows("reasons.csv", ("id", "sentence", "advice"))}


@cache
def cold_phrases() -> tuple[Phrase, ...]:
    """Give the words that tell whether an engine was cold."""
    columns = ("id", "phrase", "says", "source", "example", "counter_example")
    return tuple(
        Phrase(row["id"], tuple(row["phrase"].split()), row["says"], row["example"], row["counter_example"])
        for _, row in _rows("cold.csv", columns)
    )


@cache
def cylinder_phrases() -> tuple[Phrase, ...]:
    """Give the words that tell how many cylinders and strokes an engine has."""
    columns = ("id", "phrase", "cylinders", "strokes", "source", "example", "counter_example")
    return tuple(
        Phrase(
            row["id"],
            tuple(row["phrase"].split()),
            f"{int(row['cylinders'])} {int(row['strokes'])}",
            row["example"],
            row["counter_example"],
        )
        for _, row in _rows("cylinders.csv", columns)
    )


@cache
def cold_limits() -> ColdLimits:
    """Give when readings make an engine cold; raises ValueError where an entry is missing or unknown."""
    raw = tomllib.loads(_text("cold.toml"))
    known = set(ColdLimits.__dataclass_fields__)
    if set(raw) != known:
        raise ValueError(f"cold.toml: {sorted(set(raw) ^ known)} missing or unknown")
    bounds = {key: (float(value[0]), float(value[1])) for key, value in raw.items() if isinstance(value, list)}
    return ColdLimits(**{**raw, **bounds})


def _text(name: str) -> str:
    return files("shutline.gauge.engine").joinpath("data", name).read_text(encoding="utf-8")


def _rows(name: str, columns: tuple[str, ...]) -> Iterator[tuple[str, dict[str, str]]]:
    reader = csv.DictReader(io.StringIO(_text(name)))
    if tuple(reader.fieldnames or ()) != columns:
        raise ValueError(f"{name}, line 1: columns {reader.fieldnames}; allowed: {', '.join(columns)}")
    seen: set[str] = set()
    for row in reader:
        where = f"{name}, line {reader.line_num}"
        if None in row or None in row.values():
            raise ValueError(f"{where}: too many or too few columns; allowed: {len(columns)}")
        if not row["id"] or row["id"] in seen:
            raise ValueError(f"{where}: id {row['id']!r} is empty or has been used before")
        if any(not value.strip() for key, value in row.items() if key not in {"from", "to"}):
            raise ValueError(f"{where}: an empty entry; allowed: every column filled but from and to")
        seen.add(row["id"])
        yield where, row
