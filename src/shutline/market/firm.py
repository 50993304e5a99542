"""What a firm says of its market over what is shipped: entries, premiums of auctions, an index of prices."""

from __future__ import annotations

import json
import math
import re
import tomllib
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field, replace
from datetime import date
from functools import cache
from typing import Any

from shutline.car.errors import Problem, UserError
from shutline.history.tables import rows
from shutline.market.most import Premium, Tier
from shutline.market.moving import Index
from shutline.market.settings import SECTIONS, MarketSettings, market_settings

NAME = "market.toml"
PREMIUM, INDEX = "premium", "index"
_TABLE, _COLUMNS = "entries.csv", ("id", "form", "low", "high", "words", "source")
_HEAD = re.compile(r"\s*\[{1,2}\s*(\w+)\s*\]{1,2}")
_ENTRY = re.compile(r"\s*([A-Za-z_]\w*)\s*=")
_PREMIUM = ("name", "vat", "cap", "counts", "tiers")
_TIER = ("above", "percent", "fixed")
_INDEX = ("day", "level", "source")
_MOST = 100_000_000.0
_MOST_ROWS = 5_000
LONGEST = 100
"""Characters of the name of an auction, or of a source."""

Value = float | int | tuple[float, float, float]


@dataclass(frozen=True, slots=True)
class EntryOf:
    """What an entry may be: ``number``, ``whole`` or ``range``, from `low` to `high`; `words` say what it is."""

    id: str
    form: str
    low: float
    high: float
    words: str


@dataclass(frozen=True, slots=True)
class IndexRow:
    """The level of prices on a day, in any unit, and who says so."""

    day: date
    level: float
    source: str


@dataclass(frozen=True, slots=True)
class Firm:
    """What a firm says: `own` are its entries by their ids, such as ``money.interest``; the rest is as shipped."""

    own: Mapping[str, Value] = field(default_factory=dict)
    premiums: Mapping[str, Premium] = field(default_factory=dict)
    rows: tuple[IndexRow, ...] = ()

    @property
    def settings(self) -> MarketSettings:
        """The shipped settings with the firm's entries in their places."""
        found = market_settings()
        for section in SECTIONS:
            own = {id_.partition(".")[2]: value for id_, value in self.own.items() if id_.startswith(f"{section}.")}
            if own:
                found = replace(found, **{section: replace(getattr(found, section), **own)})
        return found

    @property
    def index(self) -> Index | None:
        """The index of prices; None where there is none."""
        if not self.rows:
            return None
        sources = dict.fromkeys(one.source for one in self.rows)
        return Index(tuple((one.day, one.level) for one in self.rows), "; ".join(sources))


@cache
def entries() -> Mapping[str, EntryOf]:
    """Give what each entry may be; raises ValueError where the table does not fit the settings."""
    found = {}
    for row in rows(_TABLE, _COLUMNS, package="shutline.market"):
        found[row["id"]] = EntryOf(row["id"], row["form"], float(row["low"]), float(row["high"]), row["words"])
    known = {f"{name}.{entry}" for name, kind in SECTIONS.items() for entry in kind.__dataclass_fields__}
    if set(found) != known:
        raise ValueError(f"{_TABLE}: {sorted(set(found) ^ known)} missing or unknown")
    return found


def shipped_value(id_: str) -> Value:
    """Give what is shipped of an entry."""
    section, _, entry = id_.partition(".")
    value: Value = getattr(getattr(market_settings(), section), entry)
    return value


def firm_of(text: str, *, called: str = NAME) -> Firm:
    """Read what a firm says.

    Parameters
    ----------
    text : str
        TOML: sections as in ``data/settings.toml`` with the entries that are the firm's own, ``[[premium]]`` for each
        auction, ``[[index]]`` for each row of its index.
    called : str
        What to call the file.

    Raises
    ------
    UserError
        An entry is not what it may be (slug ``market-settings``), with file and line.
    """
    raw = tomllib.loads(text)
    return _Reading(called, dict(_places(text))).firm(raw)


def firm_text(firm: Firm) -> str:
    """Give what a firm says as TOML, nothing where it says nothing; `firm_of` reads it back."""
    blocks = []
    for section in SECTIONS:
        own = [(id_.partition(".")[2], value) for id_, value in firm.own.items() if id_.startswith(f"{section}.")]
        if own:
            blocks.append("\n".join([f"[{section}]", *(f"{entry} = {_value(value)}" for entry, value in own)]))
    for name, one in firm.premiums.items():
        tiers = ", ".join(
            f"{{ above = {_value(tier.above)}, percent = {_value(tier.percent)}, fixed = {_value(tier.fixed)} }}"
            for tier in one.tiers
        )
        lines = [f"[[{PREMIUM}]]", f"name = {_words(name)}", f"tiers = [{tiers}]"]
        lines.append(f"vat = {_value(one.vat_percent)}")
        lines += [] if math.isinf(one.cap) else [f"cap = {_value(one.cap)}"]
        blocks.append("\n".join([*lines, f"counts = {json.dumps(one.counts)}"]))
    for row in firm.rows:
        told = (f"[[{INDEX}]]", f"day = {row.day.isoformat()}", f"level = {_value(row.level)}")
        blocks.append("\n".join([*told, f"source = {_words(row.source)}"]))
    return "\n\n".join(blocks) + "\n" if blocks else ""


def _words(text: str) -> str:
    # A string of JSON is one of TOML too, as long as nothing in it is written by its number.
    return json.dumps(text, ensure_ascii=False)


def _shown(value: object) -> str:
    try:
        return repr(value)[:60]
    except ValueError:
        return "a number without end"


def _value(value: Value) -> str:
    return f"[{', '.join(map(repr, value))}]" if isinstance(value, tuple) else repr(value)


def _places(text: str) -> Iterator[tuple[tuple[str, int, str], int]]:
    """Give the line of each entry: its section, which of that name (from 0), and the entry, empty for the head."""
    section, count = "", {"": 0}
    for number, line in enumerate(text.splitlines(), start=1):
        if head := _HEAD.match(line):
            section = head[1]
            count[section] = count.get(section, -1) + 1
            yield (section, count[section], ""), number
        elif entry := _ENTRY.match(line):
            yield (section, count[section], entry[1]), number


@dataclass(frozen=True, slots=True)
class _Reading:
    """Reads a file, and knows on which line each entry stands."""

    called: str
    places: Mapping[tuple[str, int, str], int]

    def firm(self, raw: Mapping[str, Any]) -> Firm:
        known = (*SECTIONS, PREMIUM, INDEX)
        for section in raw:
            if section not in known:
                raise self.refuse((section, 0, ""), f"[{section[:40]}]", ", ".join(known))
        own: dict[str, Value] = {}
        for section in SECTIONS:
            own |= self.section(section, raw.get(section, {}))
        premiums: dict[str, Premium] = {}
        for at, one in enumerate(self.tables(raw, PREMIUM)):
            name = self.words(one, (PREMIUM, at, "name"))
            if name in premiums:
                raise self.refuse((PREMIUM, at, "name"), f"{name[:40]!r} a second time", "each auction once")
            premiums[name] = self.premium(one, at)
        found = [self.row(one, at) for at, one in enumerate(self.tables(raw, INDEX))]
        days = [one.day for one in found]
        for at, day in enumerate(days):
            if day in days[:at]:
                raise self.refuse((INDEX, at, "day"), f"{day} a second time", "each day once")
        return Firm(own, premiums, tuple(sorted(found, key=lambda one: one.day)))

    def section(self, section: str, raw: Any) -> dict[str, Value]:
        if not isinstance(raw, dict):
            raise self.refuse((section, 0, ""), f"{section} is no table", f"[{section}]")
        found: dict[str, Value] = {}
        for entry, value in raw.items():
            known = entries().get(f"{section}.{entry}")
            if known is None:
                allowed = ", ".join(SECTIONS[section].__dataclass_fields__)
                raise self.refuse((section, 0, entry), f"an entry {entry[:40]!r}", allowed)
            found[known.id] = self.value(known, value, (section, 0, entry))
        return found

    def value(self, known: EntryOf, value: Any, at: tuple[str, int, str]) -> Value:
        ends = f"from {known.low:,.10g} to {known.high:,.10g}"
        if known.form == "whole":
            if type(value) is not int or not known.low <= value <= known.high:
                raise self.refuse(at, _shown(value), f"a whole number {ends}")
            return value
        if known.form == "number":
            return self.number(value, at, low=known.low, high=known.high)
        if not isinstance(value, list) or len(value) != 3:
            raise self.refuse(at, _shown(value), f"[least, likely, most], {ends}")
        low, likely, high = (self.number(one, at, low=known.low, high=known.high) for one in value)
        if not low <= likely <= high:
            raise self.refuse(at, _shown(value), "[least, likely, most], none less than the one before")
        return low, likely, high

    def premium(self, raw: Mapping[str, Any], at: int) -> Premium:
        self.allow(raw, _PREMIUM, (PREMIUM, at))
        place = (PREMIUM, at, "tiers")
        tiers = raw.get("tiers", [])
        if not isinstance(tiers, list) or not 0 < len(tiers) <= 50 or not all(isinstance(one, dict) for one in tiers):
            raise self.refuse(place, _shown(tiers), "tiers = [{ above = 0, percent = 10, fixed = 0 }], 1 to 50")
        found = []
        for one in tiers:
            if unknown := sorted(set(one) - set(_TIER)):
                raise self.refuse(place, f"an entry {unknown[0][:40]!r}", ", ".join(_TIER))
            above, fixed = (self.number(one.get(name, 0), place, low=0, high=_MOST) for name in ("above", "fixed"))
            found.append(Tier(above, self.number(one.get("percent", 0), place, low=0, high=100), fixed))
        starts = [one.above for one in found]
        if starts != sorted(set(starts)):
            raise self.refuse(place, f"tiers from {starts}"[:60], "rising starts, each once")
        counts = raw.get("counts", False)
        if type(counts) is not bool:
            raise self.refuse((PREMIUM, at, "counts"), _shown(counts), "true or false")
        vat = self.number(raw.get("vat", 0), (PREMIUM, at, "vat"), low=0, high=100)
        cap = self.number(raw["cap"], (PREMIUM, at, "cap"), low=0, high=_MOST) if "cap" in raw else math.inf
        return Premium(tuple(found), vat, cap, counts)

    def row(self, raw: Mapping[str, Any], at: int) -> IndexRow:
        self.allow(raw, _INDEX, (INDEX, at))
        day = raw.get("day")
        if type(day) is not date:
            raise self.refuse((INDEX, at, "day"), _shown(day), "a day such as 2026-11-26")
        level = self.number(raw.get("level"), (INDEX, at, "level"), low=1e-6, high=1e9)
        return IndexRow(day, level, self.words(raw, (INDEX, at, "source")))

    def tables(self, raw: Mapping[str, Any], name: str) -> list[dict[str, Any]]:
        found = raw.get(name, [])
        if not isinstance(found, list) or len(found) > _MOST_ROWS or not all(isinstance(one, dict) for one in found):
            raise self.refuse((name, 0, ""), f"{name} is no list of up to {_MOST_ROWS} tables", f"[[{name}]] for each")
        return found

    def allow(self, raw: Mapping[str, Any], known: tuple[str, ...], at: tuple[str, int]) -> None:
        for entry in raw:
            if entry not in known:
                raise self.refuse((*at, entry), f"an entry {entry[:40]!r}", ", ".join(known))

    def words(self, raw: Mapping[str, Any], at: tuple[str, int, str]) -> str:
        value = raw.get(at[2])
        if not isinstance(value, str) or not 0 < len(value.strip()) <= LONGEST or not value.isprintable():
            raise self.refuse(at, _shown(value), f"one line of words, up to {LONGEST} characters")
        return " ".join(value.split())

    def number(self, value: Any, at: tuple[str, int, str], *, low: float, high: float) -> float:
        # No number from TOML: true is none, and neither is nan.
        if type(value) not in {int, float} or not low <= value <= high:
            raise self.refuse(at, _shown(value), f"a number from {low:,.10g} to {high:,.10g}")
        return float(value)

    def refuse(self, at: tuple[str, int, str], found: str, allowed: str) -> UserError:
        section, count, entry = at
        line = self.places.get(at) or self.places.get((section, count, ""))
        where = f"{self.called}, line {line}" if line else self.called
        name = f"{section}.{entry}" if entry else section
        problem = Problem("market-settings", f"{where}, {name[:80]}", found, allowed, "Mend it.")
        return UserError(problem)
