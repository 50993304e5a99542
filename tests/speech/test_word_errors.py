from __future__ import annotations

from types import ModuleType

import pytest
from hypothesis import given
from hypothesis import strategies as st

WORDS = st.lists(st.sampled_from(["sill", "wing", "boot", "door"]), max_size=8)


# Counted by hand.
@pytest.mark.parametrize(
    ("said", "heard", "counts"),
    [
        ("the sill is sound", "the sill is sound", (0, 0, 0)),
        ("the sill is sound", "the seal is sound", (1, 0, 0)),
        ("the sill is sound", "sill is sound", (0, 1, 0)),
        ("the sill is sound", "the the sill is very sound", (0, 0, 2)),
        ("no rust on the wing", "rust on a wing then", (1, 1, 1)),
        ("", "sill", (0, 0, 1)),
        ("sill", "", (0, 1, 0)),
    ],
)
def test_errors_are_counted_as_by_hand(
    word_errors: ModuleType, said: str, heard: str, counts: tuple[int, int, int]
) -> None:
    errors = word_errors.word_errors(said.split(), heard.split())
    assert (errors.changed, errors.left_out, errors.put_in) == counts


@given(said=WORDS, heard=WORDS)
def test_the_other_way_round_left_out_and_put_in_change_places(
    word_errors: ModuleType, said: list[str], heard: list[str]
) -> None:
    there = word_errors.word_errors(said, heard)
    back = word_errors.word_errors(heard, said)
    assert there.changed + there.left_out + there.put_in == back.changed + back.left_out + back.put_in
    assert len(said) - there.left_out + there.put_in == len(heard)


def test_figures_and_their_words_are_the_same(word_errors: ModuleType) -> None:
    assert word_errors.plain_words("It's 48,200, from 1974.") == word_errors.plain_words(
        "it's forty-eight thousand two hundred from nineteen seventy four"
    )
