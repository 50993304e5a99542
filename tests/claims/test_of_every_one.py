"""What is claimed of every one of several, or of the whole car, stands on no single one; common usage, no source."""

from __future__ import annotations

import pytest
from tests.claims.conftest import finding

from shutline.claims.check import check
from shutline.claims.claimed import claimed
from shutline.claims.record import Record, record
from shutline.claims.verdict import Verdict


def on(*lines: str) -> Record:
    return record(((f"f{n}", finding(line, n)) for n, line in enumerate(lines, start=1)), ())


@pytest.mark.parametrize(
    ("text", "known"),
    [
        ("The seats are all good.", ("seat:near:front sound yes", "seat:off:front sound yes")),
        ("Not a crack in any of the glass.", ("windscreen crack no # the windscreen's got no cracks",)),
        ("There are no scratches on the doors.", ("door:near:front scratch no",)),
        ("The floors are solid.", ("boot_floor sound yes # the boot floor is solid",)),
        ("Full service history.", ("papers present yes # a few old bills",)),
        ("It comes with a complete service history.", ("papers present yes # some old bills in the folder",)),
    ],
)
def test_one_of_several_backs_no_claim_of_all(text: str, known: tuple[str, ...]) -> None:
    assert [claim.verdict for claim in check(text, on(*known)).claims] == [Verdict.UNBACKED]


def test_all_the_seats_are_backed_by_what_was_said_of_each() -> None:
    both = tuple(f"seat:{side}:{end} sound yes" for side in ("near", "off") for end in ("front", "rear"))
    assert [claim.verdict for claim in check("The seats are all good.", on(*both)).claims] == [Verdict.BACKED]


@pytest.mark.parametrize("text", ["No rust. The boot is dry.", "No rust, a dry boot.", "No rust, good chrome."])
def test_what_is_ruled_out_with_no_part_named_is_ruled_out_of_the_whole_car(text: str) -> None:
    rust = next(claim for claim in check(text, on("sill:near rust yes")).claims if claim.saying.condition == "rust")
    assert rust.verdict is Verdict.AT_ODDS
    assert rust.saying.spot is not None
    assert rust.saying.spot.part == "car"


@pytest.mark.parametrize(
    ("text", "part"),
    [
        ("No rust, bubbles or blisters on the arches.", "arch"),
        ("No rust, dents or scratches on the bonnet.", "bonnet"),
        ("Underneath, the floors are solid. No rust.", "underside"),
    ],
)
def test_a_list_of_what_is_ruled_out_keeps_its_part(text: str, part: str) -> None:
    assert {said.spot.part for said in claimed(text) if said.spot and said.condition == "rust"} == {part}


@pytest.mark.parametrize(
    ("text", "known"),
    [
        ("The panel gaps are uneven.", "bodywork gap no # gaps are even all round"),
        ("The gaps on the bonnet are uneven.", "bonnet gap no # nice even gaps"),
        ("The bonnet fits badly.", "bonnet gap no # the bonnet fits well"),
        ("It is hard to start.", "starting works yes # starts first turn"),
    ],
)
def test_a_fault_that_is_claimed_is_not_backed_by_praise(text: str, known: str) -> None:
    (claim,) = check(text, on(known)).claims
    assert (claim.verdict, claim.judged.doubt) == (Verdict.AT_ODDS, None)


@pytest.mark.parametrize(
    "text", ["Every light lens is whole.", "All the lamp lenses are whole.", "Every lens is intact."]
)
def test_every_lens_is_not_the_headlights_alone(text: str) -> None:
    known = ("headlight:both sound yes # both headlights are lovely", "rear_light:off crack yes")
    assert [claim.verdict for claim in check(text, on(*known)).claims] == [Verdict.AT_ODDS]


def test_rust_anywhere_makes_a_car_that_is_not_rust_free() -> None:
    (claim,) = check("It is not rust free.", on("sill:near rust yes")).claims
    assert claim.verdict is Verdict.BACKED


def test_nothing_leaks_stands_on_no_engine_alone() -> None:
    (claim,) = check("Nothing leaks.", on("engine leak no # no leaks from the engine")).claims
    assert claim.verdict is Verdict.UNBACKED
