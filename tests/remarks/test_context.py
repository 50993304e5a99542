"""What the network makes of a text, by the shipped weights."""

from __future__ import annotations

import re

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from shutline.car.findings import Drive
from shutline.car.speech import StretchOrigin, stretch_of
from shutline.car.vocabulary import vocabulary
from shutline.remarks import read, shipped_lexicon
from shutline.remarks.analysis import Analysis, analyse
from shutline.remarks.context import (
    AHEAD,
    BACK,
    Context,
    distance_class,
    shipped_network,
    understand,
)
from shutline.remarks.network import Floats
from shutline.remarks.placing import POSITIONS, SIDES

WALK = (
    "Right, nearside front wing. Bit of rust along the bottom edge, nothing serious. The offside one is straight as a "
    "die. Driver's door shuts with a lovely clunk and the passenger's drops a touch. Somebody has had a go at that "
    "sill with a paintbrush. Bonnet, no dents bar one little ding by the badge."
)


def _analysed(words: str) -> Analysis:
    stretch = stretch_of(words, 0.0, 60.0, origin=StretchOrigin.TRANSCRIPT)
    return analyse([stretch], drive=Drive.RHD, lexicon=shipped_lexicon())


def _understood(words: str) -> Context:
    context = understand(_analysed(words), shipped_network())
    assert context is not None
    return context


def test_the_network_speaks_of_the_parts_and_conditions_of_the_vocabulary() -> None:
    network = shipped_network()
    assert set(network.parts) == set(vocabulary().parts)
    assert set(network.conditions) == set(vocabulary().conditions)


def test_chances_are_chances() -> None:
    context = _understood(WALK)
    tokens, conditions = np.arange(len(context.stops)), np.zeros(len(context.stops), dtype=np.int64)
    for chances in (context.part_chances(tokens, conditions), context.found_chances(tokens, conditions)):
        assert np.all(chances >= 0.0)
        np.testing.assert_allclose(chances.sum(axis=1), 1.0, atol=1e-4)


def _mirrored(words: str) -> str:
    swap = {"nearside": "offside", "offside": "nearside", "Driver's": "Passenger's", "passenger's": "driver's"}
    return re.sub("|".join(swap), lambda m: swap[m.group()], words)


def test_mirrored_words_are_understood_the_same() -> None:
    assert _mirrored(WALK) != WALK
    np.testing.assert_array_equal(_understood(WALK).told, _understood(_mirrored(WALK)).told)


def _places(words: str, part: str) -> tuple[Floats, Floats]:
    context = _understood(words)
    tokens = np.arange(len(context.stops))
    return context.place_chances(tokens, np.full(len(tokens), context.network.parts[part]))


def test_chances_of_side_and_end_are_chances() -> None:
    for chances in _places(WALK, "front_wing"):
        assert chances.shape == (len(_understood(WALK).stops), 4)
        assert np.all(chances >= 0.0)
        np.testing.assert_allclose(chances.sum(axis=1), 1.0, atol=1e-4)


def test_mirrored_words_change_near_for_off_and_nothing_else() -> None:
    (sides, ends), (mirrored, same) = _places(WALK, "front_wing"), _places(_mirrored(WALK), "front_wing")
    np.testing.assert_allclose(sides, mirrored[:, [0, 2, 1, 3]], atol=1e-5)
    np.testing.assert_allclose(ends, same, atol=1e-5)


@pytest.mark.parametrize(
    ("words", "part", "side", "end"),
    [
        ("Nearside front wing. Bit of rust along the bottom edge.", "front_wing", "near", ""),
        ("Offside sill, that is rusty.", "sill", "off", ""),
        ("Front bumper, dented. Rear bumper, scratched and dull.", "bumper", "", "rear"),
        ("The wings are both sound.", "front_wing", "both", ""),
    ],
)
def test_the_last_words_are_about_the_side_and_end_that_were_said(words: str, part: str, side: str, end: str) -> None:
    sides, ends = _places(words, part)
    assert SIDES[int(sides[-1].argmax())] == side
    assert POSITIONS[int(ends[-1].argmax())] == end


def test_where_nothing_tells_a_side_neither_is_likelier() -> None:
    sides, _ = _places("There is some rust on the sill.", "sill")
    np.testing.assert_allclose(sides[:, 1], sides[:, 2], atol=1e-6)


def test_a_text_longer_than_is_read_in_one_go_is_understood_as_its_parts_are() -> None:
    once = _understood(WALK)
    size = len(once.stops)
    often = _understood(" ".join([WALK] * 14))
    assert len(often.stops) == 14 * size
    # In the middle each repetition has the same words around it, but not the same place in its window.
    for first in range(3 * size, 10 * size, size):
        here, there = often.told[first : first + size], often.told[first + size : first + 2 * size]
        strong = here > 0.0
        assert np.mean(strong == (there > 0.0)) > 0.99


def test_no_words_are_not_understood() -> None:
    assert understand(_analysed(""), shipped_network()) is None


@pytest.mark.parametrize("words", ["rust", "?", "1968", "é", "x" * 500, "door " * 700])
def test_odd_texts_are_read(words: str) -> None:
    read([stretch_of(words, 0.0, 5.0, origin=StretchOrigin.TRANSCRIPT)])


@given(st.text(max_size=60))
def test_no_text_makes_it_raise(words: str) -> None:
    read([stretch_of(words, 0.0, 5.0, origin=StretchOrigin.TRANSCRIPT)])


def test_distances_have_classes_on_both_sides() -> None:
    classes = [distance_class(offset) for offset in range(-BACK, AHEAD + 1)]
    assert min(classes) == 0
    assert max(classes) <= 25
    assert distance_class(-1) != distance_class(1)


def test_what_no_phrase_tells_is_said_to_have_none() -> None:
    words = "The horn barks. Headlining hangs like washing. Boot lid stays up by itself. The heater blows hot."
    findings = read([stretch_of(words, 0.0, 60.0, origin=StretchOrigin.TRANSCRIPT)]).findings
    told = [finding for finding in findings if finding.footings[0].rules[0] == "network.told"]
    assert told
    for finding in findings:
        assert (finding in told) == ("No phrase" in finding.why[0])


def test_by_phrases_the_network_has_no_say() -> None:
    stretch = stretch_of(WALK, 0.0, 60.0, origin=StretchOrigin.TRANSCRIPT)
    alone = read([stretch], by_phrases=True)
    assert alone.findings
    assert all(f.footings[0].rules[0] != "network.told" for f in alone.findings)
    assert alone.visits == read([stretch]).visits
