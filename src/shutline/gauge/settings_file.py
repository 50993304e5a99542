"""Settings of a gauge, read out of a TOML file that comes with it into records, and checked."""

from __future__ import annotations

import tomllib
from collections.abc import Mapping
from dataclasses import fields
from importlib.resources import files
from typing import Any


def sections(package: str, name: str, kinds: Mapping[str, type[Any]]) -> dict[str, Any]:
    """Read one record for each section of a file.

    Parameters
    ----------
    package : str
        The package whose folder `data` holds the file.
    name : str
        Its name.
    kinds : mapping of str to type
        The dataclass of each section; lists become tuples.

    Raises
    ------
    ValueError
        A section or an entry is missing or unknown; the message names it.
    """
    raw = tomllib.loads(files(package).joinpath("data", name).read_text(encoding="utf-8"))
    _same(name, set(raw), set(kinds))
    made = {}
    for section, kind in kinds.items():
        _same(f"{name}, {section}", set(raw[section]), {field.name for field in fields(kind)})
        made[section] = kind(**{entry: frozen(value) for entry, value in raw[section].items()})
    return made


def frozen(value: Any) -> Any:
    """Give a value of TOML with its lists as tuples."""
    return tuple(frozen(item) for item in value) if isinstance(value, list) else value


def _same(where: str, found: set[str], known: set[str]) -> None:
    if found != known:
        raise ValueError(f"{where}: {sorted(found ^ known)} missing or unknown; allowed: {sorted(known)}")


def words_of(package: str, name: str = "words.toml") -> dict[str, str]:
    """Give the sentences of a package's file, by their ids; raises ValueError for an entry that is not words."""
    raw = tomllib.loads(files(package).joinpath("data", name).read_text(encoding="utf-8"))
    odd = sorted(key for key, value in raw.items() if not isinstance(value, str) or not value.strip())
    if odd:
        raise ValueError(f"{name}: {odd} are no words; each entry is a sentence")
    return raw
