"""Sentences of the wording: read from TOML, and held to telling all that they are given."""

from __future__ import annotations

import re
import tomllib
from collections.abc import Mapping
from typing import Any

from shutline.words.checks import PLACE, VERBS, check_words, hold, refused

_OPTIONAL = re.compile(r"<([^<>]*)>")


def read_templates(text: str, *, source: str, over: Mapping[str, tuple[str, ...]] | None = None) -> dict[str, Any]:
    """Read sentences of the form of ``data/templates.toml``.

    Parameters
    ----------
    over : mapping, optional
        The entries they are laid over: no other may be named, each variant may use the places of ours and must use
        those that carry what is told.

    Raises
    ------
    BadInputError
        With file and line.
    """
    try:
        raw = tomllib.loads(text)
    except tomllib.TOMLDecodeError as error:
        # The error has no line of its own before Python 3.14; its words have.
        line = re.search(r"at line (\d+)", str(error))
        where = f"{source}, line {line[1]}" if line else source
        raise refused(where, "it cannot be read as TOML", 'tables of entries such as good = ["…"]') from error
    lines = lines_of(text)
    found: dict[str, tuple[str, ...]] = {}
    for table, entries in raw.items():
        where = f"{source}, line {lines.get(table, 1)}"
        if not isinstance(entries, dict):
            raise refused(where, f"{table!r} outside a table", "tables such as [patterns]")
        for name, variants in entries.items():
            key = f"{table}.{name}"
            where = f"{source}, line {lines.get(key, 1)}"
            hold(where, over is None or key in over, f"an entry {key!r} that there is not", _near(key, over or {}))
            good = isinstance(variants, list) and variants and all(isinstance(one, str) and one for one in variants)
            hold(where, bool(good), f"{key} is no list of sentences", 'a list such as ["…", "…"]')
            for variant in variants:
                _template(where, key, variant, over)
            found[key] = tuple(variants)
    return found


def required_places(key: str) -> frozenset[str]:
    """Give the places that every variant of an entry must have, so that none can leave out what is told."""
    table, _, name = key.partition(".")
    if table == "patterns" and not name.startswith(("join", "pair")):
        return frozenset({"subject", *name.split("_")})
    doing = table in {"doing", "done"} and name not in {"rest", "none"}
    return frozenset({"subject"}) if doing else frozenset()


def _template(where: str, key: str, variant: str, over: Mapping[str, tuple[str, ...]] | None) -> None:
    allowed = None
    if over is not None:
        allowed = {place for one in over[key] for place in PLACE.findall(one)} | {"it", "its"}
    check_words(where, variant, allowed, verbs=VERBS)
    outside = set(PLACE.findall(_OPTIONAL.sub("", variant)))
    lost = sorted(required_places(key) - outside)
    hold(where, not lost, f"{key} without {{{'}, {'.join(lost)}}}", "a sentence that tells all it is given")
    hold(where, variant.count("<") == variant.count(">"), "< without >, or > without <", "them in pairs")


def lines_of(text: str) -> dict[str, int]:
    """Give the line of each table and entry of a TOML text."""
    found: dict[str, int] = {}
    table = ""
    for number, line in enumerate(text.splitlines(), start=1):
        if (heading := re.match(r"\s*\[\s*([A-Za-z_]+)\s*\]", line)) is not None:
            table = heading[1]
            found.setdefault(table, number)
        elif (entry := re.match(r"\s*([A-Za-z_]+)\s*=", line)) is not None:
            found.setdefault(f"{table}.{entry[1]}" if table else entry[1], number)
    return found


def _near(key: str, over: Mapping[str, object]) -> str:
    from difflib import get_close_matches

    near = get_close_matches(key, over, n=3, cutoff=0.4) or [name for name in over if name.split(".")[0] in key][:3]
    return f"one of ours, as {', '.join(near or list(over)[:3])}"
