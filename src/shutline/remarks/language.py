"""How likely words are to follow one another in what people say at cars: counts of one, two and three words."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, field

START = "<s>"
"""Stands before the first word."""

FIGURE = "<n>"
"""Stands for every number in figures."""

DISCOUNT = 0.75
"""Taken off each count for what was not seen; Ney, Essen and Kneser 1994 find values from 0.6 to 0.9, from memory."""

UNKNOWN_WORDS = 20_000
"""Among how many words the chance of one that was never counted is shared: a plain vocabulary, from memory."""

MOST_KNOWN = 200_000
"""So many chances are remembered, about 40 MB, before they are forgotten and reckoned anew."""


def counted(word: str) -> str:
    """Give what a token is counted as."""
    return FIGURE if word[0].isdigit() else word


@dataclass
class Language:
    """Counts of tokens, interpolated with absolute discounting (Ney, Essen and Kneser 1994).

    `ones`, `twos` and `threes` count runs of one to three tokens; longer runs that were seen once may be left out, and
    what they would have had goes to shorter ones. `unknown` is the share of tokens that are not in `ones`.
    """

    ones: Mapping[str, int]
    twos: Mapping[tuple[str, str], int]
    threes: Mapping[tuple[str, str, str], int]
    unknown: float
    _kept: dict[tuple[str, ...], list[int]] = field(default_factory=dict, repr=False)
    _known: dict[tuple[str, str, str], float] = field(default_factory=dict, repr=False)

    def __post_init__(self) -> None:
        """Add up what follows each run."""
        self._all = sum(self.ones.values()) / (1 - self.unknown)
        for run, count in (*self.twos.items(), *self.threes.items()):
            kept = self._kept.setdefault(run[:-1], [0, 0])
            kept[0] += count
            kept[1] += 1

    def _after(self, run: tuple[str, ...], times: int, count: int, shorter: float) -> float:
        kept, kinds = self._kept.get(run, (0, 0))
        left = 1 - (kept - DISCOUNT * kinds) / times
        return max(count - DISCOUNT, 0.0) / times + left * shorter

    def log_chance(self, before: str, last: str, word: str) -> float:
        """Give the natural logarithm of the chance of a word after two others."""
        asked = (before, last, word)
        known = self._known.get(asked)
        if known is None:
            alone = self.ones.get(word, 0) / self._all or self.unknown / UNKNOWN_WORDS
            times = self._kept.get((START,), (0, 0))[0] if last == START else self.ones.get(last, 0)
            pair = self._after((last,), times, self.twos.get((last, word), 0), alone) if times else alone
            times = self.twos.get((before, last), 0)
            three = self._after((before, last), times, self.threes.get(asked, 0), pair) if times else pair
            if len(self._known) >= MOST_KNOWN:
                self._known.clear()
            known = self._known[asked] = math.log(three)
        return known
