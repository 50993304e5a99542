"""What of the vocabulary somebody may have meant by a word that is not in it."""

from __future__ import annotations

import difflib
from functools import cache
from typing import Literal

from shutline.car.vocabulary import vocabulary

MOST = 5
# How alike a word must be to be offered, and how far behind the best one may be, of 1 for the same.
_ALIKE = 0.78
_BEHIND = 0.2
# What is said of a part counts for less than its name, and one word of several for less than all of them.
_SAID_OF_IT = 0.95
_ONE_WORD = 0.9

List = Literal["part", "condition"]


def nearest(kind: List, given: str) -> tuple[str, ...]:
    """Give the names of the nearest parts or conditions, the nearest first, five at most.

    Words that people say of a part are looked at too, and so is each word by itself.

    >>> nearest("part", "fender")[0], nearest("part", "front wnig")[0], nearest("part", "flux capacitor")
    ('front wing', 'front wing', ())
    """
    known = vocabulary().parts if kind == "part" else vocabulary().conditions
    wanted = " ".join(given.replace("_", " ").casefold().split())
    asked = {wanted: 1.0} | {word: _ONE_WORD for word in wanted.split() if word != wanted and len(word) > 3}
    score: dict[str, float] = {}
    for name, ids in _said(kind).items():
        likeness = max((_likeness(word, name) * worth for word, worth in asked.items()), default=0.0)
        for id_ in ids if likeness >= _ALIKE * _ONE_WORD else ():
            own = likeness if name == known[id_].label.casefold() else likeness * _SAID_OF_IT
            score[id_] = max(score.get(id_, 0.0), own)
    best = max(score.values(), default=0.0)
    found = sorted((id_ for id_ in score if score[id_] >= best - _BEHIND), key=lambda id_: -score[id_])
    return tuple(known[id_].label for id_ in found)[:MOST]


def _likeness(one: str, other: str) -> float:
    if one == other:
        return 1.0
    likeness = difflib.SequenceMatcher(None, one, other)
    if likeness.real_quick_ratio() < _ALIKE or likeness.quick_ratio() < _ALIKE:
        return 0.0
    found = likeness.ratio()
    return found if found >= _ALIKE else 0.0


@cache
def _said(kind: List) -> dict[str, tuple[str, ...]]:
    """Give what each part or condition is called: its name first, then what the lexicon has for it."""
    from shutline.remarks.lexicon import expand, shipped_lexicon

    words = vocabulary()
    known = words.parts if kind == "part" else words.conditions
    said: dict[str, dict[str, None]] = {}
    for id_, one in known.items():
        for name in (one.label, id_.replace("_", " ")):
            said.setdefault(name.casefold(), {})[id_] = None
    for row in shipped_lexicon().rows:
        for id_ in row.senses:
            for phrase in row.phrases if id_ in known else ():
                for name in expand(phrase):
                    said.setdefault(name.casefold(), {})[id_] = None
    return {name: tuple(ids) for name, ids in said.items()}
