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
    ],
)
def test_spoken_forms(said: str, value: float) -> None:
    assert _read(said) == [value]
