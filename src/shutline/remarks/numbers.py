"""Numbers as people say them: 'forty-one thousand two hundred and six', '41,206', 'two point eight'."""

from __future__ import annotations

from dataclasses import dataclass

from shutline.remarks.tokens import COMMA, Text

_UNITS = {
    word: value
    for value, word in enumerate(
        [
            "zero",
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
    )
}
_TENS = {
    word: value * 10
    for value, word in enumerate(["twenty", "thirty", "forty", "fifty", "sixty", "seventy", "eighty", "ninety"], 2)
}
_TENS["fourty"] = 40
_SCALES = {"hundred": 100, "thousand": 1000, "thou": 1000, "grand": 1000, "million": 1_000_000}
_ORDINALS = {
    word: value
    for value, word in enumerate(
        [
            "first",
            "second",
            "third",
            "fourth",
            "fifth",
            "sixth",
            "seventh",
            "eighth",
            "ninth",
            "tenth",
            "eleventh",
            "twelfth",
            "thirteenth",
            "fourteenth",
            "fifteenth",
            "sixteenth",
            "seventeenth",
            "eighteenth",
            "nineteenth",
        ],
        1,
    )
}
_ORDINAL_TENS = {"twentieth": 20, "thirtieth": 30}
_ZERO = frozenset({"oh", "o", "nought", "naught"})


@dataclass(frozen=True, slots=True)
class Number:
    """A number in the tokens, from `first` up to and without `end`.

    `manner` tells how it was said: ``figures``, ``cardinal``, ``paired`` ('nineteen sixty-six'), ``point``,
    ``ordinal``.
    """

    first: int
    end: int
    value: float
    manner: str


def _group(norm: list[str], marks: list[int], at: int) -> tuple[int, int]:
    """Read one number group below a thousand thousand: value and end; end == at when there is none."""
    total = current = 0
    begin = at
    seen_unit = seen_ten = seen_hundred = False
    size = len(norm)
    while at < size:
        word = norm[at]
        mark = marks[at]
        if (
            at > begin
            and mark
            and not (mark == COMMA and norm[at - 1] in ("thousand", "million") and is_number_word(word))
        ):
            break
        if word in _UNITS:
            value = _UNITS[word]
            if seen_unit or (seen_ten and value >= 10) or value == 0:
                if value == 0 and at == begin:
                    return 0, at + 1
                break
            current += value
            seen_unit = True
        elif word in _TENS:
            if seen_unit or seen_ten:
                break
            current += _TENS[word]
            seen_ten = True
        elif word == "hundred" and current and not seen_hundred:
            current *= 100
            seen_hundred, seen_unit, seen_ten = True, False, False
        elif (
            word == "a"
            and at == begin
            and at + 1 < size
            and norm[at + 1] in ("hundred", "thousand")
            and not marks[at + 1]
        ):
            current = 1
            seen_unit = True
        elif word in ("thousand", "thou", "million") and (current or total):
            total += current * _SCALES[word]
            current = 0
            seen_unit = seen_ten = seen_hundred = False
        elif (
            word == "and"
            and at > begin
            and norm[at - 1] in ("hundred", "thousand")
            and at + 1 < size
            and is_number_word(norm[at + 1])
            and not marks[at + 1]
        ):
            pass
        else:
            break
        at += 1
    return total + current, at


def is_number_word(word: str) -> bool:
    """Tell whether a word is a number by itself: a unit or a ten."""
    return word in _UNITS or word in _TENS


def numbers(text: Text) -> list[Number]:
    """Find every number, left to right.

    >>> from shutline.car.speech import StretchOrigin, stretch_of
    >>> from shutline.remarks.tokens import tokens
    >>> said = "forty-one thousand two hundred and six, nineteen sixty-six, two point eight"
    >>> [n.value for n in numbers(tokens([stretch_of(said, 0, 1, origin=StretchOrigin.TRANSCRIPT)]))]
    [41206, 1966, 2.8]
    """
    norm, marks = text.norm, text.mark
    size = len(norm)
    out: list[Number] = []
    at = 0
    while at < size:
        word = norm[at]
        if word[0].isdecimal():
            value: float = float(word) if "." in word else int(word[:15])
            end = at + 1
            if end < size and not marks[end] and norm[end] in ("k", "thousand", "thou") and value < 1000:
                value, end = value * 1000, end + 1
            elif end < size and not marks[end] and len(norm[end]) == 3 and norm[end].isdecimal() and 0 < value < 1000:
                value, end = value * 1000 + int(norm[end]), end + 1
            elif end < size and not marks[end] and norm[end] in ("st", "nd", "rd", "th") and value < 32:
                out.append(Number(at, end + 1, value, "ordinal"))
                at = end + 1
                continue
            out.append(Number(at, end, value, "figures"))
            at = end
            continue
        ordinal = _ordinal(norm, marks, at)
        if ordinal is not None:
            out.append(ordinal)
            at = ordinal.end
            continue
        if not is_number_word(word) and not (word == "a" and at + 1 < size and norm[at + 1] in ("hundred", "thousand")):
            at += 1
            continue
        value, end = _group(norm, marks, at)
        if end == at:
            at += 1
            continue
        if (
            end + 1 < size
            and norm[end] == "point"
            and not marks[end]
            and (norm[end + 1] in _UNITS or norm[end + 1] in _ZERO or norm[end + 1].isdecimal())
        ):
            tail = int(norm[end + 1]) if norm[end + 1].isdecimal() else _UNITS.get(norm[end + 1], 0)
            out.append(Number(at, end + 2, value + tail / 10, "point"))
            at = end + 2
            continue
        if end + 2 < size and norm[end : end + 3] == ["and", "a", "half"] and value < 20:
            out.append(Number(at, end + 3, value + 0.5, "point"))
            at = end + 3
            continue
        if 10 <= value < 100 and end < size and not marks[end]:
            paired = _pair(norm, marks, end)
            if paired is not None:
                out.append(Number(at, paired[1], value * 100 + paired[0], "paired"))
                at = paired[1]
                continue
        out.append(Number(at, end, value, "cardinal"))
        at = end
    return out


def _pair(norm: list[str], marks: list[int], at: int) -> tuple[int, int] | None:
    """Read the second half of 'nineteen sixty-six' or 'nineteen oh four'."""
    if norm[at] in _ZERO and at + 1 < len(norm) and 0 < _UNITS.get(norm[at + 1], 0) < 10 and not marks[at + 1]:
        return _UNITS[norm[at + 1]], at + 2
    if norm[at].isdecimal() or not is_number_word(norm[at]):
        return None
    value, end = _group(norm, marks, at)
    return (value, end) if 10 <= value < 100 else None


def _ordinal(norm: list[str], marks: list[int], at: int) -> Number | None:
    word = norm[at]
    if word in _ORDINALS:
        return Number(at, at + 1, _ORDINALS[word], "ordinal")
    if word in _ORDINAL_TENS:
        return Number(at, at + 1, _ORDINAL_TENS[word], "ordinal")
    if (
        word in ("twenty", "thirty")
        and at + 1 < len(norm)
        and not marks[at + 1]
        and _ORDINALS.get(norm[at + 1], 99) < 10
    ):
        return Number(at, at + 2, _TENS[word] + _ORDINALS[norm[at + 1]], "ordinal")
    return None
