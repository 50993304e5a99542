"""Values off papers as a person types them, brought to the one form they are kept in."""

from __future__ import annotations

import re
from decimal import Decimal, InvalidOperation

from shutline.car.errors import Problem, UserError
from shutline.car.papers import ReadKind

LONGEST = 200
"""The longest words, letters."""
_CURRENCY = re.compile(r"[A-Z]{3}")
_GROUPED = re.compile(r"(?<=\d)[ ,](?=\d{3}(?!\d))")


def checked_value(kind: ReadKind, value: str, unit: str) -> tuple[str, str]:
    """Give a value and its unit as they are kept.

    >>> checked_value(ReadKind.MILEAGE, "41,206", "mi"), checked_value(ReadKind.MONEY, "1,266.4", "gbp")
    (('41206', 'mi'), ('1266.40', 'GBP'))

    Raises
    ------
    UserError
        Such a thing has no such value (slug ``paper-value``).
    """
    text = " ".join(value.split())
    if not text or len(text) > LONGEST or not text.isprintable():
        raise _bad(kind, f"{len(text)} letters" if text else "nothing", f"1 to {LONGEST} letters that can be shown")
    if kind is ReadKind.DATE:
        return checked_day(text), ""
    if kind in {ReadKind.MILEAGE, ReadKind.COUNT}:
        plain = _GROUPED.sub("", text)
        if not (plain.isascii() and plain.isdigit() and len(plain) <= 7):
            raise _bad(kind, repr(text), "a whole number of at most seven figures")
        if kind is ReadKind.MILEAGE and unit not in {"mi", "km"}:
            raise _bad(kind, f"unit {unit!r}" if unit else "no unit", "mi or km")
        return str(int(plain)), unit if kind is ReadKind.MILEAGE else ""
    if kind is ReadKind.MONEY:
        return _sum(text), _currency(unit)
    if kind in {ReadKind.MARK, ReadKind.CHASSIS}:
        return "".join(text.split()).upper(), ""
    if kind is ReadKind.COUNTRY:
        if len(text) != 2 or not text.isascii() or not text.isalpha():
            raise _bad(kind, repr(text), "a country by its two letters (ISO 3166), such as DE")
        return text.upper(), ""
    return text, ""


def checked_day(text: str) -> str:
    """Give a year, a month or a day as it is kept; raises UserError (slug ``paper-value``) for anything else.

    >>> checked_day("2019-03")
    '2019-03'
    """
    from shutline.gauge.limits import FirstUse

    plain = text.strip()
    try:
        FirstUse.of(plain)
    except UserError as error:
        raise _bad(ReadKind.DATE, repr(text[:40]), "a year, a month or a day: 1968, 1968-03, 1968-03-12") from error
    return plain


def _sum(text: str) -> str:
    plain = _GROUPED.sub("", text).replace("£", "").replace("€", "").replace("$", "").strip()
    try:
        amount = Decimal(plain)
    except InvalidOperation:
        raise _bad(ReadKind.MONEY, repr(text), "a sum such as 266.40") from None
    if not amount.is_finite() or abs(amount) >= 10**9:
        raise _bad(ReadKind.MONEY, repr(text), "a sum such as 266.40")
    return f"{amount:.2f}"


def _currency(unit: str) -> str:
    plain = unit.strip().upper()
    if plain and not _CURRENCY.fullmatch(plain):
        raise _bad(ReadKind.MONEY, f"unit {unit[:20]!r}", "a currency by its three letters (ISO 4217), such as GBP")
    return plain


def _bad(kind: ReadKind, found: str, allowed: str) -> UserError:
    return UserError(Problem("paper-value", kind.value, found, allowed, "Give it so; nothing was changed."))
