"""The forms in which advertisements tell facts and speech does not, read from the data beside this file."""

from __future__ import annotations

import re
from dataclasses import dataclass
from functools import cache
from tomllib import loads

from shutline.claims.written_data import data


@dataclass(frozen=True, slots=True)
class Form:
    """One form: the fact it tells, how its letters are found, and what they stand for.

    The first group of `pattern` is the value. `opening` tells that it counts only where a text names its car. `times`
    and `plus` make a number of it; `values` gives it in plain.
    """

    id: str
    fact: str
    pattern: re.Pattern[str]
    opening: bool
    times: int
    plus: int
    values: dict[str, str]
    example: str
    counter_example: str

    def value(self, found: str) -> int | str | None:
        """Give the value that letters stand for, or nothing where they stand for none."""
        if self.values:
            return self.values.get(found.casefold())
        try:
            return round(float(found.replace(",", ".")) * self.times) + self.plus
        except ValueError:
            return None


@cache
def advert_forms() -> tuple[Form, ...]:
    """Read the forms once."""
    return tuple(
        Form(
            row["id"],
            row["fact"],
            re.compile(row["pattern"]),
            bool(row.get("opening", False)),
            int(row.get("times", 1)),
            int(row.get("plus", 0)),
            {str(k): str(v) for k, v in row.get("values", {}).items()},
            row["example"],
            row["counter_example"],
        )
        for row in loads(data("advert_forms.toml"))["form"]
    )
