"""What is read off pictures, when, and from which sureness on: read once from ``data/reading.toml``."""

from __future__ import annotations

import tomllib
from dataclasses import dataclass, fields
from functools import cache
from importlib.resources import files
from typing import Any

from shutline.car.errors import Problem, UserError


@dataclass(frozen=True, slots=True)
class Sureness:
    """Below `floor` nothing is offered; from `sure` on a reading is called sure."""

    floor: float
    sure: float


@dataclass(frozen=True, slots=True)
class FilmReading:
    """How much of a film is looked at; see the data file."""

    share_of_length: float
    seconds_a_frame: float
    moments_a_kind: int
    before_s: float
    after_s: float
    sweep_every_s: float

    def most_frames(self, length_s: float | None) -> int:
        """Give how many frames of a film of this length, seconds, may be read; one not known counts as 60 s."""
        return max(2, int((length_s or 60.0) * self.share_of_length / self.seconds_a_frame))


@dataclass(frozen=True, slots=True)
class Crop:
    """The piece of picture that is kept around a figure."""

    margin_heights: float
    longest_side_px: int
    jpeg_quality: int


@dataclass(frozen=True, slots=True)
class Reading:
    """All settings."""

    sureness: Sureness
    film: FilmReading
    crop: Crop


@cache
def reading() -> Reading:
    """Give the settings that ship."""
    return parse_reading(files("shutline.gauge.seen").joinpath("data/reading.toml").read_text(encoding="utf-8"))


def parse_reading(text: str) -> Reading:
    """Read settings from TOML.

    Raises
    ------
    UserError
        An entry is missing or unknown, or no number above nought (slug ``form-row``).
    """
    raw = tomllib.loads(text)
    kinds: dict[str, Any] = {"sureness": Sureness, "film": FilmReading, "crop": Crop}
    if set(raw) != set(kinds):
        raise _bad("reading.toml", f"sections {', '.join(sorted(set(raw) ^ set(kinds)))} missing or unknown")
    made: dict[str, Any] = {}
    for name, kind in kinds.items():
        known = {field.name for field in fields(kind)}
        if set(raw[name]) != known:
            raise _bad(f"reading.toml, {name}", f"{', '.join(sorted(set(raw[name]) ^ known))} missing or unknown")
        for entry, value in raw[name].items():
            if isinstance(value, bool) or not isinstance(value, int | float) or value <= 0:
                raise _bad(f"reading.toml, {name}.{entry}", f"{value!r}")
        made[name] = kind(**raw[name])
    return Reading(**made)


def _bad(where: str, found: str) -> UserError:
    return UserError(
        Problem(
            slug="form-row",
            where=where,
            found=found,
            allowed="the entries of the file as it ships, each a number above nought",
            advice="Mend the entry.",
        )
    )
