"""The forms that marks, chassis numbers and tyre markings are known to have: they narrow, and invent nothing."""

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

_METRIC = re.compile(
    r"(?P<p>P?)(?P<width>[1-3]\d5)/?(?P<ratio>(?<=/)\d{2}|)(?P<build>[SHV]?R|ZR|-|D|B)(?P<rim>1[0-9]|2[0-4])"
    r"(?:C?)(?:(?P<load>\d{2,3})(?P<speed>[A-Y]))?\Z"
)
_INCHES = re.compile(r"(?P<width>[4-9]\.\d{1,2})[-X](?P<rim>1[0-9]|2[0-3])(?:(?P<load>\d{2,3})(?P<speed>[A-Y]))?\Z")
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


@dataclass(frozen=True, slots=True)
class TyreSize:
    """A tyre's size as marked: `text` in one spelling, the load in kilograms and the speed in km/h where marked."""

    text: str
    load_kg: int | None = None
    speed_km_h: int | None = None


def tyre_size(text: str) -> TyreSize | None:
    """Read a tyre's size with its load index and speed symbol; None where it has no form that tyres have.

    >>> tyre_size("205/55 R16 91V")
    TyreSize(text='205/55 R16 91V', load_kg=615, speed_km_h=240)
    >>> tyre_size("205/55 R16 91I") is None
    True
    """
    plain = re.sub(r"\s+", "", text.upper())
    found = _METRIC.match(plain) or _INCHES.match(plain)
    if found is None:
        return None
    parts = found.groupdict()
    load = speed = None
    if parts["load"]:
        load, speed = _loads().get(int(parts["load"])), _speeds().get(parts["speed"])
        if load is None or speed is None:
            return None
    if "build" in parts:
        ratio = f"/{parts['ratio']}" if parts["ratio"] else ""
        build = "" if parts["build"] == "-" else f" {parts['build']}"
        size = f"{parts['p']}{parts['width']}{ratio}{build}{'-' if parts['build'] == '-' else ''}{parts['rim']}"
    else:
        size = f"{parts['width']}-{parts['rim']}"
    marked = f" {parts['load']}{parts['speed']}" if parts["load"] else ""
    return TyreSize(size + marked, load, speed)


def tyre_date(code: str) -> str | None:
    """Read the date code of a tyre; None where there is no such week.

    Four figures are week and year since 2000, three are week and last figure of the year before.

    >>> tyre_date("4308"), tyre_date("346"), tyre_date("5408")
    ('week 43 of 2008', 'week 34 of 1986 or 1996', None)
    """
    if not (code.isascii() and code.isdigit() and len(code) in {3, 4} and 1 <= int(code[:2]) <= 53):
        return None
    if len(code) == 4:
        return f"week {int(code[:2])} of 20{code[2:]}"
    return f"week {int(code[:2])} of 198{code[2]} or 199{code[2]}"


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
def _loads() -> dict[int, int]:
    rows = _rows(_text("tyre_load_index.csv"), "tyre_load_index.csv", ("load_index", "kg", "source"))
    return {int(row["load_index"]): int(row["kg"]) for _, row in rows}


@cache
def _speeds() -> dict[str, int]:
    rows = _rows(_text("tyre_speed_symbols.csv"), "tyre_speed_symbols.csv", ("symbol", "max_km_h", "source"))
    return {row["symbol"]: int(row["max_km_h"]) for _, row in rows}


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
