"""Rows of the tables of preparation: ours with the user's laid over them, each entry knowing its file and line."""

from __future__ import annotations

import math
import re
import tomllib
from collections.abc import Collection, Mapping
from dataclasses import dataclass
from importlib.resources import files
from typing import Any

from shutline.car.errors import Problem, UserError
from shutline.prep.model import Range

_BLOCK = re.compile(r"\s*\[\[\s*(\w+)\s*\]\]")
_TABLE = re.compile(r"\s*\[\s*(\w+)\s*\]")
_ENTRY = re.compile(r"\s*([A-Za-z_]\w*)\s*=")
_ID = re.compile(r"[a-z0-9]+(_[a-z0-9]+)*")

MOST = 1_000_000.0
"""No hours, pounds or factor are larger."""


@dataclass(frozen=True, slots=True)
class Row:
    """Entries of one row, or of a part of one, and where each stands; `where` is the row itself."""

    values: Mapping[str, Any]
    where: str
    lines: Mapping[str, str]

    def at(self, entry: str) -> str:
        """Give where an entry stands."""
        return self.lines.get(entry, self.where)

    def refuse(self, entry: str, found: str, allowed: str) -> UserError:
        """Make the refusal of an entry."""
        return refused(self.at(entry), found, allowed)

    def allow(self, known: Collection[str]) -> None:
        """Raise UserError where an entry is none of those that are known."""
        for entry in self.values:
            if entry not in known:
                raise self.refuse(entry, f"an entry '{entry}'", ", ".join(known))

    def text(self, entry: str, *, must: bool = True) -> str:
        """Give a text with single spaces; an empty one where it may be left out."""
        value = self.values.get(entry, "")
        if not isinstance(value, str) or (must and not value.strip()):
            raise self.refuse(entry, f"{entry} = {value!r}"[:80], f"{entry} as a text")
        return " ".join(value.split())

    def texts(self, entry: str) -> tuple[str, ...]:
        """Give a list of texts, none named twice; an empty one where it was left out."""
        value = self.values.get(entry, [])
        if not isinstance(value, list) or not all(isinstance(item, str) for item in value):
            raise self.refuse(entry, f"{entry} = {value!r}"[:80], f'{entry} = ["…", "…"]')
        if len(set(value)) != len(value):
            raise self.refuse(entry, f"{entry} names something twice", "each once")
        return tuple(value)

    def flag(self, entry: str, *, otherwise: bool | None = None) -> bool:
        """Give true or false."""
        value = self.values.get(entry, otherwise)
        if not isinstance(value, bool):
            raise self.refuse(entry, f"{entry} = {value!r}"[:80], f"{entry} = true or false")
        return value

    def number(self, entry: str, *, most: float = MOST) -> float:
        """Give a number from nought; nought where it was left out."""
        value = self.values.get(entry, 0.0)
        if not _is_number(value) or not 0 <= value <= most:
            raise self.refuse(entry, f"{entry} = {value!r}"[:80], f"a number from 0 to {most:g}")
        return float(value)

    def span(self, entry: str, *, least: float = 0.0, must: bool = False) -> Range:
        """Give a low, a likely and a high value; all of them `least` where it was left out."""
        value = self.values.get(entry, None if must else [least] * 3)
        if (
            not isinstance(value, list)
            or len(value) != 3
            or not all(_is_number(one) for one in value)
            or not least <= value[0] <= value[1] <= value[2] <= MOST
        ):
            allowed = f"{entry} = [low, likely, high], from {least:g}, none less than the one before"
            raise self.refuse(entry, f"{entry} = {value!r}"[:80], allowed)
        return Range(*(float(one) for one in value))

    def parts_of(self, entry: str) -> tuple[Row, ...]:
        """Give the tables of a list of tables."""
        value = self.values.get(entry, [])
        if not isinstance(value, list) or not all(isinstance(one, dict) for one in value):
            raise self.refuse(entry, f"{entry} = {value!r}"[:80], f"{entry} = [{{ … }}, {{ … }}]")
        return tuple(Row(one, self.at(entry), {}) for one in value)

    def part(self, entry: str) -> Row | None:
        """Give the table of an entry, None where it was left out."""
        value = self.values.get(entry)
        if value is None:
            return None
        if not isinstance(value, dict):
            raise self.refuse(entry, f"{entry} = {value!r}"[:80], f"{entry} = {{ … }}")
        return Row(value, self.at(entry), {})


@dataclass(frozen=True, slots=True)
class Laid:
    """A file as it counts: the rows by their id, and the other tables of its head, such as ``[vat]``."""

    rows: Mapping[str, Row]
    head: Mapping[str, Row]


def refused(where: str, found: str, allowed: str) -> UserError:
    """Make the refusal of a row: where it stands, what was found, what is allowed."""
    return UserError(Problem("prep-table-refused", where, found, allowed, "Mend the line that is named."))


def shipped(name: str) -> str:
    """Give a file of this package's data as text."""
    return files("shutline.prep").joinpath("data", name).read_text(encoding="utf-8")


def laid(name: str, *, heading: str, own: str = "", called: str = "", head: Collection[str] = ()) -> Laid:
    """Lay rows of the user's over ours.

    Parameters
    ----------
    name : str
        The file of ours.
    heading : str
        Each row begins with it: ``[[job]]``.
    own : str
        The user's file of the same form. A row with the id of ours changes the entries it gives and leaves the rest;
        ``left_out = ["…"]`` at its top names rows of ours that do not count.
    called : str
        What to call the user's file in messages.
    head : collection of str
        Other tables that may stand there; each entry of the user's is in place of ours.

    Raises
    ------
    UserError
        It is no TOML, or something is unknown, missing or repeated (slug ``prep-table-refused``).
    """
    ours, top, source = _read(shipped(name), name, heading, head)
    theirs, changed, own_source = _read(own, called or name, heading, head)
    gone = changed.pop("", Row({}, called, {}))
    for id_ in gone.texts("left_out"):
        if id_ not in ours:
            raise gone.refuse("left_out", f"'{id_}', which no row of ours has", "ids of ours")
    rows = {id_: row for id_, row in ours.items() if id_ not in gone.texts("left_out")}
    top.pop("", None)
    for id_, row in theirs.items():
        before = rows.get(id_, Row({"source": source}, row.where, {}))
        given = {"source": own_source, **row.values} if own_source else row.values
        rows[id_] = Row({**before.values, **given}, row.where, {**before.lines, **row.lines})
    for name_, row in changed.items():
        old = top.get(name_, Row({}, row.where, {}))
        top[name_] = Row({**old.values, **row.values}, row.where, {**old.lines, **row.lines})
    return Laid(rows, top)


def _read(text: str, file: str, heading: str, head: Collection[str]) -> tuple[dict[str, Row], dict[str, Row], str]:
    try:
        raw = tomllib.loads(text)
    except tomllib.TOMLDecodeError as error:
        told = re.search(r"line (\d+)", str(error))
        line = told[1] if told else text.count("\n") + 1
        raise refused(f"{file}, line {line}", "it cannot be read as TOML", "tables and entries of TOML") from None
    blocks, tables = _lines(text, file)
    found = raw.pop(heading, [])
    if not isinstance(found, list) or len(found) != len([one for one in blocks if one[0] == heading]):
        raise refused(file, f"'{heading}' in another form", f"a heading [[{heading}]] on a line of its own for each")
    top = Row({name: value for name, value in raw.items() if not isinstance(value, dict)}, file, tables.get("", {}))
    for name in raw:
        if name not in (*head, "source", "left_out") or isinstance(raw[name], dict) != (name in head):
            where = tables.get("", {}).get(name, tables.get(name, {}).get("", file))
            raise refused(where, f"'{name}'", ", ".join((f"[[{heading}]]", *(f"[{one}]" for one in head), "source")))
    source = top.text("source", must=False)
    rows: dict[str, Row] = {}
    for values, (_, lines) in zip(found, (one for one in blocks if one[0] == heading), strict=True):
        row = Row(values, lines[""], lines)
        id_ = row.text("id")
        if not _ID.fullmatch(id_) or id_ in rows:
            raise row.refuse(
                "id", f"id '{id_}'", "small letters, digits and underscores, an id of its own for each row"
            )
        rows[id_] = Row({"source": source, **values} if source else values, row.where, lines)
    others = {name: Row(raw[name], tables[name][""], tables[name]) for name in head if name in raw}
    return rows, others | {"": top}, source


def _lines(text: str, file: str) -> tuple[list[tuple[str, dict[str, str]]], dict[str, dict[str, str]]]:
    """Give where each block and table begins (the empty entry) and where each of its entries stands."""
    blocks: list[tuple[str, dict[str, str]]] = []
    tables: dict[str, dict[str, str]] = {"": {}}
    present = tables[""]
    for number, line in enumerate(text.splitlines(), start=1):
        where = f"{file}, line {number}"
        if block := _BLOCK.match(line):
            present = {"": where}
            blocks.append((block[1], present))
        elif table := _TABLE.match(line):
            present = tables.setdefault(table[1], {"": where})
        elif entry := _ENTRY.match(line):
            present.setdefault(entry[1], where)
    return blocks, tables


def _is_number(value: Any) -> bool:
    return isinstance(value, int | float) and not isinstance(value, bool) and math.isfinite(value)
