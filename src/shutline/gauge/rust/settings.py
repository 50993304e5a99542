"""How rust is told, and what is said with it: read once from `data/`."""

from __future__ import annotations

import csv
import io
from dataclasses import dataclass
from functools import cache
from importlib.resources import files

from shutline.gauge.settings_file import sections, words_of


@dataclass(frozen=True, slots=True)
class LookSettings:
    """At what size a picture is looked at."""

    most_pixels: int
    least_pixels: int
    paint_share: float
    texture_px: int


@dataclass(frozen=True, slots=True)
class Weights:
    """What was learnt: see `rust.toml`."""

    smooth: float
    wide: float
    wide_px: int
    rough: float
    rough_colour: float
    ground: float
    prior: float
    prior_taken: float
    near_prior_taken: float
    prior_least: float
    prior_most: float
    doubt_low: float
    doubt_high: float
    clear_paint: float
    near_doubt_low: float
    near_doubt_high: float


@dataclass(frozen=True, slots=True)
class TellSettings:
    """What is told of a share."""

    level: float
    none_below: float
    widest: float


@dataclass(frozen=True, slots=True)
class LetterSettings:
    """How the letter of distribution is chosen."""

    speck_share: float
    pinpoint: float
    spot: float
    mixed_specks: float
    mixed_spot: float
    cells: int


@dataclass(frozen=True, slots=True)
class BlisterSettings:
    """How our own pictures of blisters are drawn."""

    sizes: tuple[int, ...]
    densities: tuple[int, ...]
    diameters_mm: tuple[float, ...]
    covered: tuple[float, ...]
    field_mm: float
    seed: int


@dataclass(frozen=True, slots=True)
class RustSettings:
    """All of them, by what they are of."""

    look: LookSettings
    weights: Weights
    tell: TellSettings
    letter: LetterSettings
    blisters: BlisterSettings


@dataclass(frozen=True, slots=True)
class Grade:
    """A row of a standard's table: what it is called, its share in per cent, and where that was read.

    Of D610 the share is the upper limit of the grade, of ISO 4628-3 that of the reference picture.
    """

    id: str
    per_cent: float
    source: str


@cache
def settings() -> RustSettings:
    """Read the shipped settings once; raises ValueError where an entry is missing or unknown."""
    kinds = {
        "look": LookSettings,
        "weights": Weights,
        "tell": TellSettings,
        "letter": LetterSettings,
        "blisters": BlisterSettings,
    }
    return RustSettings(**sections("shutline.gauge.rust", "rust.toml", kinds))


@cache
def words() -> dict[str, str]:
    """Give what is said, by its id."""
    return words_of("shutline.gauge.rust")


@cache
def d610() -> tuple[Grade, ...]:
    """Give the grades of ASTM D610 from 10 down to 0, each with its upper limit."""
    return _grades("d610.csv", rising=True)


@cache
def iso_4628_3() -> tuple[Grade, ...]:
    """Give the reference pictures of ISO 4628-3 from Ri0 to Ri5."""
    return _grades("iso_4628_3.csv", rising=True)


def _grades(name: str, *, rising: bool) -> tuple[Grade, ...]:
    text = files("shutline.gauge.rust").joinpath("data", name).read_text(encoding="utf-8")
    rows = tuple(Grade(row["id"], float(row["per_cent"]), row["source"]) for row in csv.DictReader(io.StringIO(text)))
    shares = [row.per_cent for row in rows]
    if rising and shares != sorted(shares):
        raise ValueError(f"{name}: the shares do not rise from row to row")
    return rows
