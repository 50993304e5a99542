"""What is told of another time, of every one, or denies what was praised; what the words mean is common usage."""

from __future__ import annotations

import pytest
from tests.claims.conftest import finding

from shutline.car.findings import Fact, Footing, FootingKind
from shutline.claims.check import check
from shutline.claims.record import Record, record
from shutline.claims.verdict import Verdict


def on(*lines: str) -> Record:
    return record(((f"f{n}", finding(line, n)) for n, line in enumerate(lines, start=1)), ())


SILLS = ("sill:both sound yes # the sills are solid",)


@pytest.mark.parametrize(
    ("text", "verdict"),
    [
        ("The sills used to be solid.", Verdict.UNBACKED),
        ("The sills will be solid once welded.", Verdict.UNBACKED),
        ("The sills are hardly solid.", Verdict.AT_ODDS),
        ("The sills are not solid.", Verdict.AT_ODDS),
        ("The sills are solid.", Verdict.BACKED),
        ("You will be pleased to hear that the sills are solid.", Verdict.BACKED),
    ],
)
def test_praise_of_another_time_is_not_backed_and_its_denial_is_at_odds(text: str, verdict: Verdict) -> None:
    first = next(claim for claim in check(text, on(*SILLS)).claims if claim.saying.condition in ("sound", "fault"))
    assert first.verdict is verdict


@pytest.mark.parametrize(
    "text",
    ["There is rust where the nearside sill was repaired.", "The nearside sill has rusted since it was repaired."],
)
def test_a_repair_that_tells_when_or_where_mends_nothing(text: str) -> None:
    rust = next(claim for claim in check(text, on("sill:near rust yes")).claims if claim.saying.condition == "rust")
    assert rust.verdict is Verdict.BACKED


def test_a_claim_beside_words_that_state_nothing_is_read() -> None:
    claims = check("Every sill is solid, and that is no verdict on them.", on("sill:near rust yes")).claims
    assert [claim.verdict for claim in claims] == [Verdict.AT_ODDS]


def test_all_doors_stand_on_no_single_one() -> None:
    (claim,) = check("All doors shut with one finger.", on("door:near:front works yes # shuts with one finger")).claims
    assert claim.verdict is Verdict.UNBACKED


COLD = ("engine works yes # it starts first time from cold",)
DRIVEN = ("engine works yes # drove it here and it pulls like a train",)


@pytest.mark.parametrize("text", ["It drives beautifully.", "She drives very well.", "It pulls strongly."])
def test_a_cold_start_is_no_footing_for_how_a_car_drives(text: str) -> None:
    # Common practice, no source: what was started in a yard has not been on the road.
    assert [claim.verdict for claim in check(text, on(*COLD)).claims] == [Verdict.UNBACKED]
    assert [claim.verdict for claim in check(text, on(*DRIVEN)).claims] == [Verdict.BACKED]


def test_what_stands_behind_which_is_said_of_the_part_before() -> None:
    text = "It has a scratch on the nearside rear door (which is dirty too), a cracked offside rear light, a torn seat."
    claims = check(text, on("door:near:rear dirt yes", "rear_light:off crack yes")).claims
    told = {(c.saying.spot.part, c.saying.condition) for c in claims if c.saying.spot is not None}
    assert told == {("door", "scratch"), ("door", "dirt"), ("rear_light", "crack"), ("seat", "tear")}


@pytest.mark.parametrize(
    "text",
    [
        "Nor has anybody spoken of the bulkhead, the charging, the offside rear light or the pedals.",
        "Only in passing has anybody spoken of the steering and the brakes, which are a matter of safety too.",
        "The file does not record the number of keys, the kind of gearbox or the last service.",
        "All four seats need treatment.",
        "The nearside door and the battery tray need paint.",
    ],
)
def test_what_our_own_draft_says_of_nothing_known_and_of_work_claims_nothing(text: str) -> None:
    assert check(text, on(*SILLS)).claims == ()


def test_keepers_before_the_present_one_are_one_fewer_than_all() -> None:
    # As schema.org's numberOfPreviousOwners counts the present one (check_values.md, 14).
    said = Footing(FootingKind.SAID, "walk", 1.0, 2.0, "two owners before me", rules=("keepers-before",))
    known = record((), [("f1", Fact("keepers", 2, None, (said,)))])
    verdicts = {
        text: [claim.verdict for claim in check(text, known).claims]
        for text in (
            "Two keepers before the present one are on record.",
            "Three owners.",
            "Two previous owners.",
            "Two owners.",
        )
    }
    assert list(verdicts.values()) == [[Verdict.BACKED], [Verdict.BACKED], [Verdict.BACKED], [Verdict.AT_ODDS]]
