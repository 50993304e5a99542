"""How written words are said: figures and letters as words, unknown words by their spelling."""

from __future__ import annotations

import csv
import re
import unicodedata
from functools import cache
from importlib.resources import files
from typing import Final

PHONES: Final = frozenset(
    [
        "AA",
        "AE",
        "AH",
        "AO",
        "AW",
        "AY",
        "B",
        "CH",
        "D",
        "DH",
        "EH",
        "ER",
        "EY",
        "F",
        "G",
        "HH",
        "IH",
        "IY",
        "JH",
        "K",
        "L",
        "M",
        "N",
        "NG",
        "OW",
        "OY",
        "P",
        "R",
        "S",
        "SH",
        "T",
        "TH",
        "UH",
        "UW",
        "V",
        "W",
        "Y",
        "Z",
        "ZH",
    ]
)
"""The sounds of the dictionary that the aligner brings (ARPABET without stress)."""

_TOKEN: Final = re.compile(r"\d[\d,]*(?:\.\d+)?|[A-Za-z]+(?:'[A-Za-z]+)*|[%£&+]")
_ONES: Final = [
    "nought",
    "one",
    "two",
    "three",
    "four",
    "five",
    "six",
    "seven",
    "eight",
    "nine",
    "ten",
    "eleven",
    "twelve",
    "thirteen",
    "fourteen",
    "fifteen",
    "sixteen",
    "seventeen",
    "eighteen",
    "nineteen",
]
_TENS: Final = ["nought", "ten", "twenty", "thirty", "forty", "fifty", "sixty", "seventy", "eighty", "ninety"]
_SIGNS: Final = {"%": "percent", "£": "pounds", "&": "and", "+": "plus"}


def spoken_forms(written: str) -> tuple[str, ...]:
    """Give the words that somebody reading this aloud would say.

    Parameters
    ----------
    written : str
        One word as written, marks attached.

    Returns
    -------
    tuple of str
        Lower-case words of the letters a to z and the apostrophe; empty for a word that is all marks.

    Examples
    --------
    >>> spoken_forms("48,200")
    ('forty', 'eight', 'thousand', 'two', 'hundred')
    >>> spoken_forms("MOT's"), spoken_forms("near-side,"), spoken_forms("1974.")
    (('m', 'o', "t's"), ('near', 'side'), ('nineteen', 'seventy', 'four'))
    """
    plain = unicodedata.normalize("NFKD", written.replace("\N{RIGHT SINGLE QUOTATION MARK}", "'"))
    forms: list[str] = []
    for token in _TOKEN.findall(plain):
        if token[0].isdigit():
            forms.extend(_figures(token))
        elif token in _SIGNS:
            forms.append(_SIGNS[token])
        else:
            forms.extend(_letters(token))
    return tuple(forms)


def _letters(token: str) -> list[str]:
    stem, mark, ending = token.partition("'")
    if 2 <= len(stem) <= 5 and stem.isupper():
        letters = list(stem.lower())
        if mark:
            letters[-1] += mark + ending.lower()
        return letters
    return [token.lower()]


def _figures(token: str) -> list[str]:
    whole, point, part = token.replace(",", "").partition(".")
    if len(whole) > 9 or (len(whole) > 1 and whole[0] == "0"):
        said = [_ONES[int(figure)] for figure in whole]
    elif "," not in token and not point and len(whole) == 4 and whole[1] != "0":
        said = _under_hundred(int(whole[:2])) + (["hundred"] if whole[2:] == "00" else _pair(whole[2:]))
    else:
        said = _number(int(whole))
    if point:
        said += ["point", *(_ONES[int(figure)] for figure in part)]
    return said


def _pair(figures: str) -> list[str]:
    return ["o", _ONES[int(figures[1])]] if figures[0] == "0" else _under_hundred(int(figures))


def _under_hundred(number: int) -> list[str]:
    if number < 20:
        return [_ONES[number]]
    tens, ones = divmod(number, 10)
    return [_TENS[tens], *([_ONES[ones]] if ones else [])]


def _number(number: int) -> list[str]:
    for size, name in ((1_000_000, "million"), (1_000, "thousand"), (100, "hundred")):
        if number >= size:
            count, rest = divmod(number, size)
            link = ["and"] if name == "hundred" and rest else []
            return [*_number(count), name, *link, *(_number(rest) if rest else [])]
    return _under_hundred(number)


@cache
def _letter_sounds() -> dict[str, tuple[str, ...]]:
    text = files("shutline.speech").joinpath("data/letter_sounds.csv").read_text(encoding="utf-8")
    return {row["letters"]: tuple(row["sounds"].split()) for row in csv.DictReader(text.splitlines())}


def sounds_of(word: str) -> tuple[str, ...]:
    """Guess the sounds of a word from its spelling: the longest known group of letters first.

    Good enough to find where in the sound a word lies; not good enough to say it.

    Parameters
    ----------
    word : str
        Letters a to z and apostrophes.

    Returns
    -------
    tuple of str
        Out of `PHONES`; empty where nothing of it is a letter.
    """
    table = _letter_sounds()
    longest = max(map(len, table))
    sounds: list[str] = []
    at = 0
    while at < len(word):
        for length in range(min(longest, len(word) - at), 0, -1):
            group = word[at : at + length]
            key = f"{group}$" if at + length == len(word) and f"{group}$" in table else group
            if key in table:
                sounds.extend(table[key])
                at += length
                break
        else:
            at += 1
    return tuple(sounds)
