"""Words that say that nobody looked: they claim nothing of what they name."""

from __future__ import annotations

import re
from collections.abc import Sequence
from functools import cache

from shutline.car.findings import Drive
from shutline.claims.gathered import named_parts
from shutline.claims.lines import Sentence, number_around
from shutline.claims.sayings import Saying
from shutline.claims.written_data import WrittenWords, any_of, small_words


def says_nobody_looked(text: str) -> bool:
    """Tell whether a sentence says that nobody looked at something.

    >>> says_nobody_looked("Nobody has looked at the chassis."), says_nobody_looked("The chassis looks good.")
    (True, False)
    """
    return bool(_unseen().search(text))


def only_names(text: str, span: tuple[int, int], around: Sentence, *, drive: Drive, words: WrittenWords) -> bool:
    """Tell whether the letters of a span of a text are no more than names, with their sides, in the sentence around."""
    first, end = span
    left = text[first:end]
    for begin, stop, _ in named_parts(around, drive, words):
        # A mark behind a name counts with it.
        if first <= begin < end:
            at, after = begin - first, min(stop, end) - first
            left = left[:at] + " " * (after - at) + left[after:]
    left = _unseen().sub(" ", left)
    return small_words().placing_names.issuperset(re.findall(r"[a-z]+", left.casefold()))


def only_names_unseen(
    text: str, saying: Saying, parts: Sequence[Sentence], *, drive: Drive, words: WrittenWords
) -> bool:
    """Tell whether a saying is no more than names in a sentence that says that nobody looked at them."""
    around = parts[number_around(parts, saying.first)]
    if saying.fact is not None or not says_nobody_looked(around.text):
        return False
    return only_names(text, (saying.first, saying.end), around, drive=drive, words=words)


@cache
def _unseen() -> re.Pattern[str]:
    return re.compile(rf"\b{any_of(small_words().untold['unseen'])}\b", re.IGNORECASE)
