"""How words sound, sign by sign, and how far one run of sounds is from another to a recogniser's ear."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from functools import cache
from itertools import accumulate, pairwise, product
from math import inf
from typing import Final

_NAMES = (
    *("AA", "AE", "AH", "AO", "AW", "AY", "B", "CH", "D", "DH", "EH", "ER", "EY", "F", "G", "HH", "IH", "IY", "JH"),
    *("K", "L", "M", "N", "NG", "OW", "OY", "P", "R", "S", "SH", "T", "TH", "UH", "UW", "V", "W", "Y", "Z", "ZH"),
)
PHONES: Final = {name: chr(ord("A") + at) for at, name in enumerate(_NAMES)}
"""The phones of ARPAbet, each with the one sign that stands for it here."""

_CLITICS = {"'s": "Z", "n't": "AH N T", "'ll": "AH L", "'re": "ER", "'d": "D", "'ve": "V", "'m": "M"}
_VOWELS = {
    "A": "AE AH EH ER",
    "O": "AA AO OW",
    "I": "IH IY",
    "U": "UH UW",
    "E": "EY AY",
    "W": "AW OY",
}
_VOICED = ("S Z", "T D", "K G", "P B", "F V", "SH ZH", "CH JH", "TH DH")
_NEAR = (
    "M N,N NG,M NG,F TH,S TH,V DH,D DH,S SH,Z ZH,T CH,D JH,P F,B V,L W,R W,T K,P K,D B,D G,L R"  # by place or by manner
)
_LOST = {"HH": 0.5, "T": 0.6, "D": 0.6, "AH": 0.5, "IH": 0.5, "R": 0.5, "S": 0.8, "Z": 0.8, "Y": 0.6}
"""What it costs to lose or to gain a sound; 1 for the others. Here and below: from memory, of no source."""

_SAME_VOICE, _SAME_VOWEL, _NEAR_BY, _OTHER_VOWEL, _OTHER, _OTHER_KIND = 0.35, 0.35, 0.6, 0.7, 1.0, 2.0


def _signs(names: str) -> str:
    return "".join(PHONES[name] for name in names.split())


_VOWEL_CLASS = {sign: kind for kind, names in _VOWELS.items() for sign in _signs(names)}
_VOICE_CLASS = {sign: _signs(pair)[0] for pair in _VOICED for sign in _signs(pair)}
_NEIGHBOURS = frozenset(frozenset(_signs(pair)) for pair in _NEAR.split(","))
_COST_LOST = {PHONES[name]: cost for name, cost in _LOST.items()}
_CLITIC_SIGNS = {clitic: _signs(names) for clitic, names in _CLITICS.items()}
_FOLDED = str.maketrans(_VOICE_CLASS | {sign: str("AOIUEW".index(kind)) for sign, kind in _VOWEL_CLASS.items()})


def folded(sounds: str) -> str:
    """Make alike what is often taken for one another: voiced and unvoiced, and vowels that lie near."""
    return sounds.translate(_FOLDED)


def without_one(sounds: str) -> Iterator[str]:
    """Give the sounds, and them with one sign left out: two runs that differ in one sign meet in one of these."""
    yield sounds
    for at in range(len(sounds)):
        yield sounds[:at] + sounds[at + 1 :]


@cache
def _changed(a: str, b: str) -> float:
    if a == b:
        return 0.0
    one, other = _VOWEL_CLASS.get(a), _VOWEL_CLASS.get(b)
    if (one is None) != (other is None):
        return _OTHER_KIND
    if one is not None:
        return _SAME_VOWEL if one == other else _OTHER_VOWEL
    if a in _VOICE_CLASS and _VOICE_CLASS[a] == _VOICE_CLASS.get(b):
        return _SAME_VOICE
    return _NEAR_BY if frozenset((a, b)) in _NEIGHBOURS else _OTHER


def distance(heard: str, meant: str, most: float = inf) -> float:
    """Give the least cost of turning one run of sounds into another, changing, losing and gaining sounds.

    A weighted edit distance (Wagner and Fischer 1974); infinite where it is more than `most`.

    >>> said = "".join(PHONES[name] for name in ("D", "EH", "N", "S"))
    >>> distance(said, said), distance(said, said[:3] + PHONES["T"] + said[3])
    (0.0, 0.6)
    """
    gained = [_COST_LOST.get(sign, 1.0) for sign in meant]
    line = [0.0, *accumulate(gained)]
    for a in heard:
        lost = _COST_LOST.get(a, 1.0)
        last = line[0] + lost
        now = [last]
        for above, before, b, more in zip(line, line[1:], meant, gained, strict=False):
            last = min(above + _changed(a, b), before + lost, last + more)
            now.append(last)
        if min(now) > most:
            return inf
        line = now
    return line[-1] if line[-1] <= most else inf


def british(sounds: str) -> str:
    """Take r away where no vowel follows it."""
    rolled, turned = PHONES["R"], PHONES["ER"]
    out = [sign for sign, after in pairwise(sounds + " ") if sign != rolled or after in _VOWEL_CLASS]
    return "".join(out).replace(turned, PHONES["AH"])


class Sounds:
    """How words are said: `known` has for each word one or more runs of signs."""

    def __init__(self, known: Mapping[str, tuple[str, ...]]) -> None:
        """Take what is known."""
        self._known = known
        self._worked_out: dict[str, tuple[str, ...]] = {}

    def _of_word(self, word: str) -> tuple[str, ...]:
        if word in _CLITIC_SIGNS:
            return (_CLITIC_SIGNS[word],)
        # Kept apart: what is worked out for one word must not depend on which others were asked for before.
        if word in self._worked_out:
            return self._worked_out[word]
        known = self._known.get(word) or self._known.get(word.replace("'", ""))
        if not known and word.endswith("s"):
            known = tuple(said + PHONES["Z"] for said in self._known.get(word[:-1], ()))
        if not known:
            for at in range(3, len(word) - 2):
                first, second = self._known.get(word[:at]), self._known.get(word[at:])
                if first and second:
                    known = (first[0] + second[0],)
                    break
        self._worked_out[word] = known or ()
        return known or ()

    def of(self, words: Sequence[str]) -> tuple[str, ...]:
        """Give up to three ways in which a run of tokens is said; none where one of them is not known."""
        ways = ["".join(said) for said in product(*map(self._of_word, words))]
        return tuple(dict.fromkeys(british(way) for way in ways[:3]))
