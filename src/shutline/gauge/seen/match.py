"""What a row of writing may be of: an odometer, a mark, a chassis number, a tyre's marking, a paint gauge."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from typing import Protocol

from shutline.car.figures import FigureKind, OtherReading
from shutline.gauge.seen import forms
from shutline.gauge.seen.lettering import Sign
from shutline.gauge.seen.rows import Row
from shutline.gauge.tyres import dates, markings

# Signs that stand where a figure stood, as pictures of segments and drums are misread.
_FIGURISH = "0-9OQDILSBZGAHT:!"
_RUN = re.compile(rf"(?<![A-Z0-9])[{_FIGURISH}](?:[{_FIGURISH}]|[ ,.'](?=[{_FIGURISH}])){{2,9}}")
_GAUGE = re.compile(rf"(?P<run>[{_FIGURISH}]{{1,4}}|\d{{1,2}}\.\d)\s*(?:[µμ\u039cU]M|MICRONS?|MILS?)?\Z")
_MILES = re.compile(r"\b(?:MILES?|MI)\b|(?<=\d)(?:MILES?|MI)\b")
_KM = re.compile(r"(?:\b|(?<=\d))(?:KM|KILOMETRES)\b(?!\s*/)")
_MICRONS, _MILS = re.compile(r"[µμ\u039cU]M\b|MICRON"), re.compile(r"MILS?\b")
_LABEL = re.compile(r"\b(?:CHASSIS|FRAME|CAR|V\.?I\.?N\b\.?|FAHRGESTELL)(?:\s*(?:NO|NUMBER|NR|N°)\b)?[.:]*")
_DOT = re.compile(r"\bDOT\b")
_LEAST_FIGURES = 0.6


@dataclass(frozen=True, slots=True)
class Match:
    """What a piece of a row may be: the signs it took, what they come to, and what else they might be.

    `text` is as read, without spaces where a figure of the kind has none.
    """

    kind: FigureKind
    signs: tuple[Sign, ...]
    text: str
    value: int | str
    unit: str | None
    fits: bool
    others: tuple[OtherReading, ...] = ()
    notes: tuple[str, ...] = ()


def matches(row: Row, wanted: frozenset[FigureKind]) -> Iterator[Match]:
    """Give what a row may be; kinds that are wanted are looked for with less to go by.

    Parameters
    ----------
    row : Row
        Its signs, and what stands near.
    wanted : frozenset of FigureKind
        What the words, the place or a person say that the picture shows; empty where nobody said anything.
    """
    for kind, reader in READERS.items():
        if wanted and kind not in wanted:
            continue
        found = reader(row, wanted=kind in wanted)
        if found is not None:
            yield found


def odometer(row: Row, *, wanted: bool) -> Match | None:
    """Read an odometer: four to seven figures, with a unit near them unless it is known to be one."""
    unit = _unit(row, (("mi", _MILES), ("km", _KM)))
    runs = [found for found in _RUN.finditer(row.text) if _mostly_figures(found.group())]
    if not runs or not (wanted or unit):
        return None
    run = max(runs, key=lambda found: len(found.group()))
    whole, _, tenths = run.group().replace(" ", "").replace(",", "").replace("'", "").partition(".")
    if "." in tenths or len(tenths) > 1:
        return None
    if not 4 <= len(whole) <= 7:
        return None
    notes = ("the figure after the point counts tenths",) if tenths else ()
    signs = row.line.signs[run.start() : run.end()]
    return _numbered(FigureKind.ODOMETER, signs, whole, unit, _figures, notes=notes)


def paint(row: Row, *, wanted: bool) -> Match | None:
    """Read the glass of a paint gauge: one to four figures that stand alone, with the unit near them."""
    unit = _unit(row, (("um", _MICRONS), ("mil", _MILS)))
    found = _GAUGE.match(row.text)
    if found is None or not (wanted or unit) or not _mostly_figures(found["run"]):
        return None
    signs = row.line.signs[found.start("run") : found.end("run")]
    if "." in found["run"]:
        if unit == "mil":
            return Match(FigureKind.PAINT, signs, found["run"], found["run"], unit, fits=True)
        bare = found["run"].replace(".", "")
        others = (OtherReading(bare, int(bare), "without the point"),)
        note = "a point where whole figures are usual; nothing was changed"
        return Match(
            FigureKind.PAINT, signs, found["run"], found["run"], unit, fits=False, others=others, notes=(note,)
        )
    return _numbered(FigureKind.PAINT, signs, found["run"], unit, _figures)


def mark(row: Row, *, wanted: bool) -> Match | None:
    """Read a registration mark: a row that is nothing else, in one of the known forms."""
    text = _plain(row.text)
    if not 2 <= len(text) <= 8 or not text.isalnum():
        return None
    fitting = forms.mark_forms(text)
    sure_of_kind = len(text) >= 5 and any(sign.isdigit() for sign in text) and any(sign.isalpha() for sign in text)
    if fitting and (wanted or sure_of_kind):
        names = "; ".join(dict.fromkeys(form.name for form in fitting))
        note = f"a form of mark that is known: {names}"
        return Match(FigureKind.MARK, _unspaced(row), text, text, None, fits=True, notes=(note,))
    if not wanted or not any(sign.isdigit() for sign in text) or not any(sign.isalpha() for sign in text):
        return None
    others = _changed(text, lambda new: bool(forms.mark_forms(new)))
    if not others:
        return None
    note = "no form of mark that is known; nothing was changed"
    return Match(FigureKind.MARK, _unspaced(row), text, text, None, fits=False, others=others, notes=(note,))


def chassis(row: Row, *, wanted: bool) -> Match | None:
    """Read a chassis number: 17 signs of a VIN, or what stands beside or under its label."""
    label = _LABEL.search(row.text)
    start = label.end() if label else 0
    labelled = bool(label) or bool(_LABEL.search(row.above))
    text = _plain(row.text[start:])
    signs = tuple(
        sign for sign, letter in zip(row.line.signs[start:], row.text[start:], strict=True) if letter not in " *"
    )
    text = text.replace("*", "")
    if len(text) == 17 and text.isalnum() and text.isascii():
        return _vin(text, signs, wanted=wanted or labelled)
    older = re.fullmatch(r"[A-Z0-9][A-Z0-9/.-]{3,15}", text)
    figures, letters = sum(sign.isdigit() for sign in text), sum(sign.isalpha() for sign in text)
    if older is None or figures < 3 or not (labelled or (wanted and figures >= 4 and 1 <= letters <= 6)):
        return None
    notes: tuple[str, ...] = ("no VIN of 17 signs: kept as it stands, no rule was applied",)
    if not labelled:
        notes += ("no label was read beside it",)
    return Match(FigureKind.CHASSIS, signs, text, text, None, fits=True, notes=notes)


def _vin(text: str, signs: tuple[Sign, ...], *, wanted: bool) -> Match | None:
    if not forms.is_vin(text):
        others = _changed(text, forms.is_vin)
        if not (wanted and others):
            return None
        note = "a VIN has no I, O or Q; nothing was changed"
        return Match(FigureKind.CHASSIS, signs, text, text, None, fits=False, others=others, notes=(note,))
    if sum(sign.isdigit() for sign in text) < 4 and not wanted:
        return None
    if not forms.has_check_digit(text):
        return Match(FigureKind.CHASSIS, signs, text, text, None, fits=True, notes=("the check digit does not apply",))
    if forms.vin_check_digit(text) == text[8]:
        return Match(FigureKind.CHASSIS, signs, text, text, None, fits=True, notes=("the check digit agrees",))
    others = _changed(text, lambda new: forms.is_vin(new) and forms.vin_check_digit(new) == new[8])
    note = f"the check digit would be {forms.vin_check_digit(text)}, and {text[8]} was read"
    return Match(FigureKind.CHASSIS, signs, text, text, None, fits=False, others=others, notes=(note,))


def tyre_size(row: Row, *, wanted: bool) -> Match | None:
    """Read a tyre's size, with its load index and speed symbol where they stand beside it."""
    pieces = row.text.split(" ")
    for first in range(len(pieces)):
        for last in range(len(pieces), first, -1):
            size = markings.tyre_size("".join(pieces[first:last]))
            if size is None:
                continue
            start = len(" ".join(pieces[:first])) + (1 if first else 0)
            end = len(" ".join(pieces[:last]))
            notes = (f"{size.load_kg} kg, {size.speed_km_h} km/h",) if size.load_kg else ()
            signs = tuple(sign for sign in row.line.signs[start:end] if sign.text != " ")
            return Match(FigureKind.TYRE_SIZE, signs, row.text[start:end], size.text, None, fits=True, notes=notes)
    text = _plain(row.text)
    if not wanted or "/" not in text or not 9 <= len(text) <= 14:
        return None
    others = tuple(
        OtherReading(new, size.text, _told(text, new))
        for new in forms.changed(text, lambda new: markings.tyre_size(new) is not None)
        if (size := markings.tyre_size(new)) is not None
    )
    if not others:
        return None
    note = "no form of size, load index and speed symbol that tyres have; nothing was changed"
    return Match(FigureKind.TYRE_SIZE, _unspaced(row), text, text, None, fits=False, others=others, notes=(note,))


def tyre_date(row: Row, *, wanted: bool) -> Match | None:
    """Read a tyre's date code: the last figures of the line that begins with DOT, or four alone on a tyre."""
    marked = _DOT.search(row.text) is not None
    pieces = row.text.split(" ")
    code = pieces[-1]
    alone = len(pieces) == 1
    after_dot = marked and not alone and len(code) in {3, 4}
    if not after_dot and not (wanted and alone and len(code) == 4):
        return None
    signs = row.line.signs[-len(code) :]
    if (value := dates.tyre_date(code)) is not None:
        return Match(FigureKind.TYRE_DATE, signs, code, value, None, fits=True)
    others = tuple(
        OtherReading(new, told, _told(code, new))
        for new in forms.changed(code, lambda new: dates.tyre_date(new) is not None)
        if (told := dates.tyre_date(new)) is not None
    )
    if not others:
        return None
    note = "no week and year that a tyre can have; nothing was changed"
    return Match(FigureKind.TYRE_DATE, signs, code, code, None, fits=False, others=others, notes=(note,))


class Reader(Protocol):
    """Reads one kind of figure off a row."""

    def __call__(self, row: Row, *, wanted: bool) -> Match | None:
        """Give what the row is of the kind, or None; where it is wanted, less is asked of it."""


READERS: dict[FigureKind, Reader] = {
    FigureKind.CHASSIS: chassis,
    FigureKind.TYRE_SIZE: tyre_size,
    FigureKind.TYRE_DATE: tyre_date,
    FigureKind.MARK: mark,
    FigureKind.ODOMETER: odometer,
    FigureKind.PAINT: paint,
}
"""How each kind is read off a row."""


def valued(kind: FigureKind, text: str) -> int | str | None:
    """Give what a text of a kind comes to; None where it has no form of that kind.

    >>> valued(FigureKind.TYRE_DATE, "4308"), valued(FigureKind.ODOMETER, "0O123")
    ('week 43 of 2008', None)
    """
    plain = _plain(text.upper())
    if kind in {FigureKind.ODOMETER, FigureKind.PAINT}:
        return int(plain) if _figures(plain) else None
    if kind is FigureKind.MARK:
        return plain if forms.mark_forms(plain) else None
    if kind is FigureKind.TYRE_SIZE:
        size = markings.tyre_size(text)
        return size.text if size else None
    if kind is FigureKind.TYRE_DATE:
        return dates.tyre_date(plain)
    return plain or None


def _numbered(
    kind: FigureKind,
    signs: tuple[Sign, ...],
    text: str,
    unit: str | None,
    fits: Callable[[str], bool],
    *,
    notes: tuple[str, ...] = (),
) -> Match:
    kept = tuple(sign for sign in signs if sign.text not in " ,'")
    if fits(text):
        return Match(kind, kept, text, int(text), unit, fits=True, notes=notes)
    others = tuple(OtherReading(new, int(new), _told(text, new)) for new in forms.changed(text, fits, most=3))
    return Match(kind, kept, text, text, unit, fits=False, others=others, notes=(*notes, "not all of it is figures"))


def _figures(text: str) -> bool:
    return text.isascii() and text.isdigit()


def _mostly_figures(text: str) -> bool:
    signs = [sign for sign in text if sign not in " ,.'"]
    return sum(sign.isdigit() for sign in signs) >= _LEAST_FIGURES * len(signs)


def _unit(row: Row, units: tuple[tuple[str, re.Pattern[str]], ...]) -> str | None:
    for where in (row.text, row.near):
        found = [unit for unit, pattern in units if pattern.search(where)]
        if len(found) == 1:
            return found[0]
    return None


def _plain(text: str) -> str:
    return text.replace(" ", "")


def _unspaced(row: Row) -> tuple[Sign, ...]:
    return tuple(sign for sign in row.line.signs if sign.text != " ")


def _changed(text: str, fits: Callable[[str], bool]) -> tuple[OtherReading, ...]:
    return tuple(OtherReading(new, new, _told(text, new)) for new in forms.changed(text, fits))


def _told(old: str, new: str) -> str:
    changes = [f"sign {at}: {b} in place of {a}" for at, (a, b) in enumerate(zip(old, new, strict=True), 1) if a != b]
    return ", ".join(changes)
