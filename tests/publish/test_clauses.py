"""What may not leave a text goes with the smallest whole that leaves what reads well."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from shutline.car.going_out import PrivateKind
from shutline.publish.private import private_of

KEPT = private_of(
    [
        (PrivateKind.KEEPER, "Augusta Harbottle"),
        (PrivateKind.PLACE, "Nether Wallop"),
        (PrivateKind.PRICE, "\N{POUND SIGN}4,250"),
    ]
)


@pytest.mark.parametrize(
    ("text", "left"),
    [
        ("Ostrel Pavane, ex Augusta Harbottle", "Ostrel Pavane"),
        ("A sound car (ex Augusta Harbottle), and dry.", "A sound car, and dry."),
        (
            "It was bought from Augusta Harbottle for \N{POUND SIGN}4,250 in May. The sill is rusty.",
            "The sill is rusty.",
        ),
        ("The sill is rusty, said Augusta Harbottle, and the floor is wet.", "The sill is rusty and the floor is wet."),
        ("The car, once Augusta Harbottle's, is sound.", "The car is sound."),
        ("It has two keys, two spare wheels, and a letter of Augusta Harbottle.", "It has two keys, two spare wheels."),
        ("It has had two keepers; Augusta Harbottle was the first. It runs.", "It has had two keepers. It runs."),
        ("Augusta Harbottle kept it, and the floor is dry.", ""),
        # What would not read on goes with its sentence.
        ("It came from Wales by road in May, was kept at Nether Wallop, has a dry floor.", ""),
        ("Is it the one that Augusta Harbottle had?", ""),
        ("It was seen by J. Quill at Nether Wallop. It runs.", "It runs."),
        ("Nothing private is in it.  It  stays.", "Nothing private is in it.  It  stays."),
        ("", ""),
    ],
)
def test_what_is_left_reads_well(text: str, left: str) -> None:
    assert KEPT.prose(text) == left


def test_a_title_that_is_nothing_else_keeps_its_mark() -> None:
    assert KEPT.titled("Augusta Harbottle's Ostrel") == "[…] Ostrel"
    assert KEPT.titled("Ostrel Pavane, ex Augusta Harbottle") == "Ostrel Pavane"


@given(before=st.text(max_size=30), after=st.text(max_size=30))
def test_private_words_never_stay(before: str, after: str) -> None:
    assert "Harbottle" not in KEPT.prose(f"{before} Augusta Harbottle {after}")
