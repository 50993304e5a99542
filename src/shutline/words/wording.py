"""The wording of descriptions: nouns, what is said of each condition, finer words and sentences, with a house layer."""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from functools import cache
from typing import Any

from shutline.words.checks import refused, shipped_text
from shutline.words.rows import Finer, Noun, Saying, read_finer, read_nouns, read_sayings
from shutline.words.sentences import read_templates

FILES = ("templates.toml", "conditions.csv", "nouns.csv", "finer.csv")
"""The files of a layer, each called as ours are."""

VOICES = ("plain", "we")
"""How a description may speak: of the car alone, or as the house that offers it."""


@dataclass(frozen=True, slots=True)
class Wording:
    """All of it: nouns by part, sayings and finer words by their id, sentences by table and name."""

    nouns: Mapping[str, Noun]
    sayings: Mapping[str, Saying]
    finer: Mapping[str, Finer]
    templates: Mapping[str, tuple[str, ...]]

    def saying(self, condition: str, part: str) -> Saying:
        """Give what is said of a condition of a part: a row that names the part before one for any."""
        rows = [row for row in self.sayings.values() if row.condition == condition]
        named = [row for row in rows if part in row.parts]
        # The last: a row of the house comes after ours.
        return (named or [row for row in rows if not row.parts])[-1]


@cache
def shipped_wording() -> Wording:
    """Read the shipped wording once."""
    return Wording(
        read_nouns(shipped_text("nouns.csv"), source="nouns.csv", whole=True),
        read_sayings(shipped_text("conditions.csv"), source="conditions.csv"),
        read_finer(shipped_text("finer.csv"), source="finer.csv"),
        read_templates(shipped_text("templates.toml"), source="templates.toml"),
    )


@cache
def voiced(voice: str) -> Wording:
    """Give the shipped wording in one of `VOICES`; raises KeyError for another."""
    base = shipped_wording()
    if voice == VOICES[0]:
        return base
    if voice not in VOICES:
        raise KeyError(voice)
    name = f"voice_{voice}.toml"
    return replace(
        base, templates={**base.templates, **read_templates(shipped_text(name), source=name, over=base.templates)}
    )


def with_house_wording(texts: Mapping[str, str], *, voice: str = VOICES[0]) -> Wording:
    """Lay a house's files over the shipped ones: a row or an entry of ours gives way to one of the same id.

    Parameters
    ----------
    voice : str
        One of `VOICES`.
    texts : mapping
        From the name of a file, one of `FILES`, with or without a way before it, to its text.

    Raises
    ------
    BadInputError
        A file has another name, or a row is wrong, with file and line (slug ``house-words``).
    """
    base = voiced(voice)
    readers: dict[str, Callable[[str, str], dict[str, Any]]] = {
        "nouns.csv": lambda text, name: {"nouns": {**base.nouns, **read_nouns(text, source=name)}},
        "conditions.csv": lambda text, name: {"sayings": {**base.sayings, **read_sayings(text, source=name)}},
        "finer.csv": lambda text, name: {"finer": {**base.finer, **read_finer(text, source=name)}},
        "templates.toml": lambda text, name: {
            "templates": {**base.templates, **read_templates(text, source=name, over=base.templates)}
        },
    }
    found = base
    for name, text in texts.items():
        file = re.split(r"[\\/]", name)[-1]
        if file not in readers:
            raise refused(name, "a file of another name", ", ".join(FILES))
        found = replace(found, **readers[file](text, name))
    return found
