"""Questions about the whole car: they are answered with what is wrong, and never with praise."""

from __future__ import annotations

import pytest

from shutline.claims.answers import Kind, answer
from shutline.claims.questions import each_question

LINES = (
    "grille present yes # the grille is all there",
    "sill:near rust yes slight # a bit of rust in the nearside sill",
    "rear_wing:off dent yes severe # the rear wing has a great dent in it",
    "front_wing:near blister yes # blistering behind the wheel",
    "door:off filler no # no filler in it",
    "seat:off tear yes # the seat has a tear",
)


@pytest.mark.parametrize(
    ("question", "kind", "parts"),
    [
        ("any rust", Kind.YES, ["front_wing", "sill"]),
        ("is there any rust anywhere", Kind.YES, ["front_wing", "sill"]),
        ("any dents", Kind.YES, ["rear_wing"]),
        ("is the car rusty", Kind.YES, ["front_wing", "sill"]),
        ("how big is the dent", Kind.TOLD, ["rear_wing"]),
        ("how bad is the blistering", Kind.TOLD, ["front_wing"]),
        ("whats wrong with it", Kind.TOLD, ["rear_wing", "front_wing", "seat", "sill"]),
        ("what does it need doing", Kind.TOLD, ["rear_wing", "front_wing", "seat", "sill"]),
        # Nothing is made up of what was said of something else.
        ("has it been welded", Kind.NOT_RECORDED, []),
        ("any filler in it", Kind.NOT_RECORDED, []),
        ("any smoke", Kind.NOT_RECORDED, []),
    ],
)
def test_what_is_asked_of_the_whole_car_is_answered_with_all_there_is(
    known,
    question: str,
    kind: Kind,
    parts: list[str],
) -> None:
    given = answer(question, known(*LINES))
    assert given.kind is kind
    assert [one.finding.part for one in given.known] == parts


def test_work_is_told_where_the_words_are_of_that_work(known) -> None:
    on = known("sill:near renewed yes # the nearside sill was welded last year", "tyre renewed yes # the tyres are new")
    given = answer("has it been welded", on)
    assert (given.kind, [one.finding.part for one in given.known]) == (Kind.YES, ["sill"])


@pytest.mark.parametrize(
    ("question", "kind"),
    [
        ("is it automatic", Kind.NO),
        ("is it a manual", Kind.YES),
        ("is the gearbox automatic", Kind.NO),
        ("is it light blue", Kind.NO),
        ("is it green", Kind.NO),
        ("is it dark blue", Kind.YES),
        ("one owner?", Kind.NO),
        ("is it a coupe", Kind.NO),
        ("is it a 1970", Kind.NO),
        ("is it the 1500", Kind.NO),
        ("is it the 1300", Kind.YES),
        ("is it petrol", Kind.NOT_RECORDED),
    ],
)
def test_a_value_is_confirmed_or_put_right(known, question: str, kind: Kind) -> None:
    on = known(gearbox="manual", colour="dark blue", keepers=3, body="saloon", year=1969, engine_cc=1300)
    given = answer(question, on)
    assert given.kind is kind
    assert bool(given.facts) == (kind is not Kind.NOT_RECORDED)


def test_whether_tyres_are_lawful_is_nothing_that_a_file_tells(known) -> None:
    given = answer("are the tyres legal", known("tyre sound yes # plenty of tread"))
    assert given.kind is Kind.TOLD


def test_the_age_of_a_part_is_not_that_of_the_car(known) -> None:
    on = known("tyre sound yes # plenty of tread", year=1969)
    assert answer("how old are the tyres", on).value is None
    assert answer("how old is it", on).value == 1969


@pytest.mark.parametrize(
    ("text", "each"),
    [
        ("how many owners and any rust in the sills?", 2),
        ("whats the milage and whens the mot run out", 2),
        ("Any rust? Does the heater work? How many keys", 3),
        ("Is the bonnet straight? It looks bent in the picture. Is the roof ok?", 2),
        ("is the heater working and does it get hot?", 1),
        ("is there rust on the sills and arches", 1),
        ("any rust on the sills? and the arches?", 1),
        ("I'm coming on Saturday, is the roof sound?", 1),
    ],
)
def test_two_questions_in_one_are_cut_apart_and_one_that_leans_on_another_is_not(text: str, each: int) -> None:
    # How people ask: common usage, no source.
    assert len(each_question(text)) == each
