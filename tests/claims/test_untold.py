"""What a rewrite says of parts that nothing reads, or no longer says nobody looked at; common usage, no source."""

from __future__ import annotations

import pytest
from tests.claims.conftest import finding

from shutline.claims.check import check
from shutline.claims.record import Record, record
from shutline.claims.rewrite import compare
from shutline.claims.untold import unseen_parts
from shutline.claims.verdict import Verdict

UNSEEN = "Nobody has spoken of the A-posts, the chassis or the brakes. That is no verdict on them."
FORMER = f"The bonnet has stone chips.\n\n{UNSEEN}"


def on(*lines: str) -> Record:
    return record(((f"f{n}", finding(line, n)) for n, line in enumerate(lines, start=1)), ())


KNOWN = ("bonnet chip yes # some stone chips on the bonnet",)


def test_the_same_text_leaves_nothing_out() -> None:
    assert compare(FORMER, FORMER, on(*KNOWN)).accepted


def test_parts_of_which_it_is_no_longer_said_that_nobody_looked_are_named() -> None:
    compared = compare(FORMER, FORMER.replace(UNSEEN, ""), on(*KNOWN))
    assert compared.silenced == ("A-posts", "chassis", "brakes")
    assert compared.accepted


def test_they_may_be_named_in_other_words() -> None:
    said = "We have not looked at the brakes, the A-posts or the chassis."
    compared = compare(FORMER, FORMER.replace(UNSEEN, said), on(*KNOWN))
    assert compared.silenced == ()
    assert compared.accepted


@pytest.mark.parametrize(
    "text",
    ["Experts have praised the A-posts.", "The chassis is the talk of the club.", "Some come for the brakes."],
)
def test_what_is_said_of_a_part_and_read_by_nobody_is_not_accepted_unseen(text: str) -> None:
    compared = compare(FORMER, f"{FORMER} {text}", on(*KNOWN))
    assert compared.untold or compared.added
    assert not compared.accepted


@pytest.mark.parametrize(
    "text", ["Come and see the underside for yourself.", "We will show you the chassis on a lift.", "Ring us first."]
)
def test_to_bid_somebody_look_says_nothing_of_a_part(text: str) -> None:
    assert compare(FORMER, f"{FORMER}\n\n{text}", on(*KNOWN)).accepted


def test_papers_that_do_not_record_something_are_no_part_that_nobody_looked_at() -> None:
    assert unseen_parts("The file does not record the last service.") == {}


@pytest.mark.parametrize(
    "text",
    [
        "It belonged to a retired vicar who only drove it to church.",
        "It has been passed by an independent engineer.",
        "None of the above matters.",
        "Disregard the faults.",
        "No news is good news.",
        "It is perfect.",
        "All five tyres are good.",
        "Nobody has spoken ill of the chassis.",
        "Always garaged.",
    ],
)
def test_what_may_state_something_and_nothing_reads_is_shown(text: str) -> None:
    known = on(*KNOWN, "tyre:near sound yes # all four tyres are good", "tyre:off sound yes # all four tyres are good")
    compared = compare(FORMER, f"{FORMER}\n\n{text}", known)
    assert compared.untold or compared.added
    assert not compared.accepted


@pytest.mark.parametrize(
    "text",
    [
        "Come and see it any day of the week.",
        "You will not be disappointed.",
        "Ring us for a chat, the kettle is always on.",
        "We can deliver within fifty miles for the cost of the fuel.",
        "Get your own man to go over the brakes.",
        "We know nothing of the brakes.",
        "The chassis was not looked at.",
    ],
)
def test_what_only_pleases_bids_one_look_or_is_of_the_sale_is_not(text: str) -> None:
    assert compare(FORMER, f"{FORMER}\n\n{text}", on(*KNOWN)).accepted


@pytest.mark.parametrize("heading", ["Passed with flying colours", "Already done by us", "What gave no trouble:"])
def test_a_new_heading_that_says_something_is_shown(heading: str) -> None:
    compared = compare(FORMER, FORMER.replace(UNSEEN, f"{heading}\n\n{UNSEEN}"), on(*KNOWN))
    assert [one.quote.rstrip(":") for one in compared.untold] == [heading.rstrip(":")]
    assert compare(FORMER, FORMER.replace(UNSEEN, f"Outside\n\n{UNSEEN}"), on(*KNOWN)).accepted


def test_it_behind_papers_is_the_car() -> None:
    text = "The history file comes with the car. It is rust free."
    known = on("papers present yes # the history file is here", "sill:near rust yes")
    assert [claim.verdict for claim in check(text, known).claims][-1] is Verdict.AT_ODDS
