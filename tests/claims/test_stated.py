"""What is stated in words that no rule reads: it is a claim that nothing backs, and puff is none.

The arithmetic is held against the same sums written out with numpy for one word at a time.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from tests.claims.conftest import finding

from shutline.car.findings import Found
from shutline.claims.check import check
from shutline.claims.claimed import claimed, read_claims
from shutline.claims.record import Record, record
from shutline.claims.rewrite import compare
from shutline.claims.sayings import Saying
from shutline.claims.second_reading import Reading, faintly
from shutline.claims.stated import ALONE, STATED, Piece, mean_odds, shipped_stated, stated_odds, unread
from shutline.claims.verdict import Doubt, Judged, Verdict
from shutline.claims.weighing import AT_ODDS, BACKED, Weighed, borne_out

EXTRAS = [
    "It has a sunroof.",
    "It has air conditioning and cruise control.",
    "Heated front seats.",
    "There is a diesel night heater under the bench.",
]
PUFF = [
    "No time wasters.",
    "Ring before you set off, the kettle is always on.",
    "You will not be disappointed.",
    "Read on, and then come and see her.",
    "A superb car in every way.",
]


def on(*lines: str) -> Record:
    return record(((f"f{n}", finding(line, n)) for n, line in enumerate(lines, start=1)), ())


@pytest.mark.parametrize("text", EXTRAS)
def test_a_thing_that_no_part_has_a_name_for_is_a_claim_that_nothing_backs(text: str) -> None:
    claims = check(text, on("roof dent yes")).claims
    assert claims
    assert {claim.verdict for claim in claims} == {Verdict.UNBACKED}
    assert all(text[c.saying.first : c.saying.end] == c.saying.quote for c in claims)


@pytest.mark.parametrize("text", PUFF)
def test_puff_and_terms_of_the_sale_state_nothing(text: str) -> None:
    assert check(text, on("roof dent yes")).claims == ()


def test_what_is_only_stated_is_told_as_such_and_is_no_statement_of_a_part() -> None:
    (claim,) = check("It has a sunroof.", on()).claims
    assert claim.judged.doubt is Doubt.NOT_NAMED
    assert (claim.saying.spot, claim.saying.fact) == (None, None)
    assert claimed("It has a sunroof.") == ()


def test_a_rewrite_that_adds_a_thing_is_refused_and_one_that_keeps_it_is_not() -> None:
    known = on("bonnet dent yes")
    former = "There is a dent in the bonnet."
    longer = f"{former} It has a sunroof."
    assert not compare(former, longer, known).accepted
    assert compare(longer, longer, known).accepted
    assert not compare(longer, f"{former} It has air conditioning.", known).accepted


def test_what_is_to_be_done_is_not_held_against_the_text() -> None:
    for text in ("The wiring wants parts.", "Adjusting is wanted at the tailgate."):
        assert all(claim.judged.doubt is not Doubt.NOT_NAMED for claim in check(text, on()).claims)


def test_words_that_bring_in_a_year_say_nothing_of_their_own() -> None:
    assert [s.quote for s in read_claims("Built in 1986.").sayings] == ["1986"]


# -- sums and pieces ------------------------------------------------------------------------------------------------


def test_the_odds_of_a_word_are_those_of_the_formula() -> None:
    arrays = shipped_stated()
    rng = np.random.default_rng(7)
    features = rng.normal(size=(5, arrays["inner.w"].shape[1])).astype(np.float32)
    want = []
    for row in features:
        each = []
        for n in range(len(arrays["inner.w"])):
            inner = np.clip(row @ arrays["inner.w"][n] + arrays["inner.b"][n, 0], 0, None)
            each.append(float(inner @ arrays["out.w"][n][:, 0] + arrays["out.b"][n, 0, 0]))
        want.append(np.mean(each))
    np.testing.assert_allclose(stated_odds(features), want, rtol=1e-3, atol=1e-3)


def test_a_piece_is_taken_where_its_words_are_likely_and_nobody_else_has_read_them() -> None:
    text = "a roll bar, waxed, bring your flat cap"
    likely = Piece(((0, 1, STATED), (2, 6, STATED), (7, 10, STATED)))
    one_word = Piece(((12, 17, ALONE - 0.1),))
    unlikely = Piece(((19, 24, STATED - 1.0), (25, 29, STATED), (30, 34, STATED)))
    found = unread(text, [likely, one_word, unlikely], [])
    assert found == [Saying(0, 10, "a roll bar", odds=STATED)]
    assert unread(text, [likely], [(4, 6)]) == []
    assert mean_odds([likely, unlikely], 0, 24) == pytest.approx((3 * STATED + STATED - 1.0) / 4)
    assert mean_odds([likely], 40, 50) is None


def test_what_goes_on_about_one_part_is_told_once() -> None:
    known = on("headlining damp yes # the headlining is damp", "headlining stain yes # a tide line on it")
    claims = check("The headlining is dry and free of stains.", known).claims
    assert [(c.verdict, len(c.judged.known)) for c in claims] == [(Verdict.AT_ODDS, 2)]
    assert claims[0].saying.quote == "The headlining is dry and free of stains"


def test_what_is_faintly_read_is_weighed_and_told_as_a_statement_of_its_part_only_where_something_comes_of_it() -> None:
    text = "Water finds nothing to do in the boot."
    reading = Reading(
        *(0, 5, 0, 37, -1.5, "damp", "boot", 0.9),
        found=(0.1, 0.9, 0.0),
        sides=(1.0, 0.0, 0.0, 0.0),
        ends=(1.0, 0.0, 0.0, 0.0),
        words=frozenset({"water", "boot"}),
        elsewhere=False,
        block=0,
        at=0,
    )
    stated = Saying(0, 37, text[:37], odds=2.0)
    faint = faintly(stated, [reading])
    assert faint is not None
    assert faint.spot is not None
    assert (faint.spot.part, faint.condition, faint.found, faint.odds) == ("boot", "damp", Found.NO, -1.5)
    assert faintly(stated, [replace(reading, elsewhere=True)]) is None
    assert faintly(stated, [replace(reading, first=40, end=45)]) is None
    known = on("boot damp yes").everything
    likely = Weighed((0.1, AT_ODDS + 0.1, 0.1), 0.9, (), known)
    assert borne_out(likely) == Judged(Verdict.AT_ODDS, known)
    assert borne_out(replace(likely, against=())) is None
    assert borne_out(replace(likely, chances=(BACKED + 0.1, 0.1, 0.1), backing=known)) == Judged(Verdict.BACKED, known)
    assert borne_out(replace(likely, chances=(0.3, 0.3, 0.4), backing=known)) is None


def test_headings_of_a_draft_claim_nothing() -> None:
    text = "History\n\nThree keepers are on record. Two keys come with it.\n\nOutside\n\nThe bonnet is sound and clean."
    assert [s.quote for s in read_claims(text).sayings if s.fact] == ["Three keepers", "Two keys"]
    assert not any(c.saying.quote in ("History", "Outside", "are on record") for c in check(text, on()).claims)


def test_short_lines_of_a_list_are_no_headings() -> None:
    assert {s.spot.part for s in claimed("New tyres\n\nNew battery\n\nNew exhaust\n") if s.spot} == {
        *("tyre", "battery", "exhaust")
    }


@pytest.mark.parametrize(
    ("text", "quote"),
    [
        ("A 1969 saloon with power steering.", "power steering"),
        ("The bonnet is sound with a chrome mascot.", "a chrome mascot"),
    ],
)
def test_what_stands_behind_with_is_stated_beside_what_was_understood_before_it(text: str, quote: str) -> None:
    claims = check(text, on("bonnet sound yes")).claims
    assert [c.saying.quote for c in claims if c.judged.doubt is Doubt.NOT_NAMED] == [quote]


def test_with_and_a_noise_or_a_count_adds_nothing() -> None:
    for text in ("It comes with two keys.", "The engine starts with a click."):
        assert not any(c.judged.doubt is Doubt.NOT_NAMED for c in check(text, on()).claims)


def test_a_headline_that_states_something_is_a_claim() -> None:
    under = "This car has been in my family for a good many years now."
    for line in ("Rust free example", "Never welded", "With a sunroof and power steering"):
        assert any(c.saying.first < len(line) for c in check(f"{line}\n\n{under}", on()).claims), line
    for line in ("What has been put right", "Under the bonnet and on the road", "What was not looked at"):
        assert not any(c.saying.first < len(line) for c in check(f"{line}\n\n{under}", on()).claims), line


@pytest.mark.parametrize(
    "text",
    ["Always garaged.", "Matching numbers.", "MOT until June next year.", "It has a long MOT.", "Only ever one owner."],
)
def test_what_is_swept_over_a_car_is_a_claim_however_it_is_put(text: str) -> None:
    claims = check(text, on("roof dent yes")).claims
    assert [claim.verdict for claim in claims] == [Verdict.UNBACKED]
