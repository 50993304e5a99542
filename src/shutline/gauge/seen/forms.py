"""The forms that marks and chassis numbers are known to have: they narrow, and invent nothing."""

from __future__ import annotations

import csv
import io
import itertools
import re
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from functools import cache
from importlib.resources import files

from shutline.car.errors import Problem, UserError

# 49 CFR 565, tables III and IV: what each letter counts in the check digit of a VIN, and each place.
_VIN_VALUES = {letter: value for value, letters in enumerate(
    ("", "AJ", "BKS", "CLT", "DMU", "ENV", "FW", "GPX", "HY", "RZ")) for letter in letters}  # fmt: skip
_VIN_WEIGHTS = (8, 7, 6, 5, 4, 3, 2, 10, 0, 9, 8, 7, 6, 5, 4, 3, 2)
_VIN = re.compile(r"[A-HJ-NPR-Z0-9]{17}\Z")
# ISO 3780: first signs that countries of North America use, where the check digit is law.
_CHECKED = "12345"

_MOST_CHANGES = 2


@dataclass(frozen=True, slots=True)
class MarkForm:
    """A form of registration mark: its id, what it is called, and the pattern that a mark without spaces fits."""

    id: str
    name: str
    pattern: re.Pattern[str]


def mark_forms(text: str) -> tuple[MarkForm, ...]:
    """Give the known forms that a mark fits, spaces aside.

    >>> [form.id for form in mark_forms("FGY 412H")]
    ['gb-suffix', 'de']
    >>> mark_forms("0GY 412H")
    ()
    """
    plain = text.replace(" ", "")
    return tuple(form for form in _marks() if form.pattern.fullmatch(plain))


def is_vin(text: str) -> bool:
    """Tell whether a text is 17 signs that a VIN may have (ISO 3779): no I, O or Q."""
    return _VIN.match(text) is not None


def vin_check_digit(vin: str) -> str:
    """Work out the sign that stands ninth in a VIN where the check digit is law (49 CFR 565.15).

    >>> vin_check_digit("1M8GDM9AXKP042788")
    'X'

    Raises
    ------
    ValueError
        It is no VIN.
    """
    if not is_vin(vin):
        raise ValueError(f"{vin!r} is not 17 signs of a VIN")
    counted = (int(sign) if sign.isdigit() else _VIN_VALUES[sign] for sign in vin)
    rest = sum(value * weight for value, weight in zip(counted, _VIN_WEIGHTS, strict=True)) % 11
    return "X" if rest == 10 else str(rest)


def has_check_digit(vin: str) -> bool:
    """Tell whether the check digit is law for a VIN: in North America only; elsewhere it says nothing."""
    return vin[:1] in _CHECKED


def alike(sign: str) -> tuple[str, ...]:
    """Give the signs that a sign is often taken for."""
    return _alike().get(sign.upper(), ())


def changed(text: str, fits: Callable[[str], bool], *, most: int = _MOST_CHANGES) -> Iterator[str]:
    """Give the texts that fit a form and differ from this one in few signs, each for one it is often taken for.

    Parameters
    ----------
    text : str
        As it was read.
    fits : callable
        Tells whether a text has the form.
    most : int
        How many signs may change.
    """
    swaps = [(at, other) for at, sign in enumerate(text) for other in alike(sign)]
    for count in range(1, most + 1):
        found = False
        for chosen in itertools.combinations(swaps, count):
            if len({at for at, _ in chosen}) < count:
                continue
            signs = list(text)
            for at, other in chosen:
                signs[at] = other
            new = "".join(signs)
            if fits(new):
                found = True
                yield new
        if found:
            return


# Data -----------------------------------------------------------------------------------------------------------------


@cache
def _marks() -> tuple[MarkForm, ...]:
    return read_marks(_text("marks.csv"))


def read_marks(text: str) -> tuple[MarkForm, ...]:
    """Read the forms of marks, and try each on its examples.

    Raises
    ------
    UserError
        A column is missing or unknown, an id is there twice, a pattern is none, or an example does not bear it out
        (slug ``form-row``); it names the line.
    """
    forms: dict[str, MarkForm] = {}
    for line, row in _rows(text, "marks.csv", ("id", "name", "pattern", "example", "counter_example", "source")):
        try:
            form = MarkForm(row["id"], row["name"], re.compile(row["pattern"]))
        except re.error as trouble:
            raise _bad(f"marks.csv, line {line}", f"the pattern {row['pattern']!r} cannot be read") from trouble
        if form.id in forms:
            raise _bad(f"marks.csv, line {line}", f"{form.id!r} a second time")
        if not form.pattern.fullmatch(row["example"]) or form.pattern.fullmatch(row["counter_example"]):
            raise _bad(f"marks.csv, line {line}", "the example does not fit, or the counter-example does")
        forms[form.id] = form
    return tuple(forms.values())


@cache
def _alike() -> dict[str, tuple[str, ...]]:
    pairs: dict[str, list[str]] = {}
    for _, row in _rows(_text("alike.csv"), "alike.csv", ("one", "other", "source")):
        pairs.setdefault(row["one"], []).append(row["other"])
        pairs.setdefault(row["other"], []).append(row["one"])
    return {sign: tuple(others) for sign, others in pairs.items()}


def _text(name: str) -> str:
    return files("shutline.gauge.seen").joinpath(f"data/{name}").read_text(encoding="utf-8")


def _rows(text: str, name: str, columns: tuple[str, ...]) -> Iterator[tuple[int, dict[str, str]]]:
    reader = csv.DictReader(io.StringIO(text))
    if tuple(reader.fieldnames or ()) != columns:
        raise _bad(f"{name}, line 1", f"columns {', '.join(reader.fieldnames or ())}")
    for row in reader:
        if None in row or any(not (value or "").strip() for value in row.values()):
            raise _bad(f"{name}, line {reader.line_num}", "a value too many, or one missing")
        yield reader.line_num, row


def _bad(where: str, found: str) -> UserError:
    return UserError(
        Problem(
            slug="form-row",
            where=where,
            found=found,
            allowed="the columns of the file as it ships, each id once, and examples that bear the pattern out",
            advice="Mend the line.",
        )
    )
