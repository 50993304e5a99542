"""Words as they were meant: a small general distance between letters, over the words that the lexicon knows."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable
from functools import cache

from shutline.claims.question_data import question_words
from shutline.claims.written_data import shipped_words
from shutline.remarks.context import shipped_network
from shutline.remarks.lexicon import expand
from shutline.remarks.tokens import stem, structure_words


def distance(one: str, two: str, *, most: int) -> int:
    """Count the letters to put in, leave out, change, or swap with their neighbour (the optimal string alignment).

    Gives `most` + 1 where it is more than `most`.

    Examples
    --------
    >>> distance("exaust", "exhaust", most=2), distance("wiehl", "wheel", most=1), distance("sial", "sail", most=1)
    (1, 2, 1)
    """
    if abs(len(one) - len(two)) > most:
        return most + 1
    before: list[int] = []
    last = list(range(len(two) + 1))
    for i, a in enumerate(one, start=1):
        row = [i]
        for j, b in enumerate(two, start=1):
            cost = min(row[j - 1] + 1, last[j] + 1, last[j - 1] + (a != b))
            if i > 1 and j > 1 and a == two[j - 2] and one[i - 2] == b:
                cost = min(cost, before[j - 2] + 1)
            row.append(cost)
        if min(row) > most:
            return most + 1
        before, last = last, row
    return min(last[-1], most + 1)


def meant(word: str) -> str:
    """Give the word that a misspelt one stands for, or the word itself where it is known or nothing is near enough.

    One letter off may be a word of four or more, two off one of eight or more; the first letter is taken as right. Of
    two words equally near neither is taken: nothing is guessed.

    Examples
    --------
    >>> meant("exaust"), meant("suspention"), meant("courier"), meant("the")
    ('exhaust', 'suspension', 'courier', 'the')
    """
    rules = question_words()
    if len(word) < rules.shortest or not word.isalpha() or _known(word):
        return word
    most = 2 if len(word) >= rules.long else 1
    near: dict[int, set[str]] = defaultdict(set)
    for size in range(len(word) - most, len(word) + most + 1):
        for other in _by_start().get((word[0], size), ()):
            steps = distance(word, other, most=most)
            if steps <= most:
                near[steps].add(other)
    for steps in sorted(near):
        stems = {stem(other) for other in near[steps]}
        if len(stems) == 1:
            return min(near[steps], key=lambda other: (abs(len(other) - len(word)), other))
        return word
    return word


def _known(word: str) -> bool:
    return (
        word in structure_words()
        or word in shipped_network().pieces.numbers
        or stem(word) in shipped_network().pieces.numbers
        or word in _words()
        or stem(word) in _words()
    )


@cache
def _words() -> frozenset[str]:
    """Give the words that may be meant: those of parts and conditions, and a few that are asked for often."""
    return frozenset([*question_words().spelling, *_of_lexicon()])


def _of_lexicon() -> Iterable[str]:
    for row in shipped_words().lexicon.rows:
        if row.file in ("parts", "conditions"):
            for written in row.phrases:
                for phrase in expand(written):
                    for word in phrase.split():
                        plain = word.lstrip("=")
                        if plain.isalpha() and len(plain) >= question_words().shortest:
                            yield plain
                            yield plain + "s"


@cache
def _by_start() -> dict[tuple[str, int], tuple[str, ...]]:
    out: dict[tuple[str, int], list[str]] = defaultdict(list)
    for word in sorted(_words()):
        out[word[0], len(word)].append(word)
    return {key: tuple(words) for key, words in out.items()}
