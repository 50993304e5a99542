"""What is read twice is told once, and what is known of some is not so of all; common usage, no source.

The trade calls a test certificate an MOT in Britain (gov.uk, Getting an MOT); that a car without one has none until a
date is plain. The sentences are invented.
"""

from __future__ import annotations

from collections.abc import Callable

import pytest

from shutline.claims.answers import Kind, answer
from shutline.claims.check import check
from shutline.claims.record import Record
from shutline.claims.verdict import Verdict

Made = Callable[..., Record]


def verdicts(text: str, car: Record) -> list[tuple[str, Verdict]]:
    return [(claim.saying.quote, claim.verdict) for claim in check(text, car).claims]


def test_a_fact_and_the_words_around_it_are_one_claim(known: Made) -> None:
    car = known("dash sound yes", keepers=2, keys=3)
    assert verdicts("The dash is lovely, just the one owner from new.", car)[-1:] == [
        ("just the one owner from new", Verdict.AT_ODDS)
    ]
    assert verdicts("Keys, two of them.", car) == [("Keys, two of them", Verdict.AT_ODDS)]


@pytest.mark.parametrize("text", ["No MOT.", "No MOT, so bring a trailer.", "MOT expired.", "Sold without an MOT."])
def test_that_there_is_no_test_is_at_odds_with_one_that_runs(text: str, known: Made) -> None:
    assert [verdict for _, verdict in verdicts(text, known(mot_until="2027-05"))] == [Verdict.AT_ODDS]
    assert Verdict.AT_ODDS not in [verdict for _, verdict in verdicts(text, known())]


@pytest.mark.parametrize("text", ["No MOT advisories.", "No MOT work needed.", "No MOT until we have welded it."])
def test_what_an_mot_said_is_another_matter(text: str, known: Made) -> None:
    told = [claim.saying.fact_name for claim in check(text, known(mot_until="2027-05")).claims]
    assert "mot_until" not in told


SEATS = (
    "seat:off:front tear yes # the driver's seat has a tear in it",
    "seat:near:front sound yes # passenger's seat is good",
    "seat:rear sound yes # the back seat is good",
)


@pytest.mark.parametrize("text", ["The seats are good.", "All the seats are good.", "No damage to any seat."])
def test_praise_of_the_others_is_none_of_the_one_that_is_torn(text: str, known: Made) -> None:
    ((_, verdict),) = verdicts(text, known(*SEATS))
    assert verdict is Verdict.AT_ODDS


def test_the_one_that_was_praised_stays_so(known: Made) -> None:
    assert [v for _, v in verdicts("The rear seat is good.", known(*SEATS))] == [Verdict.BACKED]


@pytest.mark.parametrize(
    ("text", "finding"),
    [
        ("The sills are rotten.", "sill:both sound yes # both sills are solid"),
        ("The headlights have gone cloudy.", "headlight:both sound yes # the lamps are nice and clear"),
        ("The bumper is bent.", "bumper sound yes # the bumper is straight"),
    ],
)
def test_a_fault_is_at_odds_with_praise_that_speaks_of_it(text: str, finding: str, known: Made) -> None:
    assert [v for _, v in verdicts(text, known(finding))] == [Verdict.AT_ODDS]


@pytest.mark.parametrize(
    ("text", "finding"),
    [
        ("The floor is sound.", "boot_floor sound yes # the boot floor is solid"),
        ("All the tools are there.", "tool_kit present yes # the jack's there"),
        ("All doors shut well.", "door:near:front works yes # this door shuts with one finger"),
        ("The history goes back to day one.", "papers present yes # a folder of old bills"),
    ],
)
def test_a_lesser_thing_does_not_back_the_greater(text: str, finding: str, known: Made) -> None:
    assert Verdict.BACKED not in [v for _, v in verdicts(text, known(finding))]


def test_a_jack_backs_a_jack(known: Made) -> None:
    car = known("tool_kit present yes # the jack's there")
    assert [v for _, v in verdicts("The jack is there.", car)] == [Verdict.BACKED]


def test_the_rear_is_an_end_of_what_was_named(known: Made) -> None:
    car = known("bumper:front pitting yes", "bumper:rear pitting no", "bumper:rear sound yes", "bumper:front sound yes")
    text = "The bumpers are sound; the rear is free of pitting, but the front has some pitting."
    assert {v for _, v in verdicts(text, car)} == {Verdict.BACKED}


def test_a_light_that_is_cracked_is_a_light(known: Made) -> None:
    car = known("rear_light:near sound yes", "rear_light:off crack yes")
    text = "At the back, the nearside light is good and the offside light is cracked."
    assert [v for _, v in verdicts(text, car)] == [Verdict.BACKED, Verdict.BACKED]


@pytest.mark.parametrize(
    ("question", "kind"),
    [
        ("are all the seats ok", Kind.NO),
        ("seats any good?", Kind.NO),
        ("any rips in the back seat", Kind.NOT_RECORDED),
        ("is the driver's seat torn", Kind.YES),
    ],
)
def test_seats_are_asked_after_one_by_one(question: str, kind: Kind, known: Made) -> None:
    assert answer(question, known(*SEATS)).kind is kind


def test_one_door_without_filler_answers_nothing_of_the_doors(known: Made) -> None:
    one = known("door:off filler no # no filler in it")
    both = known("door:off filler no", "door:near filler no")
    assert answer("any filler in the doors", one).kind is Kind.NOT_RECORDED
    assert answer("any filler in the doors", both).kind is Kind.NO


def test_welding_of_the_whole_car_is_answered_with_its_rust_alone(known: Made) -> None:
    given = answer("needs any welding for mot?", known("arch:near rust yes", "seat:off tear yes"))
    assert (given.kind, [one.finding.part for one in given.known]) == (Kind.TOLD, ["arch"])
    assert answer("needs any welding for mot?", known("seat:off tear yes")).kind is Kind.NOT_RECORDED


def test_what_is_wrong_inside_is_not_what_is_wrong_outside(known: Made) -> None:
    given = answer("anything wrong inside", known("arch:near rust yes", "seat:off tear yes"))
    assert [one.finding.part for one in given.known] == ["seat"]


def test_of_the_rest_of_the_car_nothing_is_told_beside(known: Made) -> None:
    assert answer("burn any oil?", known("grille present yes", "seat:off tear yes")).beside == ()


def test_a_choice_is_answered_with_the_value(known: Made) -> None:
    given = answer("2 or 4 door", known(doors=4))
    assert (given.kind, given.value) == (Kind.VALUE, 4)
