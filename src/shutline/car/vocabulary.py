"""The closed lists that everything is said in: parts, conditions, and their trade names."""

from __future__ import annotations

import tomllib
from dataclasses import dataclass
from functools import cache
from importlib.resources import files


@dataclass(frozen=True, slots=True)
class Part:
    """A thing on the car that a person can point at.

    `sided` parts occur left and right; `ended` parts occur front and rear. `group` is the list of the vocabulary it
    stands in.
    """

    id: str
    label: str
    group: str
    sided: bool
    ended: bool


@dataclass(frozen=True, slots=True)
class Condition:
    """What can be said of a part. `defect` is False for good news."""

    id: str
    label: str
    defect: bool
    meaning: str


@dataclass(frozen=True, slots=True)
class Vocabulary:
    """Parts and conditions by id, in the order of the file."""

    parts: dict[str, Part]
    conditions: dict[str, Condition]
    groups: tuple[str, ...]

    def is_defect(self, condition: str) -> bool:
        """Tell whether a condition is a defect; raises KeyError for an unknown one."""
        return self.conditions[condition].defect


@cache
def vocabulary() -> Vocabulary:
    """Read the shipped vocabulary once."""
    raw = tomllib.loads(files("shutline.car").joinpath("data/vocabulary.toml").read_text(encoding="utf-8"))
    parts = {
        row["id"]: Part(row["id"], row["label"], group, row.get("sided", False), row.get("ended", False))
        for group, rows in raw["parts"].items()
        for row in rows
    }
    conditions = {
        row["id"]: Condition(row["id"], row["label"], kind == "defect", row["meaning"])
        for kind, rows in raw["conditions"].items()
        for row in rows
    }
    return Vocabulary(parts, conditions, tuple(raw["parts"]))
