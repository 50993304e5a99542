"""The smallest whole of a text that can go and leave what reads well: a bracket, a clause, a sentence."""

from __future__ import annotations

import re
from collections.abc import Collection, Sequence

_ENDS = re.compile(r"[.!?][\"'\N{RIGHT SINGLE QUOTATION MARK}\N{RIGHT DOUBLE QUOTATION MARK})\]]*$")
# 'J. Harbottle', 'Mrs. Quill', 'no. 7'.
_SHORT = re.compile(r"^\W*(?:[A-Z]|[Mm]rs?|[Mm]s|[Dd]r|[Ss]t|[Nn]o|[Cc]o|[Ll]td|e\.g|i\.e|c)\.$")
_PARTS = re.compile(r"[,;:]$|^[\N{EN DASH}\N{EM DASH}-]$")
_MARKS = ",;:"
_JOINS = frozenset({"and", "but", "or", "nor", "yet", "so"})


def without_clauses(words: Sequence[str], hidden: Collection[int]) -> list[str]:
    """Give the words of a text without the smallest wholes that some of them stand in.

    Parameters
    ----------
    words : sequence of str
        As written, with their marks.
    hidden : collection of int
        The numbers of those that may not be told.

    Returns
    -------
    list of str
        A bracket goes by itself; else a clause behind the first, where what is left reads on; else the whole sentence.

    >>> " ".join(without_clauses("A sound car, once the vicar's. It runs.".split(), {5}))
    'A sound car. It runs.'
    >>> " ".join(without_clauses("The vicar had it. It runs.".split(), {1}))
    'It runs.'
    """
    left: list[str] = []
    for first, end in _sentences(words):
        there = {at - first for at in hidden if first <= at < end}
        sentence = list(words[first:end])
        left += _without(*_unbracketed(sentence, there)) if there else sentence
    return left


def _sentences(words: Sequence[str]) -> list[tuple[int, int]]:
    found, first = [], 0
    for at, word in enumerate(words):
        if at + 1 == len(words) or (_ENDS.search(word) and not _SHORT.match(word) and _begins(words[at + 1])):
            found.append((first, at + 1))
            first = at + 1
    return found


def _begins(word: str) -> bool:
    letters = [letter for letter in word if letter.isalnum()]
    return bool(letters) and not letters[0].islower()


def _unbracketed(sentence: list[str], hidden: set[int]) -> tuple[list[str], set[int]]:
    """Take out brackets in which something is hidden; what closes one stays with the word before it."""
    left: list[str] = []
    still: set[int] = set()
    at = 0
    while at < len(sentence):
        end = next((n for n in range(at, len(sentence)) if ")" in sentence[n]), -1) if sentence[at][:1] == "(" else -1
        if left and end >= 0 and any(at <= one <= end for one in hidden):
            left[-1] += sentence[end].rpartition(")")[2]
            at = end + 1
            continue
        if at in hidden:
            still.add(len(left))
        left.append(sentence[at])
        at += 1
    return left, still


def _without(sentence: list[str], hidden: set[int]) -> list[str]:
    if not hidden:
        return sentence
    clauses = _clauses(sentence)
    goes = [any(first <= at < end for at in hidden) for first, end in clauses]
    if goes[0] or not _reads_on(sentence, clauses, goes):
        return []
    left: list[str] = []
    for (first, end), out in zip(clauses, goes, strict=True):
        if not out:
            left += sentence[first:end]
        elif left:
            left[-1] = left[-1].rstrip(_MARKS)
    closing = _ENDS.search(sentence[-1])
    if goes[-1] and closing is not None:
        left[-1] = f"{left[-1].rstrip(_MARKS)}{closing[0]}"
    return left


def _clauses(sentence: Sequence[str]) -> list[tuple[int, int]]:
    found, first = [], 0
    for at, word in enumerate(sentence):
        if at + 1 == len(sentence) or _PARTS.search(word):
            found.append((first, at + 1))
            first = at + 1
    return found


def _reads_on(sentence: Sequence[str], clauses: Sequence[tuple[int, int]], goes: Sequence[bool]) -> bool:
    """Tell whether what is left reads on where a clause has gone: at its end, before 'and', or around one set apart."""
    for at in range(1, len(clauses)):
        if goes[at] or not goes[at - 1]:
            continue
        # One clause set apart in the middle of another: 'the car, once the vicar's, is sound'.
        apart = len(clauses) == 3 and clauses[0][1] - clauses[0][0] <= _SHORTEST
        if sentence[clauses[at][0]].lower() not in _JOINS and not apart:
            return False
    return True


_SHORTEST = 4
"""How many words a clause has at most that only names what the next but one speaks of: 'the car, …, is sound'."""
