"""Where the words speak of a figure, and marks and numbers that were spelled out."""

from __future__ import annotations

import csv
import io
import re
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cache
from importlib.resources import files

from shutline.car.errors import Problem, UserError
from shutline.car.figures import FigureKind
from shutline.car.speech import Word
from shutline.gauge.seen import forms

_DIGITS = {
    word: str(number)
    for number, word in enumerate(("zero", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine"))
}
_DIGITS |= {"nought": "0", "naught": "0"}
_ALPHABET = {word: word[0].upper() for word in (
    "alpha", "alfa", "bravo", "charlie", "delta", "echo", "foxtrot", "golf", "hotel", "india", "juliet", "kilo", "lima",
    "mike", "november", "oscar", "papa", "quebec", "romeo", "sierra", "tango", "uniform", "victor", "whiskey", "whisky",
    "xray", "yankee", "zulu")}  # fmt: skip
_TIMES = {"double": 2, "treble": 3, "triple": 3}
_BETWEEN = frozenset({"is", "it's", "its", "on", "the", "it", "reads", "number", "mark", "here", "and", "that", "says"})
# Words that may stand between the cue and the first sign.
_MOST_BETWEEN = 5


@dataclass(frozen=True, slots=True)
class Cue:
    """Words that speak of a figure: its kind, and when, seconds from the start of the recording."""

    kind: FigureKind
    start_s: float
    end_s: float


@dataclass(frozen=True, slots=True)
class SpelledOut:
    """A mark or chassis number that was said sign by sign: its text without spaces, the words, and when."""

    kind: FigureKind
    text: str
    quote: str
    start_s: float
    end_s: float


def cues(words: Sequence[Word]) -> tuple[Cue, ...]:
    """Find where the words speak of a figure, in the order of time."""
    plain = [_plain(word.text) for word in words]
    found = (
        Cue(kind, words[at].start_s, words[at + len(phrase) - 1].end_s)
        for kind, phrase in _phrases()
        for at in range(len(plain) - len(phrase) + 1)
        if tuple(plain[at : at + len(phrase)]) == phrase
    )
    return tuple(sorted(found, key=lambda cue: (cue.start_s, cue.kind)))


def spelled_out(words: Sequence[Word]) -> tuple[SpelledOut, ...]:
    """Find marks and VINs that were said sign by sign after words that speak of them.

    A mark is given where it has a known form, a chassis number where it is a VIN: 'the registration is F G Y four one
    two H', but not 'the registration is an old one'. 'Oh' is neither O nor nought, and ends it.
    """
    plain = [_plain(word.text) for word in words]
    found = []
    for kind, phrase in _phrases():
        if kind not in {FigureKind.MARK, FigureKind.CHASSIS}:
            continue
        size = len(phrase)
        for at in range(len(plain) - size + 1):
            if tuple(plain[at : at + size]) != phrase:
                continue
            first = at + size
            while first < len(plain) and first - at - size < _MOST_BETWEEN and plain[first] in _BETWEEN:
                first += 1
            text, last = _signs(words, plain, first)
            fits = forms.mark_forms(text) if kind is FigureKind.MARK else forms.is_vin(text)
            if text and fits and len(text) >= 4:
                quote = " ".join(word.text for word in words[first:last])
                found.append(SpelledOut(kind, text, quote, words[first].start_s, words[last - 1].end_s))
    return tuple(sorted({one.start_s: one for one in found}.values(), key=lambda one: one.start_s))


def _signs(words: Sequence[Word], plain: Sequence[str], first: int) -> tuple[str, int]:
    text, at, times = "", first, 1
    while at < len(plain):
        word = plain[at]
        if word in _TIMES:
            times = _TIMES[word]
        elif word in _DIGITS or word in _ALPHABET or (len(word) == 1 and word.isascii() and word.isalpha()):
            text += (_DIGITS.get(word) or _ALPHABET.get(word) or word.upper()) * times
            times = 1
        elif re.fullmatch(r"[a-z]{0,3}\d{1,6}[a-z]{0,3}", word) or _is_capitals(words[at].text):
            text += word.upper()
            times = 1
        else:
            break
        at += 1
        if re.search(r"[.!?;]$", words[at - 1].text) and len(word) > 1:
            break
    return text, at


def _is_capitals(text: str) -> bool:
    bare = text.strip(".,;:!?'\"")
    return bare.isalpha() and bare.isupper() and len(bare) <= 3


def _plain(text: str) -> str:
    return text.lower().strip(".,;:!?'\"()").replace("\N{RIGHT SINGLE QUOTATION MARK}", "'")


@cache
def _phrases() -> tuple[tuple[FigureKind, tuple[str, ...]], ...]:
    text = files("shutline.gauge.seen").joinpath("data/cues.csv").read_text(encoding="utf-8")
    return read_cues(text)


def read_cues(text: str) -> tuple[tuple[FigureKind, tuple[str, ...]], ...]:
    """Read the words that speak of figures; each must stand in its example.

    Raises
    ------
    UserError
        A column, kind or value is unknown or missing, or an example does not hold its words (slug ``form-row``).
    """
    reader = csv.DictReader(io.StringIO(text))
    if tuple(reader.fieldnames or ()) != ("kind", "words", "example", "source"):
        raise _bad(1, "other columns")
    found = []
    for row in reader:
        if None in row or any(not (value or "").strip() for value in row.values()):
            raise _bad(reader.line_num, "a value too many, or one missing")
        if row["kind"] not in set(FigureKind) or row["words"] not in row["example"]:
            raise _bad(reader.line_num, f"kind {row['kind']!r}, example {row['example']!r}")
        found.append((FigureKind(row["kind"]), tuple(row["words"].split())))
    return tuple(found)


def _bad(line: int, found: str) -> UserError:
    return UserError(
        Problem(
            slug="form-row",
            where=f"cues.csv, line {line}",
            found=found,
            allowed="kind, words, example and source; a kind of figure, and an example with the words in it",
            advice="Mend the line.",
        )
    )
