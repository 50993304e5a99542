"""What every search for facts needs: the tokens, the numbers in them, and the words round a place."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache
from importlib.resources import files
from tomllib import loads
from typing import Any

from shutline.remarks.numbers import Number, numbers
from shutline.remarks.tokens import FULL_STOP, Text

NO_END = 9
"""A mark that no text has: for looks that may cross full stops."""


Value = int | str | bool


@dataclass(frozen=True, slots=True)
class FoundFact:
    """A fact in the tokens `first` up to and without `end`; `rule` names what drew it."""

    name: str
    value: Value
    unit: str | None
    first: int
    end: int
    rule: str


@cache
def fact_data() -> dict[str, Any]:
    """Read the shipped words of facts once."""
    return loads(files("shutline.remarks").joinpath("data/facts.toml").read_text(encoding="utf-8"))


@cache
def fact_cues() -> dict[str, frozenset[str]]:
    """Give the sets of cue words by name."""
    return {name: frozenset(words) for name, words in fact_data()["cues"].items()}


class Look:
    """One text, looked at for facts."""

    def __init__(self, text: Text) -> None:
        self.text = text
        self.norm, self.stem, self.mark = text.norm, text.stem, text.mark
        self.size = len(text.norm)
        self.numbers: list[Number] = numbers(text)
        self.by_first = {n.first: n for n in self.numbers}
        self.cues = fact_cues()
        self.out: list[FoundFact] = []

    def before(self, at: int, reach: int, *, cross: int = FULL_STOP) -> list[str]:
        """Give up to `reach` words before a token, nearest first, within the sentence."""
        words = []
        while at > 0 and reach and self.mark[at] < cross:
            at -= 1
            reach -= 1
            words.append(self.norm[at])
        return words

    def after(self, at: int, reach: int, *, cross: int = FULL_STOP) -> list[str]:
        """Give up to `reach` stems from a token on, within the sentence."""
        words = []
        while at < self.size and reach and self.mark[at] < cross:
            words.append(self.stem[at])
            at += 1
            reach -= 1
        return words

    def follows(self, at: int) -> str:
        """Give the stem right after a token, whatever mark stands between; empty at the end."""
        return self.stem[at + 1] if at + 1 < self.size else ""

    def add(self, name: str, value: Value, span: tuple[int, int], rule: str, *, unit: str | None = None) -> None:
        """Note a fact in the tokens of `span`."""
        self.out.append(FoundFact(name, value, unit, *span, rule))
