"""The walk: every walk weighed, sides heeded, and near and off alike to it."""

from __future__ import annotations

from itertools import product
from math import exp

import pytest
from hypothesis import given
from hypothesis import strategies as st

from shutline.car.findings import Drive
from shutline.car.speech import StretchOrigin, stretch_of
from shutline.remarks.analysis import Analysis, analyse
from shutline.remarks.lexicon import shipped_lexicon
from shutline.remarks.walk import Moves, Weighing, decode, moves, shipped_moves

MIRROR = {"near": "off", "off": "near", "": ""}
WEIGHTS = {"turn": -2.0, "by>rear": 2.5, "by>": -1.0, "heed>side": 2.0, "heed>back": 3.0}
STEPS = st.lists(st.sampled_from([("turn",), ("by", "rear"), ("by", "")]), max_size=3)
MOVE = st.builds(
    Moves, STEPS, st.sampled_from(["", "near", "off"]), st.sampled_from([("heed", "side"), ("heed", "back")])
)


def _analysis(said: str, *, drive: Drive = Drive.RHD) -> Analysis:
    return analyse(
        [stretch_of(said, 0.0, 60.0, origin=StretchOrigin.TRANSCRIPT)], drive=drive, lexicon=shipped_lexicon()
    )


def _walked(said: str) -> dict[str, str]:
    analysis = _analysis(said)
    pairs = zip(analysis.named, analysis.walked.walk, strict=True)
    return {mention.parts[0]: side for mention, side in pairs if mention.kind == "noun"}


def _by_hand(listed: list[Moves], weighing: Weighing) -> list[float]:
    """Add up every walk there is, one by one."""
    near, total = [0.0] * len(listed), 0.0
    for walk in product(("near", "off"), repeat=len(listed) + 1):
        score = 0.0
        for at, here in enumerate(listed):
            if walk[at] != walk[at + 1]:
                score += sum(map(weighing.of, here.steps))
            if here.said == walk[at + 1]:
                score += weighing.of(here.heed)
        weight = exp(score)
        total += weight
        for at in range(len(listed)):
            near[at] += weight * (walk[at + 1] == "near")
    return [n / total for n in near]


@given(st.lists(MOVE, max_size=7))
def test_the_chances_are_those_of_all_walks_added_up(listed: list[Moves]) -> None:
    weighing = Weighing(WEIGHTS)
    assert decode(listed, weighing).near == pytest.approx(_by_hand(listed, weighing))


@given(st.lists(MOVE, max_size=40))
def test_mirrored_sides_give_mirrored_chances(listed: list[Moves]) -> None:
    weighing = Weighing(WEIGHTS)
    mirrored = [Moves(here.steps, MIRROR[here.said], here.heed) for here in listed]
    here, there = decode(listed, weighing), decode(mirrored, weighing)
    assert there.near == pytest.approx([1.0 - n for n in here.near])
    assert there.before == pytest.approx([1.0 - n for n in here.before])


def test_where_no_side_is_said_nothing_is_known() -> None:
    analysis = _analysis("Front wing is straight. Door shuts well. Boot lid has a dent. Rear wing is fine.")
    assert set(analysis.walked.walk) == {""}
    assert analysis.walked.near == pytest.approx([0.5] * len(analysis.named))


def test_a_side_said_later_tells_of_the_parts_before_it() -> None:
    assert _walked("Sill is solid. Door has a dent. That's the offside done, all this side.")["sill"] == "off"


def test_the_other_side_is_a_step_of_the_walk() -> None:
    walked = _walked(
        "Down the nearside. Sill is solid. Round to the other side now. Rear wing has a dent. Door is fine."
    )
    assert (walked["sill"], walked["rear_wing"], walked["door"]) == ("near", "off", "off")


def test_the_other_side_is_only_looked_at_in_a_comparison() -> None:
    walked = _walked("Now the offside. Sill is better than the other side. Rear wing has a dent.")
    assert walked["rear_wing"] == "off"


def test_moves_that_were_never_learnt_weigh_nothing() -> None:
    assert shipped_moves().of(("by", "the moon")) == 0.0


def test_a_turn_by_itself_is_unlikely() -> None:
    assert shipped_moves().of(("turn",)) < 0.0


def test_each_mention_has_one_set_of_moves() -> None:
    analysis = _analysis("Nearside. Wing fine, door fine. Boot. Other side: wing, dented.")
    assert len(moves(analysis.named, analysis.at)) == len(analysis.named)
