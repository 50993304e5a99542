"""The house's own lines and sentences in a description, held against the car file that they go out with."""

from __future__ import annotations

import re
import tomllib
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import cache
from typing import TYPE_CHECKING

from shutline.car.errors import Problem
from shutline.claims.judged import Verdict
from shutline.words.checks import shipped_text
from shutline.words.phrases import sentence

if TYPE_CHECKING:
    from shutline.car.carfile import CarFile
    from shutline.store import Store
    from shutline.usecases.claim_check import Beside
    from shutline.words import Draft, House

_LONGEST = 160


@dataclass(frozen=True, slots=True)
class _Rules:
    every_car: re.Pattern[str]
    this_car: str
    many: dict[str, str]


def house_lines(store: Store, car: CarFile, draft: Draft, ours: Draft, house: House) -> Iterator[Problem]:
    """Tell which of the house's own words claim what the car file does not bear out, or contradicts.

    Parameters
    ----------
    store : Store
        Where the car is kept.
    car : CarFile
        Of it only what stands backs anything.
    draft : Draft
        The description, with the house's lines in it.
    ours : Draft
        The same in the shipped wording: what stands in both is none of the house's words.
    house : House
        Its closing lines, and how it signs.
    """
    shipped = {one.text for one in ours.sentences}
    lines = (*house.closing, house.sign)
    told = [one.text for one in draft.sentences if one.text not in shipped or one.text in lines]
    texts = [text for text in dict.fromkeys(told) if text]
    if not texts:
        return
    from shutline.usecases.claim_check import firmly_beside

    beside = firmly_beside(store, car)
    for text in texts:
        yield from _against(text, beside)


def of_this_car(line: str) -> str:
    """Give a line that speaks of every car as one of this car.

    >>> of_this_car("All our cars are solid underneath.")
    'It is solid underneath.'
    """
    rules = _rules()

    def one(found: re.Match[str]) -> str:
        verb = found[2] or ""
        return f"{rules.this_car} {rules.many.get(verb.lower(), verb)}".rstrip()

    made = rules.every_car.sub(one, line)
    return made if made == line else sentence(made)


def _against(text: str, beside: Beside) -> Iterator[Problem]:
    from shutline.claims.check import check

    kinds: dict[Verdict, list[str]] = {}
    for version in dict.fromkeys((of_this_car(text), text)):
        for claim in check(version, beside.record, words=beside.words).claims:
            if claim.verdict is not Verdict.BACKED:
                kinds.setdefault(claim.verdict, []).append(claim.saying.quote)
        if kinds:
            break
    for verdict, quotes in kinds.items():
        at_odds = verdict is Verdict.AT_ODDS
        yield Problem(
            slug="house-line-at-odds" if at_odds else "house-line-unbacked",
            where=f"a line of the house's own, «{_cut(text)}»",
            found=f"«{_cut('», «'.join(dict.fromkeys(quotes)))}» is "
            f"{'at odds with the car file' if at_odds else 'borne out by nothing in the car file'}",
            allowed="lines that are so of each car that they go out with",
            advice="Change the line under Settings, Descriptions, or see that it is so and enter it.",
        )


def _cut(text: str) -> str:
    return text if len(text) <= _LONGEST else f"{text[: _LONGEST - 1]}…"


@cache
def _rules() -> _Rules:
    raw = tomllib.loads(shipped_text("house_lines.toml"))
    phrases: Sequence[str] = sorted(raw["every_car"], key=len, reverse=True)
    verbs = "|".join(map(re.escape, raw["many"]))
    pattern = rf"\b({'|'.join(map(re.escape, phrases))})\b(?:\s+({verbs})\b)?"
    return _Rules(re.compile(pattern, re.IGNORECASE), raw["this_car"], dict(raw["many"]))
