"""What a text brings up to deny it, or says to have been put right, is a claim that it is not so.

Denials by a clause of their own ('but that is nonsense') lie outside the reach of NegEx-style triggers, which stand in
the clause of what they deny (Chapman et al. 2001); the sentences are invented, and what they mean is common usage.
"""

from __future__ import annotations

import pytest
from tests.claims.conftest import finding

from shutline.car.findings import Found
from shutline.claims.check import check
from shutline.claims.claimed import claimed
from shutline.claims.record import Record, record
from shutline.claims.rewrite import compare
from shutline.claims.verdict import Verdict

DENIED = [
    "Somebody says that the nearside sill is rusty, but that is nonsense.",
    "They say the nearside sill is rusty, which is not true.",
    "They say the nearside sill is rusty, which isn't true.",
    "One fellow told me that the nearside sill was rusty; he was mistaken.",
    "There is said to be rust in the nearside sill. That is simply untrue.",
    "Rust in the nearside sill? Nonsense.",
]
PUT_RIGHT = [
    "The rust on the nearside sill has been repaired.",
    "The rust on the nearside sill was properly put right.",
    "The nearside sill had rust, which has been put right.",
]
AS_IT_IS = [
    "The nearside sill is rusty.",
    "The rust on the nearside sill has not been repaired.",
    "The rusty nearside sill has been badly repaired.",
    "A no-nonsense car: the nearside sill is rusty.",
    "The nearside sill is rusty, and that is true of most of them.",
]
RUSTY = ("sill:near rust yes",)


def on(*lines: str) -> Record:
    return record(((f"f{n}", finding(line, n)) for n, line in enumerate(lines, start=1)), ())


@pytest.mark.parametrize("text", [*DENIED, *PUT_RIGHT])
def test_a_fault_that_is_brought_up_to_deny_it_is_at_odds_with_the_same_fault(text: str) -> None:
    found = [claim for claim in check(text, on(*RUSTY)).claims if claim.saying.condition == "rust"]
    assert [claim.verdict for claim in found] == [Verdict.AT_ODDS]
    assert found[0].saying.found is Found.NO
    assert text[found[0].saying.first : found[0].saying.end] == found[0].saying.quote


@pytest.mark.parametrize("text", AS_IT_IS)
def test_a_fault_that_is_told_stays_told(text: str) -> None:
    found = [claim for claim in check(text, on(*RUSTY)).claims if claim.saying.condition == "rust"]
    assert [claim.verdict for claim in found] == [Verdict.BACKED]


@pytest.mark.parametrize("text", [*DENIED, *PUT_RIGHT])
def test_a_rewrite_that_denies_a_fault_is_refused(text: str) -> None:
    assert not compare("The nearside sill is rusty.", text, on(*RUSTY)).accepted


def test_a_wheel_that_is_not_true_has_a_fault() -> None:
    told = claimed("The nearside front wheel is not true.")
    assert [(said.spot.part, said.found) for said in told if said.spot] == [("wheel", Found.YES)]


DRAFT = "The boot is damp. Both rear arches have small scabs of rust. The offside rear light is cracked."
STANDS = ("boot damp yes", "arch:both:rear rust yes slight", "rear_light:off crack yes")
DOUBTED = [
    "It is a myth that the boot is damp.",
    "The boot is damp no longer.",
    "Is the boot damp? Think again.",
    "The boot is damp (fixed).",
    "The boot is damp. Not any more.",
    "The boot is damp, said nobody ever.",
    "The boot is allegedly damp.",
    "The boot was damp.",
    "The boot may be damp.",
    "The boot of our other car is damp.",
    "A damp boot is common on these.",
    "The previous keeper complained of a damp boot, which we could not reproduce.",
    "You may hear that the boot is damp. It isn't.",
]
PLAIN = [
    "The boot is damp.",
    "There is damp in the boot.",
    "We must tell you that the boot is damp.",
    "Damp in the boot, I'm afraid.",
]


@pytest.mark.parametrize("told", DOUBTED)
def test_a_fault_that_is_told_as_doubtful_over_or_of_another_car_is_left_out(told: str) -> None:
    compared = compare(DRAFT, DRAFT.replace("The boot is damp.", told), on(*STANDS))
    assert not compared.accepted
    assert "damp" in {claim.saying.condition for claim in (*compared.dropped, *compared.added)}


@pytest.mark.parametrize("told", PLAIN)
def test_a_fault_that_is_told_in_other_words_is_kept(told: str) -> None:
    assert compare(DRAFT, DRAFT.replace("The boot is damp.", told), on(*STANDS)).accepted


def test_a_sentence_that_says_that_it_states_nothing_is_no_claim() -> None:
    text = "Nobody has spoken of the front wings. That is no verdict on them."
    assert check(text, on("front_wing:near rust yes")).claims == ()
