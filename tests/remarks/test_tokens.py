"""Words become tokens the same way however they are written."""

from __future__ import annotations

import pytest

from shutline.car.speech import StretchOrigin, stretch_of
from shutline.remarks.tokens import COMMA, FULL_STOP, NO_MARK, QUESTION, stem, tokens


def _cut(*said: str) -> list[str]:
    return tokens([stretch_of(s, 0.0, 1.0, origin=StretchOrigin.TRANSCRIPT) for s in said]).norm


def test_clitics_come_apart() -> None:
    assert _cut("The door's fine, it doesn't drop") == ["the", "door", "'s", "fine", "it", "does", "n't", "drop"]


def test_dialect_and_lost_apostrophes_read_alike() -> None:
    assert _cut("couldnae") == _cut("couldn't") == _cut("couldnt")
    assert _cut("it ain't") == _cut("it isn't")


def test_curly_apostrophes_read_as_straight_ones() -> None:
    assert _cut("it doesn\u2019t") == _cut("it doesn't")


def test_padding_and_fillers_are_left_out() -> None:
    assert _cut("the sill, erm, is as you can see solid") == ["the", "sill", "is", "solid"]


def test_end_of_a_stretch_is_no_mark() -> None:
    text = tokens([stretch_of(s, 0.0, 1.0, origin=StretchOrigin.TRANSCRIPT) for s in ("she's a", "saloon, is it? Yes")])
    assert text.mark == [FULL_STOP, NO_MARK, NO_MARK, NO_MARK, COMMA, NO_MARK, QUESTION]


def test_plurals_fold_and_other_words_stay() -> None:
    assert [stem(w) for w in ("tyres", "tires", "lenses", "leaves", "chassis", "glass", "bodies")] == [
        "tyre",
        "tyre",
        "lens",
        "leaf",
        "chassis",
        "glass",
        "body",
    ]


def test_quotes_are_verbatim() -> None:
    text = tokens([stretch_of("Well, the Door's FINE.", 0.0, 1.0, origin=StretchOrigin.TRANSCRIPT)])
    assert text.quote(1, len(text.norm) - 1) == "the Door's FINE."


@pytest.mark.parametrize(
    "said",
    [
        "the M O T runs",
        "the m.o.t runs",
        "the M.O.T. runs",
        "the M. O. T. runs",
        "the M-O-T runs",
        "the em oh tee runs",
    ],
)
def test_short_forms_spelt_out_are_one_word(said: str) -> None:
    text = tokens([stretch_of(said, 0.0, 1.0, origin=StretchOrigin.TRANSCRIPT)])
    assert text.norm == ["the", "mot", "runs"]
    assert text.mark == [FULL_STOP, NO_MARK, NO_MARK]
    assert text.quote(1, 1) == " ".join(said.split()[1:-1])


def test_marks_and_endings_of_a_spelt_form_stay() -> None:
    text = tokens([stretch_of("It has no M.O.T. She M O T'd it, P A S?", 0.0, 1.0, origin=StretchOrigin.TRANSCRIPT)])
    assert text.norm == ["it", "has", "no", "mot", "she", "mot", "'d", "it", "pas"]
    assert text.mark == [FULL_STOP, NO_MARK, NO_MARK, NO_MARK, FULL_STOP, NO_MARK, NO_MARK, NO_MARK, COMMA]


def test_letters_of_a_longer_run_are_no_short_form() -> None:
    assert "mot" not in _cut("the plate is M O T X")
    assert "abs" not in _cut("it begins with K A B S")
    assert "mot" in _cut("I got a M O T")
    for said in ("A B S 412 T", "A B S four one two T", "A B S, four one two", "K L seven A B S", "K L 07 A B S"):
        assert "abs" not in _cut(f"the mark is {said}")
    for said in ("M O T 2027", "M O T twenty twenty seven", "No M O T. Two keys", "miles 41206. M O T 2027"):
        assert "mot" in _cut(said)
