"""On which side words say that something is, where the car file keeps none; which side is which is common usage.

That the driver sits on the offside of a right-hand drive car and on the nearside of a left-hand drive one follows from
the nearside being the one by the kerb where one drives on the left (Highway Code, glossary of use; from memory).
"""

from __future__ import annotations

import pytest
from tests.claims.conftest import finding

from shutline.car.findings import Drive, Side
from shutline.claims.check import check
from shutline.claims.record import Record, record
from shutline.claims.told_sides import sides_told
from shutline.claims.verdict import Verdict


def on(*lines: str) -> Record:
    return record(((f"f{n}", finding(line, n)) for n, line in enumerate(lines, start=1)), ())


@pytest.mark.parametrize(
    ("words", "sides"),
    [
        ("cracked at its offside end", {Side.OFF}),
        ("cracked on the nearside corner", {Side.NEAR}),
        ("a dent on the right", {Side.OFF}),
        ("the left one", {Side.NEAR}),
        ("on the left-hand side", {Side.NEAR}),
        ("the driver's corner", {Side.OFF}),
        ("rust right through, all right otherwise", set()),
        ("fitted the right way round", set()),
        ("what is left of the chrome", set()),
        ("from the nearside to the offside", {Side.NEAR, Side.OFF}),
    ],
)
def test_words_tell_a_side(words: str, sides: set[Side]) -> None:
    assert sides_told(words, Drive.RHD) == sides


def test_the_driver_sits_on_the_other_side_of_a_left_hand_drive_car() -> None:
    assert sides_told("on the driver's side", Drive.LHD) == {Side.NEAR}
    assert sides_told("on the passenger's side", Drive.LHD) == {Side.OFF}


CRACKED = "bumper:rear crack yes # the bumper is cracked on the nearside corner"


@pytest.mark.parametrize(
    ("text", "verdict"),
    [
        ("The rear bumper is cracked at its offside end.", Verdict.AT_ODDS),
        ("The rear bumper is cracked at its nearside end.", Verdict.BACKED),
        ("The rear bumper is cracked.", Verdict.BACKED),
    ],
)
def test_a_fault_that_is_claimed_of_the_other_end_is_at_odds(text: str, verdict: Verdict) -> None:
    assert [claim.verdict for claim in check(text, on(CRACKED)).claims] == [verdict]


def test_praise_of_one_end_is_not_backed_by_that_of_the_other() -> None:
    known = on("bumper:rear sound yes # the bumper is good on the nearside corner")
    (claim,) = check("The rear bumper is good on the offside corner.", known).claims
    assert claim.verdict is not Verdict.BACKED


def test_right_as_a_word_of_praise_is_no_side() -> None:
    assert sides_told("it has the right badge and the right colour", Drive.RHD) == frozenset()
    assert sides_told("on the right, above the lamp", Drive.RHD) == {Side.OFF}
