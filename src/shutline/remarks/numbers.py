"""Numbers as people say them: 'forty-one thousand two hundred and six', '41,206', 'two point eight'."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache

from shutline.remarks.fact_data import fact_data
from shutline.remarks.tokens import COMMA, Text

UNITS = {
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
TENS = {
    word: value * 10
    for value, word in enumerate(["twenty", "thirty", "forty", "fifty", "sixty", "seventy", "eighty", "ninety"], 2)
}
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
            "twentieth",
        ],
        1,
    )
} | {"thirtieth": 30}
_ZERO = frozenset({"oh", "o", "nought", "naught", "zero"})
_AND = frozenset({"and", "an", "an'", "n", "'n", "'n'"})
_PARTS = {"half": 0.5, "quarter": 0.25, "quarters": 0.25}


@dataclass(frozen=True, slots=True)
class Number:
    """A number in the tokens, from `first` up to and without `end`.

    `manner` tells how it was said: ``figures``, ``cardinal``, ``paired`` ('nineteen sixty-six'), ``digits`` ('three
    four six oh'), ``short`` ('one nine'), ``point``, ``part`` ('two and a quarter'), ``ordinal``.
    """

    first: int
    end: int
    value: float
    manner: str


@cache
def _starts() -> frozenset[str]:
    return frozenset({*UNITS, *TENS, *_ORDINALS, *_same(), "a", "hundred"})


@cache
def _same() -> dict[str, str]:
    """Give other spellings and dialect forms of number words, each with the plain word."""
    same: dict[str, str] = fact_data()["numbers"]["same"]
    return same


def is_number_word(word: str) -> bool:
    """Tell whether a word is a number by itself: a unit or a ten."""
    return word in UNITS or word in TENS or _same().get(word, "") in (UNITS | TENS)


def _plain(norm: list[str]) -> list[str]:
    """Give the tokens with dialect forms made plain: 'twa', 't'twelfth'."""
    same = _same()
    return [same.get(w, w) if w[:2] != "t'" else same.get(w[2:], w[2:]) for w in norm]


def numbers(text: Text) -> list[Number]:
    """Find every number, left to right.

    >>> from shutline.car.speech import StretchOrigin, stretch_of
    >>> from shutline.remarks.tokens import tokens
    >>> said = "forty-one thousand two hundred and six, nineteen sixty-six, two point eight"
    >>> [n.value for n in numbers(tokens([stretch_of(said, 0, 1, origin=StretchOrigin.TRANSCRIPT)]))]
    [41206, 1966, 2.8]
    """
    return _Counting(_plain(text.norm), text.mark).run()


class _Counting:
    """One text, read for numbers."""

    def __init__(self, norm: list[str], mark: list[int]) -> None:
        self.norm, self.mark, self.size = norm, mark, len(norm)
        self.counted: list[str] = fact_data()["numbers"]["counted"]

    def run(self) -> list[Number]:
        out: list[Number] = []
        starts = _starts()
        norm = self.norm
        after = 0
        for at, word in enumerate(norm):
            if at < after or (word not in starts and not word[0].isdecimal()):
                continue
            found = self._figures(at) if word[0].isdecimal() else self._words(at)
            if found is not None and found.value > 100 and found.manner == "cardinal":
                found = self._without_count(found)
            if found is not None:
                out.append(found)
                after = found.end
        return out

    def _word(self, at: int) -> str:
        """Give a token that no mark parts from the one before; empty when there is none."""
        return self.norm[at] if at < self.size and not self.mark[at] else ""

    def _figures(self, at: int) -> Number:
        word = self.norm[at]
        value: float = float(word) if "." in word else int(word[:15])
        end = at + 1
        follows = self._word(end)
        if follows in ("k", "thousand", "thou") and value < 1000:
            value, end = value * 1000, end + 1
            if (rest := self._word(end)) and len(rest) == 3 and rest.isdecimal():
                value, end = value + int(rest), end + 1
        elif follows.isdecimal() and len(follows) == 3 and 0 < value < 1000 and value == int(value):
            value, end = value * 1000 + int(follows), end + 1
        elif follows.isdecimal() and len(follows) == 2 and word in ("19", "20"):
            return Number(at, end + 1, value * 100 + int(follows), "paired")
        elif follows in ("st", "nd", "rd", "th") and value < 32:
            return Number(at, end + 1, value, "ordinal")
        elif follows == "point" and (tail := self._tail(end + 1)) is not None and value < 100:
            return Number(at, end + 2, value + tail, "point")
        return Number(at, end, value, "figures")

    def _tail(self, at: int) -> float | None:
        """Read what stands behind 'point': one figure."""
        word = self._word(at)
        if word.isdecimal() and len(word) == 1:
            return int(word) / 10
        if word in _ZERO:
            return 0.0
        unit = UNITS.get(word, 0)
        return unit / 10 if 0 < unit < 10 else None

    def _words(self, at: int) -> Number | None:
        short = self._ordinal(at) or self._digits(at)
        if short is not None:
            return short
        value, end = self._group(at)
        if end == at:
            return None
        if self._word(end) == "point" and (tail := self._tail(end + 1)) is not None:
            return Number(at, end + 2, value + tail, "point")
        part = self._part(end) if value < 20 else 0.0
        if part:
            return Number(at, end + 3, value + part, "part")
        return self._year_like(at, value, end) or Number(at, end, value, "cardinal")

    def _part(self, at: int) -> float:
        """Read 'and a half', 'and a quarter', 'and three quarters'; 0 when none stands there."""
        if self._word(at) not in _AND:
            return 0.0
        part = _PARTS.get(self._word(at + 2), 0.0)
        many = {"a": 1, "three": 3}.get(self._word(at + 1), 0)
        return part * many if part * many < 1 else 0.0

    def _year_like(self, at: int, value: int, end: int) -> Number | None:
        """Read 'nineteen sixty-six', 'nineteen hundred and six', 'two thousand twenty'."""
        if 10 <= value < 100 and self._word(end):
            paired = self._pair(value, end)
            if paired is not None:
                return Number(at, paired[1], value * 100 + paired[0], "paired")
        if value == 2000 and self._word(end):
            tens, after = self._group(end)
            if 10 <= tens < 100:
                return Number(at, after, value + tens, "cardinal")
        if 1900 < value < 2000 and self.norm[at] == "nineteen":
            return Number(at, end, value, "paired")
        return None

    def _without_count(self, found: Number) -> Number:
        """Leave to a thing counted the unit before it: 'eighteen hundred four speed', 'twelve thousand one key'."""
        last = UNITS.get(self.norm[found.end - 1], 0)
        if not 0 < last < 10 or self._word(found.end) not in self.counted:
            return found
        end = found.end - 1
        if self.norm[end - 1] in _AND:
            end -= 1
        return Number(found.first, end, found.value - last, found.manner)

    def _digits(self, at: int) -> Number | None:
        """Read figures said one by one: three or more make a number, 'one nine' is short for one point nine."""
        end = at
        figures = []
        while end < self.size and (end == at or not self.mark[end]):
            word = self.norm[end]
            figure = 0 if word in _ZERO else UNITS.get(word, 10)
            if figure > 9:
                break
            figures.append(str(figure))
            end += 1
        if len(figures) < 2 or figures[0] == "0":
            return None
        follows = self._word(end)
        if follows in ("hundred", "thousand", "thou", "point") or follows in TENS or follows in UNITS:
            return None
        if len(figures) == 2:
            return Number(at, end, int("".join(figures)) / 10, "short")
        return Number(at, end, int("".join(figures)), "digits")

    def _pair(self, value: float, at: int) -> tuple[int, int] | None:
        """Read the second half of 'nineteen sixty-six', 'nineteen oh four' or 'sixteen two two'."""
        word = self.norm[at]
        second = UNITS.get(self._word(at + 1), 0)
        if word in _ZERO:
            return (second, at + 2) if 0 < second < 10 else None
        if 0 < UNITS.get(word, 0) < 10 and 0 < second < 10 and 10 <= value < 20:
            return UNITS[word] * 10 + second, at + 2
        if word not in UNITS and word not in TENS:
            return None
        tail, end = self._group(at)
        if not 10 <= tail < 100:
            return None
        # 'nineteen seventy two litre': nobody says so many litres or doors.
        whole = tail % 10 == 0 or tail < 20
        if not whole and self._word(end) in ("litre", "liter", "litres", "point", "door", "doors", "speed"):
            return tail - tail % 10, end - 1
        return tail, end

    def _ordinal(self, at: int) -> Number | None:
        word = self.norm[at]
        if word in _ORDINALS:
            return Number(at, at + 1, _ORDINALS[word], "ordinal")
        if word in ("twenty", "thirty") and _ORDINALS.get(self._word(at + 1), 99) < 10:
            return Number(at, at + 2, TENS[word] + _ORDINALS[self.norm[at + 1]], "ordinal")
        return None

    def _group(self, at: int) -> tuple[int, int]:
        """Read one number in words below a thousand million: value and end; end == at when there is none."""
        total, end = 0, at
        while True:
            part, after = self._below_thousand(end, led=end == at)
            if after == end:
                break
            scale = {"thousand": 1000, "thou": 1000, "million": 1_000_000}.get(self._word(after), 0)
            if scale and (total == 0 or total >= 1_000_000):
                total, end = total + part * scale, after + 1
                continue
            if total == 0:
                return part, after
            if part >= 100 or self._word(end) in _AND:
                return total + part, after
            # 'seventy-seven thousand one ninety' is short for one hundred and ninety.
            unit = UNITS.get(self._word(end), 0)
            if 0 < unit < 10 and after == end + 1:
                tail = self._below_thousand(after, led=False) if self._word(after) in TENS else (0, after)
                if 10 <= tail[0] < 100:
                    return total + unit * 100 + tail[0], tail[1]
                if self._word(after) in _ZERO and 0 < (last := UNITS.get(self._word(after + 1), 0)) < 10:
                    return total + unit * 100 + last, after + 2
            break
        return total, end

    def _below_thousand(self, at: int, *, led: bool) -> tuple[int, int]:
        """Read up to 'nine hundred and ninety-nine'; not led, an 'and' or a comma may stand before it."""
        size, norm = self.size, self.norm
        begin = at
        if at >= size:
            return 0, at
        if not led:
            if self.mark[at] > COMMA or (self.mark[at] and norm[at] not in UNITS and norm[at] not in TENS):
                return 0, begin
            if norm[at] in _AND and norm[at - 1] in ("thousand", "million"):
                at += 1
                if not self._word(at):
                    return 0, begin
        value, at = self._below_hundred(at)
        lone = at < size and norm[at] == "hundred" and value == 0 and (led or norm[at - 1] in _AND)
        if value == 0 and led and norm[begin] == "a" and self._word(at + 1) in ("hundred", "thousand"):
            value, at = 1, at + 1
        elif lone and self._more(at + 1) and not self._counted(at):
            value = 1
        if (value and self._word(at) == "hundred") or (lone and value):
            value, at = value * 100, at + 1
            more = at + (self._word(at) in _AND)
            tail, end = self._below_hundred(more) if self._word(more) else (0, more)
            if tail:
                return value + tail, end
        return (value, at) if value or self.norm[begin] == "zero" else (0, begin)

    def _more(self, at: int) -> bool:
        word = self._word(at)
        return word in _AND or word == "thousand" or word in TENS or UNITS.get(word, 0) > 0

    def _counted(self, at: int) -> bool:
        return at > 0 and not self.mark[at] and self.norm[at - 1] in ("few", "couple", "several", "odd", "of", "many")

    def _below_hundred(self, at: int) -> tuple[int, int]:
        word = self.norm[at]
        if word in TENS:
            unit = UNITS.get(self._word(at + 1), 0)
            return (TENS[word] + unit, at + 2) if 0 < unit < 10 else (TENS[word], at + 1)
        if word in UNITS:
            return UNITS[word], at + 1
        return 0, at
