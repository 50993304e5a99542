"""Mileages and sums of money as papers have them: points and commas of several countries, units, old pence."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass
from decimal import ROUND_HALF_UP, Decimal
from functools import cache

from shutline.car.papers import Value
from shutline.history.papers.folded import folded, noisy
from shutline.history.papers.signs import FIGURE, enough, figures
from shutline.history.papers.tables import Currency, currencies, units, weights

_F = FIGURE
_WHOLE = rf"{_F}{{1,3}}(?:[.,'\u2019 ]{_F}{{3}})+|(?:{_F}{{0,2}}\d{_F}{{0,5}})"
_TENTHS = r"(?:[.,]\d)?"
_THREES = rf"\d{_F}{{0,2}}(?:[ ,.'\u2019]{_F}{{3}})"
_AMOUNT = rf"{_THREES}*[.,]{_F}{{2}}|\d{_F}{{0,2}}(?:[,.'\u2019]{_F}{{3}})+|\d{_F}{{0,6}}(?:[.,]{_F}{{2}}|[.,]?-)?"
_NO_MONEY = r"(?![\w%]|[.,/]\d|[ \t]?(?:%|mm|cc|kg|l\b|V\b|bar))"
_DECIMALS = re.compile(rf"(?<![\w£€$.,/-])\d{_F}{{0,2}}(?:[ ,.'\u2019]?{_F}{{3}})*[.,]{_F}{{2}}{_NO_MONEY}")
_BARE = re.compile(rf"(?<![\d£€$.,/'-])(?P<n>{_WHOLE}){_TENTHS}(?![\w%:/]|[.,-]\d)")
# No amount is the beginning of a longer one, nor of pounds and shillings.
_WHOLLY = r"(?![.,\-]?[0-9OIl|]|[ \t]?[sd](?![a-z]))"
_POUNDS = rf"(?P<p>\d{{1,3}}(?:,{_F}{{3}})+|\d{_F}{{0,5}})"
_OLD, _PENCE = rf"(?P<s>{_F}{{1,2}})", rf"(?P<d>{_F}{{1,2}})"
_SHILLINGS = (
    re.compile(rf"£[ \t]?{_POUNDS}[ \t]*(?P<g>[.:/\-]|[ \t])[ \t]*{_OLD}[ \t]*(?P=g)[ \t]*{_PENCE}[ \t]*d?(?!\w)"),
    re.compile(rf"(?<!\d)£?[ \t]?{_POUNDS}(?:[ \t]|l\.?)[ \t]*{_OLD}[ \t]?s\.?[ \t]?{_PENCE}[ \t]?d\.?(?!\w)"),
)


@dataclass(frozen=True, slots=True)
class RawMileage:
    """A mileage as it is written; `unit` ``mi``, ``km`` or empty where none stands beside it."""

    first: int
    end: int
    miles: int
    unit: str
    misread: int
    country: str


@dataclass(frozen=True, slots=True)
class RawMoney:
    """A sum as it is written: `ways` are the hundredths it may be, with their chances; `sign` is empty for none."""

    first: int
    end: int
    ways: tuple[tuple[int, float], ...]
    sign: str
    codes: tuple[Currency, ...]
    misread: int
    shillings: bool = False


def raw_mileages(text: str) -> list[RawMileage]:
    """Find figures with a unit of way beside them, but for distances that are no reading."""
    found = []
    for match in _with_unit().finditer(text):
        number, misread = figures(match["n"])
        word = match["u"]
        unit, country = _unit_of(word)
        rules = weights()["mileage"]
        before = re.findall(r"[^\W\d_]+", text[max(0, match.start() - 24) : match.start()].lower())
        after = re.match(r"[ \t/-]*([^\W\d_]+)", text[match.end() :].lower())
        if not enough(match["n"]) or not number or (word in {"m", "M"} and len(number) < 4):
            continue
        if (before and before[-1] in rules["not_before"]) or (after and after[1] in rules["not_after"]):
            continue
        if rules["least"] <= int(number) <= rules["most"]:
            found.append(RawMileage(match.start(), match.end(), int(number), unit, misread, country))
    return found


def bare_mileages(text: str) -> list[RawMileage]:
    """Find figures that may be a mileage beside a label that says so."""
    found = []
    rules = weights()["mileage"]
    for match in _BARE.finditer(text):
        number, misread = figures(match["n"])
        if number and enough(match["n"]) and rules["least"] <= int(number) <= rules["most"]:
            found.append(RawMileage(match.start(), match.end(), int(number), "", misread, ""))
    return found


def mileage_ways(raw: RawMileage, *, unit: str, country: Mapping[str, float]) -> tuple[tuple[Value, ...], str]:
    """Give the ways to take a mileage, with their chances, and why; `unit` is what a label says, empty for nothing."""
    why = []
    if raw.unit or unit:
        values = [Value(str(raw.miles), raw.unit or unit, 1.0)]
        why.append(f"{values[0].unit} stands beside it" if raw.unit else f"its label says {values[0].unit}")
    else:
        rules = weights()["mileage"]
        miles = sum(country.get(code, 0.0) * rules[code] for code in ("GB", "IE", "DE", "FR", "US"))
        ways = [("mi", miles), ("km", 1 - miles)]
        values = [
            Value(str(raw.miles), one, round(chance, 4))
            for one, chance in sorted(ways, key=lambda way: (-way[1], way[0]))
        ]
        why.append(f"no unit stands beside it: {values[0].unit} by the paper's country")
    if raw.misread:
        why.append(f"{raw.misread} of its signs read as letters and taken as figures")
    return tuple(values), "; ".join(why)


def raw_money(text: str) -> list[RawMoney]:
    """Find sums with a sign or word of money beside them, and pounds, shillings and pence."""
    found: list[RawMoney] = []
    for pattern in _SHILLINGS:
        for match in pattern.finditer(text):
            pounds, shillings, pence = (int(figures(match[name])[0]) for name in "psd")
            if shillings < 20 and pence < 12 and not _over(match, found):
                hundredths = (Decimal(pounds) + Decimal(shillings) / 20 + Decimal(pence) / 240) * 100
                whole = int(hundredths.quantize(Decimal(1), rounding=ROUND_HALF_UP))
                codes = tuple(row for row in currencies() if row.sign == "£")
                found.append(RawMoney(match.start(), match.end(), ((whole, 1.0),), "£", codes, 0, shillings=True))
    for pattern in _with_sign():
        for match in pattern.finditer(text):
            if _over(match, found) or not enough(match["n"]):
                continue
            sign = match["s"].lower()
            codes = tuple(row for row in currencies() if row.sign == sign)
            found.append(RawMoney(match.start(), match.end(), _ways(match["n"]), sign, codes, figures(match["n"])[1]))
    return sorted(found, key=lambda one: one.first)


def bare_money(text: str) -> list[RawMoney]:
    """Find amounts with two decimals and no sign: money beside a label, or one of a column that adds up."""
    return [
        RawMoney(match.start(), match.end(), _ways(match[0]), "", (), figures(match[0])[1])
        for match in _DECIMALS.finditer(text)
        if enough(match[0])
    ]


def money_ways(raw: RawMoney, *, country: Mapping[str, float]) -> tuple[tuple[Value, ...], str]:
    """Give the ways to take a sum, with their chances, and why."""
    codes = _codes(raw, country)
    values = [
        Value(f"{hundredths // 100}.{hundredths % 100:02d}", code, round(chance * share, 4))
        for hundredths, chance in raw.ways
        for code, share in codes
    ]
    values.sort(key=lambda value: (-value.chance, value.text, value.unit))
    why = []
    if raw.shillings:
        why.append("pounds, shillings and pence")
    elif raw.sign:
        why.append(f"{raw.sign} stands beside it")
    else:
        why.append(f"no sign of money stands beside it: {values[0].unit} by the paper's country")
    if len(raw.ways) > 1:
        why.append("three figures after its mark are taken for thousands")
    if raw.misread:
        why.append(f"{raw.misread} of its signs read as letters and taken as figures")
    return tuple(values), "; ".join(why)


def _codes(raw: RawMoney, country: Mapping[str, float]) -> list[tuple[str, float]]:
    if raw.codes:
        weighed: dict[str, float] = {}
        for row in raw.codes:
            weighed[row.code] = weighed.get(row.code, 0.0) + (country.get(row.country, 0.001) if row.country else 1.0)
    else:
        weighed = {"GBP": country.get("GB", 0.0), "EUR": 0.0, "USD": country.get("US", 0.0)}
        weighed["EUR"] = sum(country.get(code, 0.0) for code in ("IE", "DE", "FR"))
    total = sum(weighed.values()) or 1.0
    told = [(code, weight / total) for code, weight in sorted(weighed.items(), key=lambda one: (-one[1], one[0]))]
    return [(code, share) for code, share in told if share >= 0.01] or told[:1]


def _ways(text: str) -> tuple[tuple[int, float], ...]:
    """Give the hundredths that an amount may be: the last mark parts decimals where two figures follow it."""
    plain = text.rstrip("-").rstrip(".,") if text.endswith("-") else text
    marks = [at for at, sign in enumerate(plain) if sign in ".,"]
    if marks and len(plain) - marks[-1] - 1 == 2:
        pounds, rest = figures(plain[: marks[-1]])[0], figures(plain[marks[-1] :])[0]
        return ((int(pounds or 0) * 100 + int(rest), 1.0),)
    whole = int(figures(plain)[0] or 0) * 100
    if len(marks) == 1 and len(plain) - marks[0] - 1 == 3:
        cut = int(figures(plain[: marks[0]])[0] or 0) * 100 + round(int(figures(plain[marks[0] :])[0]) / 10)
        return ((whole, 0.95), (cut, 0.05))
    return ((whole, 1.0),)


def _over(match: re.Match[str], found: list[RawMoney]) -> bool:
    return any(match.start() < one.end and one.first < match.end() for one in found)


def _unit_of(word: str) -> tuple[str, str]:
    plain = folded(word).text
    return next((unit, country) for text, unit, country in units() if folded(text).text == plain)


@cache
def _with_unit() -> re.Pattern[str]:
    words = "|".join(noisy(word) for word, _, _ in units())
    return re.compile(rf"(?<![\d£€$.,/'-])(?P<n>{_WHOLE}){_TENTHS}[ \t]?(?i:(?P<u>{words}))(?!\w)")


@cache
def _with_sign() -> tuple[re.Pattern[str], ...]:
    signs = dict.fromkeys(row.sign for row in currencies())
    before = "|".join(re.escape(sign) for sign in signs if not sign.isalpha() or len(sign) == 3 or sign == "dm")
    after = "|".join(rf"{re.escape(sign)}(?!\w)" for sign in signs)
    return (
        re.compile(rf"(?i:(?<![a-z])(?P<s>{before}))[ \t]?(?P<n>{_AMOUNT}){_WHOLLY}"),
        re.compile(rf"(?<![\w£€$.,/-])(?P<n>{_AMOUNT})[ \t]?(?i:(?P<s>{after}))"),
    )
