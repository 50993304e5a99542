"""How sure a reading is: the share of right ones among drawn pictures that were read alike."""

from __future__ import annotations

import csv
import io
from bisect import bisect_right
from collections import defaultdict
from dataclasses import dataclass
from functools import cache
from importlib.resources import files

from shutline.car.errors import Problem, UserError
from shutline.car.figures import FigureKind

COLUMNS = ("kind", "fits", "agreed", "weakest", "right", "told")
AGREED = (0, 3, 5, 6, 7)
"""The fewest looks that agree with the first, for each class."""
WEAKEST = (0.0, 0.6, 0.85, 0.95)
"""The smallest share of the weakest sign, for each class."""
_LEAN = 3


@dataclass(frozen=True, slots=True)
class Class:
    """Which readings are alike: of one kind, in a known form or not, agreed by as many looks, as clear."""

    kind: FigureKind
    fits: bool
    agreed: int
    weakest: float


def class_of(kind: FigureKind, *, fits: bool, agreed: int, weakest: float) -> Class:
    """Give the class of a reading; `agreed` looks said the same, `weakest` is the share of its weakest sign."""
    return Class(kind, fits, AGREED[bisect_right(AGREED, agreed) - 1], WEAKEST[bisect_right(WEAKEST, weakest) - 1])


def sureness(of: Class, counts: dict[Class, tuple[int, int]] | None = None) -> float:
    """Give the share of right ones in a class, leaning on the same class of all kinds where few were drawn.

    Parameters
    ----------
    of : Class
        What the reading is like.
    counts : dict, optional
        How many of each class were right, and how many were read; those that ship when left out.
    """
    table = _shipped() if counts is None else counts
    right, told = table.get(of, (0, 0))
    of_all_right = sum(v[0] for c, v in table.items() if _alike(c, of))
    of_all_told = sum(v[1] for c, v in table.items() if _alike(c, of))
    share = (of_all_right + 1) / (of_all_told + 2)
    return round((right + _LEAN * share) / (told + _LEAN), 3)


def _alike(one: Class, other: Class) -> bool:
    return (one.fits, one.agreed, one.weakest) == (other.fits, other.agreed, other.weakest)


def read_counts(text: str) -> dict[Class, tuple[int, int]]:
    """Read the counts; raises UserError (slug ``form-row``) that names the line of a row that cannot be."""
    reader = csv.DictReader(io.StringIO(text))
    if tuple(reader.fieldnames or ()) != COLUMNS:
        raise _bad(1, f"columns {', '.join(reader.fieldnames or ())}")
    counts: dict[Class, tuple[int, int]] = {}
    for row in reader:
        try:
            of = Class(FigureKind(row["kind"]), row["fits"] == "yes", int(row["agreed"]), float(row["weakest"]))
            right, told = int(row["right"]), int(row["told"])
        except (ValueError, TypeError) as trouble:
            raise _bad(reader.line_num, str(trouble)) from trouble
        if of in counts or not 0 <= right <= told or of.agreed not in AGREED or of.weakest not in WEAKEST:
            raise _bad(reader.line_num, f"{right} right of {told} for {row['kind']}, or a class a second time")
        counts[of] = (right, told)
    return counts


def written(counts: dict[Class, tuple[int, int]]) -> str:
    """Give the counts in the form that `read_counts` takes."""
    kinds = list(FigureKind)
    order = sorted(counts, key=lambda c: (kinds.index(c.kind), not c.fits, c.agreed, c.weakest))
    lines = [",".join(COLUMNS)]
    for of in order:
        right, told = counts[of]
        lines.append(f"{of.kind},{'yes' if of.fits else 'no'},{of.agreed},{of.weakest:g},{right},{told}")
    return "\n".join(lines) + "\n"


def count(readings: list[tuple[Class, bool]]) -> dict[Class, tuple[int, int]]:
    """Count how many of each class were right, and how many there were."""
    table: dict[Class, list[int]] = defaultdict(lambda: [0, 0])
    for of, right in readings:
        table[of][0] += right
        table[of][1] += 1
    return {of: (right, told) for of, (right, told) in table.items()}


@cache
def _shipped() -> dict[Class, tuple[int, int]]:
    return read_counts(files("shutline.gauge.seen").joinpath("data/sureness.csv").read_text(encoding="utf-8"))


def _bad(line: int, found: str) -> UserError:
    return UserError(
        Problem(
            slug="form-row",
            where=f"sureness.csv, line {line}",
            found=found,
            allowed="the columns and classes that bench/figures.py writes",
            advice="Have it written anew: python bench/figures.py --calibrate.",
        )
    )
