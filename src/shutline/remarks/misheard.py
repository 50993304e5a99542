"""Words that a recogniser took for others of the same sound, set right where what stands round them settles it.

The best reading of what was heard is looked for among runs of words that sound alike, each weighed by how likely it
is in talk at cars, less what it costs to have been misheard: a noisy channel (Shannon 1948; for spelling Kernighan,
Church and Gale 1990). What was heard stays as it is in the transcript and in every quote; only what is read from it
changes.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from collections.abc import Set as AbstractSet
from dataclasses import dataclass
from functools import cache
from importlib.resources import files
from itertools import pairwise
from math import inf
from typing import Final

import numpy as np

from shutline.remarks.language import FIGURE, START, Language, counted
from shutline.remarks.numbers import is_number_word
from shutline.remarks.sounds import Sounds, distance, folded, without_one
from shutline.remarks.tokens import FULL_STOP, NO_MARK, Misheard, Text, stem

SAME_LETTERS, ALIKE, ALIKE_CUT, ELSE = 1.5, 3.5, 4.5, 6.0
"""What it costs, as a logarithm, that words were misheard: for the same letters cut otherwise ("windows", "window's");
for as many others said alike; for fewer or more said alike; for all others. `BY_SOUND` is added for each unit of
distance between their sounds. Chosen on four spoken narrations whose words were not counted."""

BY_SOUND: Final = 6.0
_FURTHEST: Final = 1.0
"""The greatest distance of four sounds; of longer runs in proportion."""

_LONGEST: Final = 3
_LEAST_ONE, _LEAST_TWO = 3, 4
"""How often a word, or two, must have been counted to be taken for what was said."""

_SHORTEST, _LONGEST_SOUND = 2, 14
_READINGS: Final = 6
"""How many readings are kept at each word."""

_MOST: Final = 10
"""Of so many runs that sound most like it one is chosen."""

_MOST_ASKED: Final = 20_000
"""For so many runs what they may have been is remembered, before it is forgotten and looked for anew."""

_HIDDEN = 0.05


def _fixed(word: str) -> bool:
    """Tell whether a token is never read as another, nor another as it: of a wrong number a fact would be made."""
    return word[0].isdigit() or word in {FIGURE, START} or (is_number_word(word) and word != "one")


@dataclass(frozen=True, slots=True)
class _Change:
    """Tokens from `first` up to `end` are read as `words`."""

    first: int
    end: int
    words: tuple[str, ...]


def _trimmed(change: _Change, norm: Sequence[str]) -> _Change:
    """Leave out what is the same at either side; at least one token is left on each."""
    first, end, words = change.first, change.end, change.words
    while end - first > 1 and len(words) > 1 and norm[first] == words[0]:
        first, words = first + 1, words[1:]
    while end - first > 1 and len(words) > 1 and norm[end - 1] == words[-1]:
        end, words = end - 1, words[:-1]
    return _Change(first, end, words)


class Ear:
    """What words may have been, by their sound and their company."""

    def __init__(self, language: Language, sounds: Sounds) -> None:
        """Lay out all words and pairs of words that could have been said by their folded sounds."""
        self.language = language
        self.sounds = sounds
        self._by_hole: dict[str, list[str]] = defaultdict(list)
        self._by_sound: dict[str, list[tuple[tuple[str, ...], str]]] = defaultdict(list)
        self._asked: dict[tuple[str, ...], Mapping[tuple[str, ...], float]] = {}
        for word, count in language.ones.items():
            if count >= _LEAST_ONE:
                self._lay((word,))
        for pair, count in language.twos.items():
            if count >= _LEAST_TWO:
                self._lay(pair)
        for sound in self._by_sound:
            for hole in without_one(sound):
                self._by_hole[hole].append(sound)

    def _lay(self, words: tuple[str, ...]) -> None:
        if any(map(_fixed, words)):
            return
        for said in self.sounds.of(words):
            if _SHORTEST <= len(said) <= _LONGEST_SOUND:
                self._by_sound[folded(said)].append((words, said))

    def near(self, heard: tuple[str, ...]) -> Mapping[tuple[str, ...], float]:
        """Give what a run of tokens may have been, with the cost of having been misheard."""
        known = self._asked.get(heard)
        if known is None:
            if len(self._asked) >= _MOST_ASKED:
                self._asked.clear()
            known = self._asked[heard] = self._looked_for(heard)
        return known

    def _looked_for(self, heard: tuple[str, ...]) -> dict[tuple[str, ...], float]:
        out: dict[tuple[str, ...], float] = {}
        if any(map(_fixed, heard)):
            return out
        letters = "".join(heard).replace("'", "")
        for said in self.sounds.of(heard):
            if len(said) < _SHORTEST:
                continue
            for sound in {sound for hole in without_one(folded(said)) for sound in self._by_hole.get(hole, ())}:
                for words, meant in self._by_sound[sound]:
                    if words == heard or abs(len(words) - len(heard)) > 1:
                        continue
                    apart = distance(said, meant, _FURTHEST * max(1.0, min(len(said), len(meant)) / 4))
                    if apart == inf:
                        continue
                    same = "".join(words).replace("'", "") == letters
                    alike = ALIKE if len(words) == len(heard) else ALIKE_CUT
                    base = SAME_LETTERS if same else alike if apart < _HIDDEN else ELSE
                    out[words] = min(out.get(words, inf), base + BY_SOUND * apart)
        # By words where the cost is the same: the order of a set is another in each process.
        return dict(sorted(out.items(), key=lambda one: (one[1], one[0]))[:_MOST])

    def unknown(self, words: Iterable[str]) -> frozenset[str]:
        """Give those of some words that were never counted."""
        return frozenset(word for word in words if word not in self.language.ones)

    def changes(self, norm: Sequence[str], marks: Sequence[int], kept: AbstractSet[str] = frozenset()) -> list[_Change]:
        """Find the best reading of tokens; give where it differs from what was heard.

        A Viterbi search over runs of up to three tokens. The end of a sentence within a run keeps it as it was heard,
        as one of the words of `kept` does.
        """
        readings: list[dict[tuple[str, str], tuple[float, tuple[int, tuple[str, str], tuple[str, ...]] | None]]]
        readings = [{} for _ in range(len(norm) + 1)]
        readings[0][START, START] = (0.0, None)
        chance = self.language.log_chance
        for at in range(len(norm)):
            options: list[tuple[int, tuple[str, ...], float]] = [(at + 1, (norm[at],), 0.0)]
            for end in range(at + 1, min(at + _LONGEST, len(norm)) + 1):
                if (end > at + 1 and marks[end - 1] >= FULL_STOP) or norm[end - 1] in kept:
                    break
                options += [(end, words, cost) for words, cost in self.near(tuple(norm[at:end])).items()]
            best = sorted(readings[at].items(), key=lambda one: -one[1][0])[:_READINGS]
            readings[at] = dict(best)
            for (before, last), (score, _) in best:
                for end, words, cost in options:
                    total, one, two = score - cost, before, last
                    for word in words:
                        three = counted(word)
                        total += chance(one, two, three)
                        one, two = two, three
                    there = readings[end]
                    if (one, two) not in there or there[one, two][0] < total:
                        there[one, two] = (total, (at, (before, last), words))
        return self._back(norm, readings)

    @staticmethod
    def _back(norm: Sequence[str], readings: Sequence[Mapping[tuple[str, str], tuple[float, object]]]) -> list[_Change]:
        out: list[_Change] = []
        end = len(norm)
        key = max(readings[end], key=lambda key: readings[end][key][0])
        while end:
            came = readings[end][key][1]
            assert isinstance(came, tuple)  # noqa: S101 - each reading but the first came from somewhere
            first, key, words = came
            if words != tuple(norm[first:end]):
                out.append(_trimmed(_Change(first, end, words), norm))
            end = first
        return out[::-1]


def set_right(text: Text, heard: Sequence[bool], *, own: Iterable[str] = (), ear: Ear | None = None) -> None:
    """Read anew the words of each unbroken run of stretches that a recogniser heard.

    Parameters
    ----------
    text : Text
        Its `norm`, `stem`, `mark` and `word` are changed, and `misheard` tells each change.
    heard : sequence of bool
        For each stretch whether a recogniser heard it; words that somebody wrote are left as they are.
    own : iterable of str
        Tokens of the user's own lexicon: one that nobody counted is left as it was heard.
    ear : Ear, optional
        The shipped one unless given.
    """
    if not any(heard) or not text.norm:
        return
    asked = ear or shipped_ear()
    kept = asked.unknown(own)
    spoken = [heard[text.stretch[word]] for word in text.word]
    edges = [0, *(at for at in range(1, len(spoken)) if spoken[at] != spoken[at - 1]), len(spoken)]
    for first, end in reversed(list(pairwise(edges))):
        if spoken[first]:
            for change in reversed(asked.changes(text.norm[first:end], text.mark[first:end], kept)):
                _take(text, _Change(change.first + first, change.end + first, change.words))
    text.misheard.reverse()


def _take(text: Text, change: _Change) -> None:
    here = slice(change.first, change.end)
    owners, marks, count = text.word[here], text.mark[here], len(change.words)
    text.misheard.append(Misheard(owners[0], owners[-1]))
    last = len(owners) - 1
    text.norm[here] = change.words
    text.stem[here] = [stem(word) for word in change.words]
    text.word[here] = [owners[last if at == count - 1 else min(at, last)] for at in range(count)]
    text.mark[here] = [marks[at] if at < len(marks) else NO_MARK for at in range(count)]
    if count <= last:
        text.mark[change.first + count - 1] = max(marks[count - 1 :])


def read_ear(file: object) -> Ear:
    """Read what `tools/learn_hearing.py` counted, an npz file or its path."""
    with np.load(file, allow_pickle=False) as stored:  # type: ignore[arg-type]
        words = bytes(stored["words"]).decode("utf-8").split("\n")
        said = [line.split(" ") for line in bytes(stored["sounds"]).decode("utf-8").split("\n")]
        ones = dict(zip(words, stored["ones"].tolist(), strict=True))
        twos = {(words[a], words[b]): count for a, b, count in stored["twos"].tolist()}
        threes = {(words[a], words[b], words[c]): count for a, b, c, count in stored["threes"].tolist()}
        unknown = float(stored["unknown"])
    ones.pop(START, None)
    return Ear(Language(ones, twos, threes, unknown), Sounds({line[0]: tuple(line[1:]) for line in said}))


@cache
def shipped_ear() -> Ear:
    """Give what the program ships with."""
    with files("shutline.remarks").joinpath("data/hearing.npz").open("rb") as file:
        return read_ear(file)
