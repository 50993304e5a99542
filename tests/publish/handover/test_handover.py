"""The handover sheet names every fault, and all that was heard and that nobody has confirmed as just that."""

from __future__ import annotations

import io
from dataclasses import replace

import pypdf
import pytest

from shutline.car.carfile import CarFile, KeptFact, KeptFinding
from shutline.car.findings import Drive, Fact, Finding, Footing, FootingKind, Found, Side, State
from shutline.car.going_out import Edition
from shutline.publish.buyers.public import heard_only, public_car, with_heard_facts
from shutline.publish.handover import HandoverModel, build_handover, handover_pdf
from shutline.publish.private import Private
from shutline.publish.report import build_report

MADE_AT = "2026-11-27T10:00:00+00:00"


def finding(part: str, condition: str, at_s: float, **more: object) -> Finding:
    footing = Footing(FootingKind.SAID, "r1", at_s, at_s + 2, "as it was said", ())
    return Finding(part, condition, **{"found": Found.YES, "footings": (footing,), **more})  # type: ignore[arg-type]


def sheet(edition: Edition = Edition.BUYER, facts: tuple[Fact, ...] = ()) -> HandoverModel:
    found = (
        finding("sill", "rust", 12.0, side=Side.NEAR, state=State.STANDS),
        finding("door", "repaint", 130.0, side=Side.OFF, found=Found.UNSURE, state=State.HEARD),
        finding("door", "dent", 140.0, side=Side.NEAR, state=State.HEARD),
        finding("tool_kit", "present", 105.0, state=State.HEARD),
        finding("roof", "dent", 150.0, state=State.STRUCK),
    )
    kept = tuple(KeptFinding(f"f{number}", one) for number, one in enumerate(found))
    car = CarFile("merlin", "1968 Calder Merlin 1300", Drive.RHD, MADE_AT, findings=kept)
    car = replace(car, facts=tuple(KeptFact(f"x{number}", one) for number, one in enumerate(facts)))
    report = build_report(
        with_heard_facts(public_car(car, Private()), car, Private()), made_at=MADE_AT, waiting=heard_only(car)
    )
    return build_handover(report, heard=heard_only(car), number="a" * 64, fingerprint="b" * 64, edition=edition)


def words_on(model: HandoverModel) -> str:
    pages = pypdf.PdfReader(io.BytesIO(handover_pdf(model))).pages
    return " ".join(" ".join(page.extract_text().split()) for page in pages)


def test_a_doubt_and_a_fault_that_are_only_heard_stand_in_words_and_anything_good_by_its_place_alone() -> None:
    model = sheet()
    assert {one.words: (one.number, one.stands_on) for one in model.heard} == {
        "A dent in the nearside door": (None, "Said at 2:20"),
        "Perhaps signs of paint on the offside door": (None, "Said at 2:10"),
        "Tool kit: spoken of": (None, "Said at 1:45"),
    }
    assert [one.words for one in model.faults] == ["Rust on the nearside sill"]
    assert not model.unsure
    words = words_on(model)
    assert words.index("Heard in the film, and confirmed by nobody") < words.index("Perhaps signs of paint")
    assert "every fault that the seller has confirmed; apart from these, all that was heard" in words
    assert "roof" not in " ".join(one.words for one in (*model.heard, *model.faults)).lower()


def test_a_fact_that_is_only_heard_stands_among_what_nobody_has_confirmed_and_not_as_told() -> None:
    said = (Footing(FootingKind.SAID, "r1", 160.0, 162.0, "as it was said", ()),)
    model = sheet(facts=(Fact("odometer", 63418, "mi", said), Fact("keys", 2, footings=said, state=State.STANDS)))
    assert model.facts == ("Keys: two",)
    assert ("Odometer: 63,418 miles", "Said at 2:40") in {(one.words, one.stands_on) for one in model.heard}


def test_the_sheet_never_claims_that_nothing_was_said_of_a_part() -> None:
    words = words_on(sheet())
    assert "Something may have been said all the same" in words
    assert "Nothing was said" not in words
    assert "Not looked at" not in words


@pytest.mark.parametrize(
    ("edition", "told"),
    [
        (Edition.BUYER, "the sealed file for the buyer, which goes to the buyer"),
        (Edition.FIRM, "the sealed file for the firm, which stays with the seller"),
    ],
)
def test_each_sheet_says_of_which_edition_it_is(edition: Edition, told: str) -> None:
    assert told in words_on(sheet(edition))


def test_there_are_lines_for_what_ties_the_sheet_to_the_car_and_the_sale() -> None:
    words = words_on(replace(sheet(), house="Halloran & Pike"))
    for label in ("Chassis number", "Registration mark", "Odometer at the handover", "Price", "Day of the sale"):
        assert label in words
