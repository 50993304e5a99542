"""Chassis numbers: a VIN of seventeen signs taken apart, an earlier one kept as written, both compared."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from shutline.gauge.seen.forms import changed, has_check_digit, is_vin, vin_check_digit

_YEARS = "ABCDEFGHJKLMNPRSTVWXY123456789"
"""Model-year signs from 1980 on, thirty years round; ISO 3779 as commonly printed: from memory."""


@dataclass(frozen=True, slots=True)
class ChassisNumber:
    """A chassis number, and what it tells.

    `text` is it as given; `plain` without spaces and in capitals. For a VIN (ISO 3779): `maker` its first three signs,
    `describes` the six that follow, `serial` the last eight; `years` are the model years that the tenth sign may stand
    for, where the maker uses it so. `check` is ``holds`` or ``fails`` where a check digit is law, and ``not
    applicable`` elsewhere. `others` are numbers that it may have been misread for: proposed, never put in its place.
    """

    text: str
    plain: str
    vin: bool
    maker: str = ""
    describes: str = ""
    serial: str = ""
    years: tuple[int, ...] = ()
    check: str = "not applicable"
    others: tuple[str, ...] = ()
    sentence: str = ""


def chassis_number(text: str) -> ChassisNumber:
    """Take a chassis number apart.

    A number before 1981 has a form of its maker's own and any length: it is kept as written, and no check is made.
    """
    plain = "".join(text.split()).upper()
    if not is_vin(plain):
        others = tuple(changed(plain, is_vin)) if len(plain) == 17 else ()
        words = f"{text.strip()} is kept as written: no VIN of seventeen signs, as before 1981. No check is made."
        if others:
            words = f"{text.strip()} has seventeen signs, and I, O or Q among them, which no VIN has; look at it again."
        return ChassisNumber(text, plain, vin=False, others=others, sentence=words)
    check = "not applicable"
    others = ()
    if has_check_digit(plain):
        check = "holds" if vin_check_digit(plain) == plain[8] else "fails"
        if check == "fails":
            others = tuple(changed(plain, lambda one: is_vin(one) and vin_check_digit(one) == one[8]))
    years = _model_years(plain[9])
    told = {
        "holds": "its check digit holds, as one in eleven of any such numbers would",
        "fails": "its check digit does not hold: a sign was misread, or the number is not right",
        "not applicable": "a check digit is no law where it was made, so none is looked at",
    }[check]
    words = f"{plain} is a VIN: maker {plain[:3]}, serial {plain[9:]}; {told}."
    return ChassisNumber(
        text,
        plain,
        vin=True,
        maker=plain[:3],
        describes=plain[3:9],
        serial=plain[9:],
        years=years,
        check=check,
        others=others,
        sentence=words,
    )


def differing(numbers: Sequence[str]) -> tuple[tuple[str, str], ...]:
    """Give the pairs of numbers that differ, spaces and capitals aside, each pair once, in the order given."""
    plain = ["".join(one.split()).upper() for one in numbers]
    found = [
        (numbers[first], numbers[second])
        for first in range(len(plain))
        for second in range(first + 1, len(plain))
        if plain[first] != plain[second]
    ]
    return tuple(dict.fromkeys(found))


def _model_years(sign: str) -> tuple[int, ...]:
    if sign not in _YEARS:
        return ()
    first = 1980 + _YEARS.index(sign)
    return (first, first + len(_YEARS))
