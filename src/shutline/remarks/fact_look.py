"""What every search for facts needs: the tokens, the numbers in them, and the words round a place."""

from __future__ import annotations

from dataclasses import dataclass

from shutline.remarks.fact_data import fact_cues
from shutline.remarks.numbers import Number, numbers
from shutline.remarks.tokens import COMMA, FULL_STOP, Text

NO_END = 9
"""A mark that no text has: for looks that may cross full stops."""

_WORDS_A_MARK = 60
"""Words with fewer marks than one to so many were written by a recogniser that sets none."""

Value = int | str | bool


@dataclass(frozen=True, slots=True)
class FoundFact:
    """A fact in the tokens `first` up to and without `end`; `rule` names what drew it.

    `kind` is the rule with how many other facts stand near; `sureness` the share of right ones among what was drawn
    alike, in [0, 1].
    """

    name: str
    value: Value
    unit: str | None
    first: int
    end: int
    rule: str
    kind: str = ""
    sureness: float = 0.0


class Look:
    """One text, looked at for facts."""

    def __init__(self, text: Text) -> None:
        self.text = text
        self.norm, self.stem, self.mark = text.norm, text.stem, text.mark
        self.size = len(text.norm)
        self.numbers: list[Number] = numbers(text)
        self.by_first = {n.first: n for n in self.numbers}
        self.ending: dict[int, list[Number]] = {}
        for n in self.numbers:
            self.ending.setdefault(n.end, []).append(n)
        self.cues = fact_cues()
        self.out: list[FoundFact] = []
        self.bare = (self.size - self.mark.count(0)) * _WORDS_A_MARK < self.size

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

    def leads(self, at: int) -> str:
        """Give the word right before a token, whatever mark stands between; empty at the start."""
        return self.norm[at - 1] if at > 0 else ""

    def ends(self, at: int) -> bool:
        """Tell whether a mark or the end of the words stands before token `at`."""
        if at >= self.size or self.mark[at] >= COMMA:
            return True
        # A comma behind figures is part of the figures to the tokens: '1973, and'.
        return self.norm[at - 1][-1].isdecimal() and self.text.words[self.text.word[at - 1]][-1:] == ","

    def stand(self, first: int, end: int) -> str:
        """Tell how tokens stand: ``listed`` between two marks; ``bare`` where no marks were set; else empty."""
        if self.bare:
            return "bare"
        return "listed" if self.ends(first) and self.ends(end) else ""

    def add(self, name: str, value: Value, span: tuple[int, int], rule: str, *, unit: str | None = None) -> None:
        """Note a fact in the tokens of `span`."""
        self.out.append(FoundFact(name, value, unit, *span, rule))
