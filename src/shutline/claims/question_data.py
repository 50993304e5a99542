"""How strangers ask, from the data beside this file."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from tomllib import loads

from shutline.claims.written_data import data


@dataclass(frozen=True, slots=True)
class QuestionWords:
    """The tables of `questions.toml`, its expressions compiled."""

    typed: Mapping[str, str]
    its: re.Pattern[str]
    before: re.Pattern[str]
    after: re.Pattern[str]
    aside: re.Pattern[str]
    several: re.Pattern[str]
    negative: frozenset[str]
    sale: re.Pattern[str]
    placed: tuple[str, ...]
    open: re.Pattern[str]
    faults: re.Pattern[str]
    lawful: re.Pattern[str]
    mended: re.Pattern[str]
    facts: tuple[tuple[str, re.Pattern[str]], ...]
    drive: Mapping[str, tuple[str, ...]]
    spelling: tuple[str, ...]
    shortest: int
    long: int


@cache
def question_words() -> QuestionWords:
    """Read them once."""
    raw = loads(data("questions.toml"))
    return QuestionWords(
        typed=raw["typed"],
        its=re.compile(rf"\bits(?= (?:{'|'.join(raw['its']['before'])})\b)"),
        before=re.compile(rf"^(?:(?:{'|'.join(raw['around']['before'])})[\s,]+)+", re.IGNORECASE),
        after=re.compile(rf"(?:[\s,]+(?:{'|'.join(raw['around']['after'])}))+\s*$", re.IGNORECASE),
        aside=re.compile(rf"[,.;!?]?\s+(?:and |but )?(?:{'|'.join(re.escape(one) for one in raw['aside']['from'])})"),
        several=re.compile(
            r"(?:[?.;!,]+\s*(?:and |also |but |oh )*|\s+(?:and|also|plus|&)\s+(?:also )?)"
            rf"(?=(?:{'|'.join(raw['several']['openings'])})\b)",
            re.IGNORECASE,
        ),
        negative=frozenset(raw["negative"]["openings"]),
        sale=re.compile("|".join(raw["sale"]["forms"])),
        placed=tuple(raw["placed"]["openings"]),
        open=re.compile("|".join(raw["open"]["forms"])),
        faults=re.compile("|".join(raw["faults"]["forms"])),
        mended=re.compile("|".join(raw["mended"]["forms"])),
        lawful=re.compile("|".join(raw["lawful"]["forms"])),
        facts=tuple((row["name"], re.compile("|".join(row["forms"]))) for row in raw["fact"]),
        drive={value: tuple(words) for value, words in raw["named"]["drive"].items()},
        spelling=tuple(raw["spelling"]["words"]),
        shortest=raw["spelling"]["shortest"],
        long=raw["spelling"]["long"],
    )
