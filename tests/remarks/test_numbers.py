"""Numbers as people say them, against an independent library that writes numbers in words."""

from __future__ import annotations

import inflect
import pytest

from shutline.car.speech import StretchOrigin, stretch_of
from shutline.remarks.numbers import numbers
from shutline.remarks.tokens import tokens

WRITER = inflect.engine()  # the package inflect 7, MIT; its number_to_words writes the British "and"
SAMPLE = [*range(121), *range(900, 1300, 7), *range(1000, 10000, 277), *range(10_000, 400_000, 7919)]


def _read(said: str) -> list[float]:
    return [n.value for n in numbers(tokens([stretch_of(said, 0.0, 5.0, origin=StretchOrigin.TRANSCRIPT)]))]


@pytest.mark.parametrize("value", SAMPLE)
def test_cardinals_agree_with_inflect(value: int) -> None:
    assert _read(str(WRITER.number_to_words(value))) == [value]
    assert _read(str(WRITER.number_to_words(value)).replace("-", " ").replace(",", "")) == [value]


@pytest.mark.parametrize("value", range(1, 32))
def test_ordinals_agree_with_inflect(value: int) -> None:
    said = WRITER.number_to_words(WRITER.ordinal(value))
    assert _read(str(said)) == [value]


@pytest.mark.parametrize(
    ("said", "value"),
    [
        ("nineteen sixty-six", 1966),
        ("nineteen oh four", 1904),
        ("twenty twenty-six", 2026),
        ("fifteen ninety-eight", 1598),
        ("sixteen hundred", 1600),
        ("two point eight", 2.8),
        ("two and a half", 2.5),
        ("41,206", 41206),
        ("41 206", 41206),
        ("forty-one thou", 41000),
        ("41k", 41000),
        ("a hundred and two thousand", 102000),
        ("thirty-eight thousand, nine hundred and twelve", 38912),
        ("seventy-seven thousand one-ninety", 77190),
        ("eighty-two thousand four oh six", 82406),
        ("hundred and nineteen thousand", 119000),
        ("hundred thirty-eight thousand", 138000),
        ("a hunder and forty-three thoosand", 143000),
        ("three-four-six-oh", 3460),
        ("sixteen-two-two", 1622),
        ("one-nine", 1.9),
        ("two and a quarter", 2.25),
        ("two and three-quarter", 2.75),
        ("twa-and-a-half", 2.5),
        ("1 point 6", 1.6),
        ("19 69", 1969),
        ("nineteen hundred and seventy", 1970),
        ("two thousand twenty", 2020),
        ("t'twelfth", 12),
    ],
)
def test_spoken_forms(said: str, value: float) -> None:
    assert _read(said) == [value]


def _ways(value: int) -> set[str]:
    """Write a number in the ways it is said: with and without 'and', 'a' for 'one', with and without marks.

    Right after 'thousand' British speakers do not leave the 'and' out: 'forty thousand two' is also 'forty thousand,
    two owners'.
    """
    joined = ("and",) if value > 1000 and 0 < value % 1000 < 100 else ("and", "")
    ways = {str(WRITER.number_to_words(value, andword=word)) for word in joined}
    ways |= {"a" + way[3:] for way in ways if way.startswith(("one hundred", "one thousand"))}
    return ways | {way.replace("-", " ").replace(",", "") for way in ways}


def test_numbers_up_to_a_million_agree_with_inflect_however_said() -> None:
    sample = [*range(0, 1300, 3), *range(1300, 1_000_000, 1597), *(10**k for k in range(6)), 999_999]
    wrong = [(value, way, _read(way)) for value in sample for way in _ways(value) if _read(way) != [value]]
    assert wrong == []


def test_years_said_in_pairs_agree_with_inflect() -> None:
    for year in range(1801, 2100):
        if year % 100:  # inflect says 1900 as 'nineteen oh oh', which nobody does
            said = str(WRITER.number_to_words(year, group=2, zero="oh", comma=""))
            text = tokens([stretch_of(said, 0.0, 5.0, origin=StretchOrigin.TRANSCRIPT)])
            assert [(n.value, n.manner) for n in numbers(text)] == [(year, "paired")], said


@pytest.mark.parametrize(
    ("said", "values"),
    [
        ("a hundred and twelve thousand, seven seats", [112000, 7]),
        ("sixty-one thousand, one key", [61000, 1]),
        ("eighteen hundred four speed", [1800, 4]),
        ("nineteen seventy two litre", [1970, 2]),
        ("nineteen sixty four door saloon", [1960, 4]),
        ("one, two, three, four", [1, 2, 3, 4]),
        ("a few hundred and no more", []),
    ],
)
def test_a_number_ends_where_the_next_begins(said: str, values: list[float]) -> None:
    assert _read(said) == values
