"""How strangers ask, from the data beside this file."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from tomllib import loads

from shutline.claims.written_data import any_of, data


@dataclass(frozen=True, slots=True)
class Worded:
    """A question that only certain words of the file answer: that it does not smoke is no answer to 'does it burn oil'.

    `words` are those that do, as pieces of words, and `conditions` what does whatever its words; where it is `apart`,
    it is about no part of the car that is known of.
    """

    form: re.Pattern[str]
    words: tuple[str, ...]
    conditions: frozenset[str] = frozenset()
    apart: bool = False


@dataclass(frozen=True, slots=True)
class Leaning:
    """How questions lean on one another, and how lists in them are made: the table `leaning`."""

    opens: re.Pattern[str]
    lead: re.Pattern[str]
    too: re.Pattern[str]
    any: re.Pattern[str]
    one: re.Pattern[str]
    choice: re.Pattern[str]
    on: str
    pronoun: re.Pattern[str]
    alone: re.Pattern[str]
    end: re.Pattern[str]
    opposites: tuple[tuple[str, str], ...]
    place: re.Pattern[str]
    join: re.Pattern[str]
    only_joins: re.Pattern[str]
    no_list: re.Pattern[str]
    things: re.Pattern[str]
    doings: re.Pattern[str]
    clauses: re.Pattern[str]
    verbs: tuple[tuple[str, str], ...]


@dataclass(frozen=True, slots=True)
class QuestionWords:
    """The tables of `questions.toml`, its expressions compiled."""

    typed: Mapping[str, str]
    its: re.Pattern[str]
    before: re.Pattern[str]
    after: re.Pattern[str]
    aside: re.Pattern[str]
    remark: re.Pattern[str]
    several: re.Pattern[str]
    negative: frozenset[str]
    sale: re.Pattern[str]
    placed: tuple[str, ...]
    open: re.Pattern[str]
    size: re.Pattern[str]
    how: re.Pattern[str]
    unfinished: re.Pattern[str]
    worded: tuple[Worded, ...]
    own_place: frozenset[str]
    at: re.Pattern[str]
    at_first: re.Pattern[str]
    verbs: tuple[tuple[re.Pattern[str], str], ...]
    faults: re.Pattern[str]
    regions: tuple[tuple[str, re.Pattern[str]], ...]
    needs: re.Pattern[str]
    welding: re.Pattern[str]
    to_weld: re.Pattern[str]
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
        # What stands behind the last question and asks nothing: 'Is it cracked? They're impossible to find.'
        remark=re.compile(
            rf"(?<=\w)\s*\?+\s+(?!(?:{'|'.join(raw['several']['openings'])}|and|or|also)\b)(?=\w+\W+\w)"
            r"(?![^?]*\bi mean\b)[^?]+$"
        ),
        several=re.compile(
            r"(?:[?.;!,]+\s*(?:and |also |but |oh )*|\s+(?:and|also|plus|&)\s+(?:also )?)"
            rf"(?=(?:{'|'.join(raw['several']['openings'])})\b)|[?]+\s*(?=\w)",
            re.IGNORECASE,
        ),
        negative=frozenset(raw["negative"]["openings"]),
        sale=re.compile("|".join(raw["sale"]["forms"])),
        placed=tuple(raw["placed"]["openings"]),
        open=re.compile("|".join(raw["open"]["forms"])),
        size=re.compile("|".join(raw["size"]["forms"])),
        how=re.compile(rf"(?:{'|'.join(raw['how']['openings'])})\b"),
        unfinished=re.compile("|".join(raw["unfinished"]["forms"])),
        worded=tuple(
            Worded(
                re.compile("|".join(row["forms"])),
                tuple(row["words"]),
                frozenset(row.get("conditions", ())),
                row.get("apart", False),
            )
            for row in raw["worded"]
        ),
        own_place=frozenset(raw["own_place"]["parts"]),
        at=re.compile(rf"\b(?:{'|'.join(raw['at']['words'])})\s+(?:\b(?:{'|'.join(raw['leaning']['place'])})\s+)*$"),
        at_first=re.compile(rf"(?:{'|'.join(raw['at']['words'])})\b", re.IGNORECASE),
        verbs=tuple((re.compile(row["form"]), row["meant"]) for row in raw["verb"]),
        faults=re.compile("|".join(raw["faults"]["forms"])),
        regions=tuple((part, re.compile(rf"\b{any_of(names)}\b")) for part, names in raw["regions"].items()),
        needs=re.compile("|".join(raw["needs"]["forms"])),
        welding=re.compile("|".join(raw["welding"]["forms"])),
        to_weld=re.compile("|".join(raw["to_weld"]["forms"])),
        mended=re.compile("|".join(raw["mended"]["forms"])),
        lawful=re.compile("|".join(raw["lawful"]["forms"])),
        facts=tuple((row["name"], re.compile("|".join(row["forms"]))) for row in raw["fact"]),
        drive={value: tuple(words) for value, words in raw["named"]["drive"].items()},
        spelling=tuple(raw["spelling"]["words"]),
        shortest=raw["spelling"]["shortest"],
        long=raw["spelling"]["long"],
    )


@cache
def leaning_words() -> Leaning:
    """Read how questions lean on one another, once."""
    raw = loads(data("questions.toml"))
    row, openings = raw["leaning"], "|".join(raw["several"]["openings"])

    def led(name: str, around: str) -> re.Pattern[str]:
        return re.compile(around.format("|".join(row[name])))

    return Leaning(
        opens=re.compile(rf"(?:{'|'.join(row['lead'])}|\s)*(?:{openings})\b", re.IGNORECASE),
        lead=led("lead", r"^(?:(?:{})[\s,]+)+"),
        too=led("too", r"[\s,]+(?:{})$"),
        any=led("any", r"(?:{})\b"),
        one=led("one", r"(?:{})\b"),
        choice=led("choice", r"\b(?:{})\b"),
        on=row["on"],
        pronoun=led("pronouns", r"\b(?:{})\b"),
        alone=re.compile(rf"\b(?:{'|'.join((*row['pronouns'], *row['alone']))})\b"),
        end=re.compile(row["end"]),
        opposites=tuple((one, two) for one, two in row["opposites"]),
        place=led("place", r"(?:\b(?:{})\s+)+$"),
        join=led("joins", r"\s*(?:(?:{})\s*)+"),
        only_joins=led("joins", r"\s*(?:(?:{})\s*)+"),
        no_list=led("no_list", r"\b(?:{})\b"),
        things=led("things", r"(?:{})\s+"),
        doings=led("doings", r"(?:{})\s+"),
        clauses=led("clauses", r"(?:{})\s+"),
        verbs=tuple((one, several) for one, several in row["verbs"]),
    )
