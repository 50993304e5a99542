"""A figure as somebody gives it, held against what its instrument can show."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import datetime
from typing import TypeVar

from shutline.car.findings import Position, Side
from shutline.car.readings import Reading, Way
from shutline.car.vocabulary import vocabulary
from shutline.gauge.readings.quantities import Instrument, Quantity, Unit, instruments, quantity, refused, spots

_MOST_CYLINDERS = 16
_E = TypeVar("_E", Side, Position)


@dataclass(frozen=True, slots=True)
class Keyed:
    """A figure as it is given: text or numbers, anything left out empty or None.

    `value` and `uncertainty` may be text with a decimal point or comma; `uncertainty` is one standard deviation in the
    unit given; left out, it follows from the instrument.
    """

    quantity: str
    value: float | str
    unit: str = ""
    uncertainty: float | str | None = None
    part: str = ""
    side: str = ""
    position: str = ""
    spot: str = ""
    series: str = ""
    details: Mapping[str, float | str] = field(default_factory=dict)
    instrument: str = ""
    measured_at: str = ""


def reading_of(
    keyed: Keyed,
    *,
    where: str = "reading",
    way: Way = Way.KEYED,
    own: Mapping[str, Instrument] | None = None,
) -> Reading:
    """Make a reading of what was given.

    Parameters
    ----------
    keyed : Keyed
        What was given.
    where : str
        How messages name its place: a field, or a file and row.
    way : Way
        How it came in.
    own : mapping of str to Instrument, optional
        The user's instruments, which go before the shipped ones.

    Raises
    ------
    UserError
        Slug ``reading-refused``: something is not in the lists, no number, or out of what an instrument can show; the
        message says what is allowed.
    """
    of = quantity(keyed.quantity, where=where)
    unit = of.unit(keyed.unit) if keyed.unit.strip() else of.units[0]
    if unit is None:
        allowed = ", ".join(one.id for one in of.units)
        raise refused(where, f"unit {keyed.unit!r}", f"{of.label} in {allowed}", "Give the unit of the instrument.")
    value = _number(keyed.value, where, of.label)
    first = of.in_first(value, unit.id)
    if not of.lowest <= first <= of.highest:
        raise refused(
            where,
            f"{of.label} {value:g} {unit.label}".strip(),
            _shown(of, unit),
            "Read the instrument once more; look at the unit.",
        )
    part, side, position = _place(keyed, of, where)
    instrument, called = _instrument(keyed.instrument, of, own or {}, where)
    if keyed.uncertainty is None or keyed.uncertainty == "":
        uncertainty = instrument.uncertainty(of, value, unit.id) if instrument else _widest(of, value)
    else:
        uncertainty = _number(keyed.uncertainty, where, "uncertainty")
        if uncertainty < 0:
            raise refused(where, f"uncertainty {uncertainty:g}", "nought or more", "Give one standard deviation.")
    return Reading(
        quantity=of.id,
        value=value,
        unit=unit.id,
        uncertainty=uncertainty,
        part=part,
        side=side,
        position=position,
        spot=_spot(keyed.spot, of, where),
        series=keyed.series.strip(),
        details=_details(keyed.details, of, where),
        instrument=called,
        measured_at=_moment(keyed.measured_at, where),
        way=way,
    )


def _shown(of: Quantity, unit: Unit) -> str:
    low, high = ((bound - unit.offset) / unit.factor for bound in (of.lowest, of.highest))
    return f"{low:,.4g} to {f'{high:,.4g} {unit.label}'.strip()}, all that such an instrument can show"


def _number(given: float | str, where: str, what: str) -> float:
    text = str(given).strip().replace("\N{MINUS SIGN}", "-")
    if text.count(",") == 1 and "." not in text:
        text = text.replace(",", ".") if len(text.rpartition(",")[2]) != 3 else text.replace(",", "")
    try:
        value = float(text)
    except ValueError:
        value = math.nan
    if not math.isfinite(value):
        raise refused(where, f"{what} {given!r}", "a number in figures", "Give the figure as the instrument shows it.")
    return value


def _place(keyed: Keyed, of: Quantity, where: str) -> tuple[str, Side | None, Position | None]:
    words = vocabulary()
    part = keyed.part.strip().casefold().replace(" ", "_")
    if not part:
        if not of.parts:
            raise refused(where, f"{of.label} without a part", "a part of the car", "Say where it was measured.")
        part = of.parts[0]
    if part not in words.parts:
        by_label = [
            one for one, about in words.parts.items() if about.label.casefold() == keyed.part.strip().casefold()
        ]
        if not by_label:
            allowed = ", ".join(of.parts) or f"one of the {len(words.parts)} parts of the vocabulary"
            raise refused(where, f"part {keyed.part!r}", allowed, "Choose the nearest of them.")
        part = by_label[0]
    if of.parts and part not in of.parts:
        raise refused(where, f"{of.label} of {part!r}", ", ".join(of.parts), "Choose one of them, or another quantity.")
    side = _one(Side, keyed.side, where, "side")
    position = _one(Position, keyed.position, where, "position")
    about = words.parts[part]
    if side is not None and not (about.sided or of.sided):
        raise refused(where, f"side {side.value!r} of {part!r}", "none: it lies across the car", "Leave the side out.")
    if position is not None and not about.ended:
        raise refused(where, f"position {position.value!r} of {part!r}", "none: there is one", "Leave the end out.")
    return part, side, position


def _one(of: type[_E], text: str, where: str, what: str) -> _E | None:
    plain = text.strip().casefold()
    plain = {"nearside": "near", "offside": "off"}.get(plain, plain)
    if not plain:
        return None
    if plain not in {one.value for one in of}:
        allowed = ", ".join(one.value for one in of)
        raise refused(where, f"{what} {text!r}", allowed, "Choose one of them, or leave it out.")
    return of(plain)


def _spot(text: str, of: Quantity, where: str) -> str:
    plain = " ".join(text.casefold().split())
    if not plain:
        return ""
    if of.spots in {"cylinder", "cell"}:
        if plain.isdecimal() and 1 <= int(plain) <= _MOST_CYLINDERS:
            return str(int(plain))
        raise refused(where, f"{of.spots} {text!r}", f"1 to {_MOST_CYLINDERS}", f"Give the number of the {of.spots}.")
    if of.spots == "none":
        raise refused(where, f"spot {text!r} of {of.label}", "none", "Leave it out.")
    unknown = [word for word in plain.split() if word not in spots() and not word.isdecimal()]
    if unknown:
        allowed = ", ".join(spots())
        raise refused(
            where, f"spot {text!r}", f"words out of {allowed}, or a number", "Choose among them, or leave it out."
        )
    return plain


def _details(given: Mapping[str, float | str], of: Quantity, where: str) -> dict[str, float | str]:
    found: dict[str, float | str] = {}
    for name, value in given.items():
        if value is None or str(value).strip() == "":
            continue
        if name not in of.details:
            allowed = ", ".join(of.details) or "nothing"
            raise refused(where, f"{name!r} told of {of.label}", allowed, "Leave it out.")
        words = of.details[name]
        if not words:
            found[name] = _number(value, where, name)
        elif str(value).strip().casefold() in {word.casefold() for word in words}:
            found[name] = next(word for word in words if word.casefold() == str(value).strip().casefold())
        else:
            raise refused(where, f"{name} {value!r}", ", ".join(words), "Choose one of them.")
    return found


def _instrument(name: str, of: Quantity, own: Mapping[str, Instrument], where: str) -> tuple[Instrument | None, str]:
    """Give the instrument that tells how well, and what the reading calls it."""
    plain = name.strip().casefold()
    known = {**own, **{key: one for key, one in instruments().items() if key not in own}}
    usual = next((one for one in known.values() if of.id in one.quantities), None)
    named = next((one for one in known.values() if plain and plain in (one.id.casefold(), one.label.casefold())), None)
    if named is None:
        # One in the user's own words is kept as it is called, and taken to tell as well as the usual one.
        return usual, name.strip()
    if of.id not in named.quantities:
        allowed = ", ".join(one.label for one in known.values() if of.id in one.quantities)
        raise refused(where, f"{of.label} by {named.label}", allowed, "Choose one of them.")
    return named, named.id


def _widest(of: Quantity, value: float) -> float:
    """Where nothing is known of the instrument: a tenth of the figure, and one of its last places."""
    return abs(value) / 10 + 10.0**-of.decimals


def _moment(text: str, where: str) -> str | None:
    plain = text.strip()
    if not plain:
        return None
    try:
        datetime.fromisoformat(plain)
    except ValueError:
        raise refused(
            where, f"when {text!r}", "a date or a moment, ISO 8601: 2026-04-21 or 2026-04-21T10:30", "Write it so."
        ) from None
    return plain
