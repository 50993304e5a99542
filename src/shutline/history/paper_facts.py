"""Which day something read off a paper is of, and which fact of the car it gives."""

from __future__ import annotations

import tomllib
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from functools import cache
from importlib.resources import files
from typing import Any

from shutline.car.kept_papers import KeptPaper
from shutline.car.papers import Box, Page, Proposal, ReadKind, ReadState

KEEPERS_RULE = "paper-keepers-before"
"""The rule that a number of keepers off a paper stands on: such papers count those before the present one."""


@dataclass(frozen=True, slots=True)
class FactGiven:
    """The fact that something taken off a paper gives: its name and value."""

    name: str
    value: int | str


@cache
def _data() -> Mapping[str, Any]:
    text = files("shutline.history").joinpath("data/paper_facts.toml").read_text(encoding="utf-8")
    return tomllib.loads(text)


@cache
def _facts() -> Mapping[tuple[ReadKind, str], tuple[str, str]]:
    return {(ReadKind(row["kind"]), row["role"]): (row["fact"], row["form"]) for row in _data()["facts"]}


def fact_given(kind: ReadKind, role: str, value: str) -> FactGiven | None:
    """Give the fact that a value off a paper gives, None where it stays with the paper.

    A mileage gives none: it is told with its day where mileages are weighed, and is not what the car shows now.

    >>> fact_given(ReadKind.DATE, "made", "1967-12")
    FactGiven(name='year', value=1967)
    """
    found = _facts().get((kind, role))
    if found is None:
        return None
    name, form = found
    if form == "words":
        return FactGiven(name, value)
    figures = value[:4] if form == "year" else value
    return FactGiven(name, int(figures)) if figures.isascii() and figures.isdigit() else None


def work_words(role: str) -> str | None:
    """Give what a date of a role tells of work done, None where it tells of none."""
    words: str | None = _data()["work"].get(role)
    return words


def told_lines(page: Page) -> Page:
    """Give a page with those of its lines that are believed enough to be told from."""
    return replace(page, lines=tuple(line for line in page.lines if line.score >= _data()["least_told"]))


def least_sure() -> float:
    """Give the belief in a line from which on its words are taken for what they say, 0 to 1."""
    return float(_data()["least_sure"])


def is_own_day(role: str) -> bool:
    """Tell whether a date of a role may be the day that a paper is of."""
    return role in _data()["days"]


def own_day(paper: KeptPaper) -> str:
    """Give the day that a paper is of, as far as a person has taken it; empty where nobody has."""
    taken = [one for one in paper.reads if one.kind is ReadKind.DATE and one.state is ReadState.TAKEN]
    return _first_of([(one.role, one.value) for one in taken])


def days_beside(proposals: Sequence[Proposal]) -> tuple[str, ...]:
    """Give for each thing read off one paper the day that it may be of, empty where none shows.

    Of a date it is the date. Anything else is of the date in its own line, as in a row of stamps; else of the day of
    its page, as far as the roles of its dates tell it; else of that of the paper.
    """
    dates = [one for one in proposals if one.kind is ReadKind.DATE and one.values and is_own_day(one.role)]
    whole = _only([(one.role, one.values[0].text) for one in dates])
    found = []
    for one in proposals:
        if one.kind is ReadKind.DATE:
            found.append(one.values[0].text if one.values else "")
            continue
        here = [date for date in dates if date.page == one.page]
        beside = [date for date in here if _in_line(date.box, one.box)]
        if beside:
            nearest = min(beside, key=lambda date: (abs(_middle(date.box) - _middle(one.box)), date.values[0].text))
            found.append(nearest.values[0].text)
        else:
            found.append(_only([(date.role, date.values[0].text) for date in here]) if here else whole)
    return tuple(found)


def _only(dates: Sequence[tuple[str, str]]) -> str:
    """Give the day of the first role that has one; nothing where that role has several."""
    for role in _data()["days"]:
        some = {text for told, text in dates if told == role}
        if some:
            return some.pop() if len(some) == 1 else ""
    return ""


def _first_of(dates: Sequence[tuple[str, str]]) -> str:
    for role in _data()["days"]:
        some = sorted(text for told, text in dates if told == role)
        if some:
            return some[-1]
    return ""


def _in_line(one: Box, other: Box) -> bool:
    both = min(one.top + one.height, other.top + other.height) - max(one.top, other.top)
    return both > 0.5 * min(one.height, other.height)


def _middle(box: Box) -> float:
    return box.left + box.width / 2
