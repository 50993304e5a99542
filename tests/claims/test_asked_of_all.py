"""Questions about the whole car: they are answered with what is wrong, and never with praise."""

from __future__ import annotations

import pytest

from shutline.claims.answers import Kind, answer
from shutline.claims.questions import asked
from shutline.claims.several import each_question

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
        ("I'm coming on Saturday, is the roof sound?", 1),
    ],
)
def test_two_questions_in_one_are_cut_apart_and_one_that_leans_on_another_is_not(text: str, each: int) -> None:
    # How people ask: common usage, no source.
    assert len(each_question(text)) == each


@pytest.mark.parametrize(
    ("text", "each"),
    [
        # A list of parts: each is asked of, so that none is dropped.
        ("is there rust on the sills and arches", ("is there rust on the sills", "is there rust on arches")),
        ("is the boot floor solid and the inner wings too", ("is the boot floor solid", "are the inner wings solid")),
        ("do the wipers and the washers work", ("do the wipers work", "do the washers work")),
        ("any rust in the wings, doors or sills", ("any rust in the wings", "any rust in doors", "any rust in sills")),
        ("sills ok? arches ok? wings ok?", ("sills ok?", "arches ok?", "wings ok?")),
        ("do all 4 doors work & windows wind", ("do all 4 doors work", "do windows wind")),
        ("does it come with two keys and the v5", ("does it come with two keys", "does it come with the v5")),
        ("is there a jack and two keys", ("is there a jack", "are there two keys")),
        ("does it smoke, burn oil or knock?", ("does it smoke", "does it burn oil", "does it knock")),
        ("is the engine quiet and does it smoke", ("is the engine quiet", "does it smoke")),
        ("are the front and rear bumpers ok", ("are the front bumpers ok", "are the rear bumpers ok")),
        (
            "has it any damp in the boot, rot in the sills",
            ("has it any damp in the boot", "has it any rot in the sills"),
        ),
        ("any rust? on the sills?", ("any rust on the sills?",)),
        # What leans on the question before it is asked with what it leans on.
        ("any rust on the sills? and the arches?", ("any rust on the sills?", "any rust on the arches")),
        (
            "is the nearside rear door scratched? and the front one?",
            ("is the nearside rear door scratched?", "is the nearside front door scratched"),
        ),
        (
            "is the driver's door ok and the passenger's",
            ("is the driver's door ok", "is the passenger's door ok"),
        ),
        ("is the nearside sill solid? the other side?", ("is the nearside sill solid?", "is the offside sill solid")),
        ("are the bumpers good? any pitting?", ("are the bumpers good?", "any pitting on the bumpers")),
        ("tyres? how old are they", ("how old are the tyres",)),
        (
            "is the bonnet straight and are the gaps even",
            ("is the bonnet straight", "are the gaps even on the bonnet"),
        ),
        # What is no list, and does not lean, stays as it was typed.
        ("is the gap between the bonnet and the wing even", ("is the gap between the bonnet and the wing even",)),
        ("is it dry and sound?", ("is it dry and sound?",)),
        ("any rust, dents or scratches in the doors?", ("any rust, dents or scratches in the doors?",)),
        ("is there any damp in the carpets, front or back", ("is there any damp in the carpets, front or back",)),
        ("is it the wing or the door that is dented", ("is it the wing or the door that is dented",)),
        ("is the screen cracked? They're impossible to find.", ("is the screen cracked? They're impossible to find.",)),
    ],
)
def test_a_list_is_asked_of_each_and_what_leans_is_asked_with_what_it_leans_on(
    text: str,
    each: tuple[str, ...],
) -> None:
    # How people ask: common usage, no source.
    assert each_question(text) == each


@pytest.mark.parametrize(
    ("text", "each"),
    [
        (
            "Did Augusta Harbottle's wireless and heater work?",
            ("Did Augusta Harbottle's wireless work", "Did Augusta Harbottle's heater work"),
        ),
        ("are the Sills and doors ok, Émile Quill", ("are the Sills ok, Émile Quill", "are doors ok, Émile Quill")),
        (
            "any rust on Ida Quill\u2019s sills and doors",
            ("any rust on Ida Quill's sills", "any rust on Ida Quill's doors"),
        ),
    ],
)
def test_a_question_that_is_made_keeps_names_as_they_were_typed(text: str, each: tuple[str, ...]) -> None:
    # By their letters and capitals they are told for names, and the question is not put onto the page.
    assert each_question(text) == each


@pytest.mark.parametrize(
    ("question", "line", "kind"),
    [
        # Only what was told in words of it answers it.
        ("was the last owner a smoker", "door:near dirt yes # it's only dust", Kind.NOT_RECORDED),
        ("did the last owner smoke", "exhaust smoke no # no smoke", Kind.NOT_RECORDED),
        ("does it burn oil", "exhaust smoke no # no smoke", Kind.NOT_RECORDED),
        ("does it burn oil", "exhaust smoke yes # she burns a drop of oil", Kind.YES),
        ("does it smoke", "exhaust smoke no # no smoke", Kind.NO),
        ("is the history file complete?", "papers present yes # a history file", Kind.NOT_RECORDED),
        ("is the history file there?", "papers present yes # a history file", Kind.YES),
        ("does the boot lid shut", "boot_lid sound yes # boot lid straight", Kind.NOT_RECORDED),
        ("does the boot lid shut", "boot_lid works yes # the boot lid shuts with a click", Kind.YES),
        ("does the near side front door shut properly", "door:near:front works yes # shuts with one finger", Kind.YES),
        ("is the mileage right", "sill:near sound yes # the sill is solid", Kind.NOT_RECORDED),
        # Where something is, is no answer to whether it is there.
        ("any welding on the sills", "sill sound yes # the sills are solid", Kind.NOT_RECORDED),
        ("any welding on the sills", "sill:both renewed yes # the sills were welded", Kind.YES),
        ("any stickers on the doors", "door sound yes # the doors are good", Kind.NOT_RECORDED),
        ("is there a spare wheel in the boot", "spare_wheel present yes # the spare is there", Kind.YES),
        ("is there a spare wheel in the boot", "boot damp yes # it's damp in the boot", Kind.NOT_RECORDED),
        ("are the tools in the boot", "tool_kit present yes # the tools are all there", Kind.YES),
        # What is wrong with another part is no answer, and with one of a pair it is.
        ("are the carpets ok", "boot damp yes # it's damp in the boot", Kind.NOT_RECORDED),
        ("are both rear lights ok", "rear_light:off crack yes # a crack across the lens", Kind.NO),
        # No yes and no 'no' where none was asked for.
        ("which wing is bubbling", "front_wing:near blister yes # some blistering", Kind.TOLD),
        ("why is the boot damp?", "boot damp yes # it's damp in the boot", Kind.TOLD),
        ("is there rust in the boot floor or is it solid", "boot_floor sound yes # the boot floor is solid", Kind.TOLD),
        ("what size is the scratch", "door:near scratch yes # there's a scratch on it", Kind.TOLD),
        ("how deep is the dent in the wing", "front_wing:near blister yes # some blistering", Kind.NOT_RECORDED),
        ("will the wing need welding", "front_wing:near blister yes # blistering that'll want cutting", Kind.TOLD),
    ],
)
def test_what_is_plainly_of_something_else_is_no_answer(known, question: str, line: str, kind: Kind) -> None:
    assert answer(question, known(line, engine_cc=1300, year=1969, odometer=63418)).kind is kind


def test_whether_the_mileage_is_true_is_not_told_by_what_it_is(known) -> None:
    on = known(odometer=63418)
    for question in ("has the mileage been clocked", "is the mileage genuine"):
        given = answer(question, on)
        assert (given.kind, given.asked.read_as, len(given.facts)) == (Kind.NOT_RECORDED, "", 1)
    assert answer("whats the mileage", on).kind is Kind.VALUE


def test_of_several_praises_each_that_is_so_is_told(known) -> None:
    on = known("bonnet sound yes # it's straight", "bonnet gap no # the gaps are even")
    given = answer("is the bonnet straight with even gaps", on)
    assert (given.kind, {one.finding.condition for one in given.known}) == (Kind.YES, {"sound", "gap"})


def test_a_fault_and_something_else_of_which_one_is_not_so_is_neither_yes_nor_no(known) -> None:
    on = known("seat tear yes # the seat has a tear", "seat nonoriginal yes # it's a later seat")
    given = answer("is there a tear in the seat and is it original", on)
    assert (given.kind, len(given.known)) == (Kind.TOLD, 2)


def test_sending_the_car_is_about_the_sale() -> None:
    for question in ("can you post it to ireland", "do you ship to the isle of man", "would you bring it over"):
        assert asked(question).sale
    assert not asked("is the a post rusty").sale
