"""What 'it', 'she' and 'everything on her' stand for in an advertisement: the car, and not the part named last.

That a paragraph speaks of one thing, and that a pronoun agrees in number with what it stands for, is ordinary English
usage; the sentences are invented.
"""

from __future__ import annotations

import pytest
from tests.claims.conftest import finding

from shutline.car.findings import Fact, Found
from shutline.claims.check import check
from shutline.claims.lines import sentences
from shutline.claims.record import Record, record
from shutline.claims.verdict import Verdict

RUSTY = (
    "tailgate rust yes # rust along the seam",
    "hood sound yes # the hood is sound",
    "sill:both sound yes",
)


def on(*lines: str, facts: tuple[Fact, ...] = ()) -> Record:
    known = ((f"f{n}", finding(line, n)) for n, line in enumerate(lines, start=1))
    return record(known, ((f"k{n}", fact) for n, fact in enumerate(facts)))


def told_last(text: str, car: Record) -> tuple[str, Verdict]:
    claim = check(text, car).claims[-1]
    assert claim.saying.spot is not None
    return claim.saying.spot.part, claim.verdict


@pytest.mark.parametrize(
    "text",
    [
        "The hood is sound.\n\nThere is no rust anywhere on it.",
        "The hood is sound.\n\nIt is rust free.",
        "The hood is sound. There is no rust on her.",
        "The hood is sound. She has no rust.",
        "The sills are sound. It has no rust.",
    ],
)
def test_it_is_the_car_where_it_cannot_be_the_part_named_last(text: str) -> None:
    assert told_last(text, on(*RUSTY)) == ("car", Verdict.AT_ODDS)


@pytest.mark.parametrize(
    "text",
    [
        "The tailgate is here. It is rust free.",
        "The tailgate was painted. There is no rust on it.",
    ],
)
def test_it_is_the_part_that_was_named_just_before(text: str) -> None:
    assert told_last(text, on(*RUSTY)) == ("tailgate", Verdict.AT_ODDS)


def test_they_are_the_parts_of_the_paragraph_before() -> None:
    part, _ = told_last("The sills are new.\n\nThey are solid.", on(*RUSTY))
    assert part == "sill"


@pytest.mark.parametrize("text", ["Everything on her works.", "Everything on it works.", "Everything works."])
def test_everything_on_it_is_all_of_the_car(text: str) -> None:
    car = on("seat:off tear yes # the seat is split", "instruments fault yes # the clock has stopped")
    assert told_last(f"The seat is split. {text}", car) == ("car", Verdict.AT_ODDS)


def test_a_paragraph_opens_behind_an_empty_line_and_a_list_does_not() -> None:
    text = "Two keys. One owner.\n\nIt is dry. It is sound.\n\n- a new clutch\nsound"
    assert [(one.text, one.opens) for one in sentences(text)] == [
        ("Two keys.", False),
        ("One owner.", False),
        ("It is dry.", True),
        ("It is sound.", False),
        ("a new clutch", False),
        ("sound", False),
    ]


def test_what_is_new_for_the_seats_is_not_the_seats() -> None:
    car = on("seat_belt:both:front renewed yes # front belts are new", "seat:off:front tear yes # it is torn")
    assert told_last("It has new belts for the front seats.", car) == ("seat_belt", Verdict.BACKED)


@pytest.mark.parametrize(
    ("text", "verdict"),
    [
        ("The offside sill was welded in 2019.", Verdict.AT_ODDS),
        ("The nearside sill was welded in 2019.", Verdict.BACKED),
    ],
)
def test_new_metal_is_not_where_the_rust_is_if_it_was_let_in_on_the_other_side(text: str, verdict: Verdict) -> None:
    car = on("sill:near renewed yes # it was welded in 2019", "sill:off blister yes # it has some bubbles")
    assert told_last(text, car) == ("sill", verdict)


@pytest.mark.parametrize(
    ("text", "verdict"),
    [
        ("Behind, the floors are solid.", Verdict.BACKED),
        ("The rear ends of both floors are solid.", Verdict.BACKED),
        ("The front halves of the floors are solid.", Verdict.AT_ODDS),
    ],
)
def test_an_end_that_is_named_before_the_part_is_its_end(text: str, verdict: Verdict) -> None:
    car = on(
        "floor:both:rear sound yes # the back floors are good", "floor:both:front perforation yes # both are holed"
    )
    assert told_last(text, car) == ("floor", verdict)


@pytest.mark.parametrize(
    ("text", "verdict"),
    [
        ("An Orlo Lune, 1977, now electric.", Verdict.BACKED),
        ("It is battery-powered.", Verdict.BACKED),
        ("It was converted to battery power.", Verdict.BACKED),
    ],
)
def test_what_drives_it_is_told_in_more_ways(text: str, verdict: Verdict) -> None:
    told = [c for c in check(text, on(facts=(Fact("power_source", "electric"),))).claims if c.saying.fact is not None]
    assert [c.verdict for c in told if c.saying.fact and c.saying.fact.name == "power_source"] == [verdict]


@pytest.mark.parametrize("colour", ["deep red", "dark red", "red"])
def test_a_deep_red_is_a_dark_one(colour: str) -> None:
    claims = check(f"It is {colour}.", on(facts=(Fact("colour", "dark red"),))).claims
    assert [claim.verdict for claim in claims] == [Verdict.BACKED]


def test_the_colour_of_a_coat_and_a_top_that_goes_along_are_not_the_cars() -> None:
    text = "The roof has been given a coat of white. There is a matching hardtop."
    facts = (Fact("colour", "cream"), Fact("body", "convertible"))
    assert not any(claim.saying.fact for claim in check(text, on(facts=facts)).claims)


def test_what_has_sat_in_a_garage_is_praised_by_that_as_little_as_a_figure_tells_of_the_instrument() -> None:
    car = on("suspension:rear sag yes # it sags", "instruments fault yes # the clock has stopped")
    assert not check("It has sat in a garage since then.", car).claims
    claims = check("The odometer records 39,200 miles.", car).claims
    assert [claim.saying.fact.name for claim in claims if claim.saying.fact] == ["odometer"]
    assert len(claims) == 1


def test_found_is_told_as_it_is() -> None:
    car = on("car rust no # no rust on it anywhere")
    assert [c.verdict for c in check("She has no rust.", car).claims] == [Verdict.BACKED]
    assert check("She has no rust.", car).claims[0].saying.found is Found.NO


@pytest.mark.parametrize(
    ("text", "verdicts"),
    [
        (
            "The heater gets hot, and the fan runs on every speed.",
            [("The heater gets hot", "backed"), ("the fan runs", "at odds")],
        ),
        ("The door fits flush and doesn't rattle.", [("door fits flush", "at odds"), ("doesn't rattle", "at odds")]),
        (
            "Front brakes have been renewed and the rears are silent in all weathers.",
            [("brakes have been renewed", "backed"), ("the rears are silent", "at odds")],
        ),
        ("All four tyres are fit for use.", [("All four tyres are fit for use", "at odds")]),
        ("Both sliding windows are unbroken.", [("Both sliding windows are unbroken", "backed")]),
    ],
)
def test_two_statements_are_each_told_for_itself(text: str, verdicts: list[tuple[str, str]]) -> None:
    car = on(
        "heater works yes # it gets hot",
        "heater fault yes # the blower runs on the top speed only",
        "door gap yes # it sits proud",
        "door noise yes # it rattles",
        "brakes:front renewed yes # front brakes are new",
        "brakes:rear noise yes # the back ones squeak",
        "tyre:both:front sound yes # the front are fine",
        "tyre:both:rear perished yes # the back are cracked",
        "side_glass:near:front crack no # no crack in it",
        "side_glass:off:front crack no # nor in that",
    )
    claims = [c for c in check(text, car).claims if c.saying.spot is not None]
    assert len(claims) == len(verdicts)
    for claim, (words, verdict) in zip(claims, verdicts, strict=True):
        assert words in claim.saying.quote
        assert claim.verdict.value == verdict
