"""Whether what was heard can be English."""

from __future__ import annotations

import csv
import re
from collections.abc import Sequence
from functools import cache
from importlib.resources import files

from shutline.car.errors import Problem
from shutline.speech.heard import Heard
from shutline.speech.settings import LanguageSettings, settings

_WORD = re.compile(r"[^\W\d_]+(?:'[^\W\d_]+)?")


@cache
def function_words() -> frozenset[str]:
    """Give the small words that every English speaker uses all the time."""
    text = files("shutline.speech").joinpath("data/function_words.csv").read_text(encoding="utf-8")
    return frozenset(row["word"] for row in csv.DictReader(text.splitlines()))


def function_share(text: str) -> float:
    """Give the share of a text's words that are English function words, in [0, 1]; 0 for a text without words."""
    words = _WORD.findall(text.lower().replace("\N{RIGHT SINGLE QUOTATION MARK}", "'"))
    small = function_words()
    return sum(word in small for word in words) / len(words) if words else 0.0


def doubt_english(heard: Sequence[Heard], *, where: str, tuning: LanguageSettings | None = None) -> tuple[Problem, ...]:
    """Say so where what was heard is likely not English.

    A recogniser for English writes English words for any speech; what gives it away is that they make little sense,
    that the recogniser is unsure of them, and that it runs in circles.

    Parameters
    ----------
    heard : sequence of Heard
        All pieces of a recording or, with nothing known of sureness, the stretches of a transcript.
    where : str
        Name of the recording, for the problem.

    Returns
    -------
    tuple of Problem
        Empty, or one with the slug ``not-english``.
    """
    limits = tuning or settings().language
    words = [word for one in heard for word in one.words]
    if len(words) < limits.least_words:
        return ()
    share = function_share(" ".join(word.text for word in words))
    told = [word.sureness for word in words if word.sureness is not None]
    sureness = sum(told) / len(told) if told else 1.0
    broken = sum(one.broken_off for one in heard) / len(heard)
    signs = []
    if share < limits.least_function_share:
        signs.append(f"only {share:.0%} of the words are the small words of English")
    if sureness < limits.least_sureness:
        signs.append(f"the recogniser's mean sureness is {sureness:.2f}")
    if broken > limits.most_broken_share:
        signs.append(f"the recogniser ran in circles in {broken:.0%} of the pieces")
    if not signs:
        return ()
    return (
        Problem(
            slug="not-english",
            where=where,
            found=f"words that are not English, or too poorly heard to be sure of ({'; '.join(signs)})",
            allowed="only English is understood, and nothing drawn from this can be relied on",
            advice="Listen to it; film again in English and close to the microphone, or add a transcript in English.",
        ),
    )
