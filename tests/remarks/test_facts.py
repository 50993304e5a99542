"""Facts of the whole car, each from a sentence in the manner of speech; common practice, no source."""

from __future__ import annotations

import re

import pytest
from hypothesis import given
from hypothesis import strategies as st

from shutline.car.speech import StretchOrigin, stretch_of
from shutline.remarks import read
from shutline.remarks.fact_choice import choose, forget, kind_of
from shutline.remarks.fact_data import fact_data, fact_sureness
from shutline.remarks.fact_look import FoundFact
from shutline.remarks.facts import facts
from shutline.remarks.tokens import tokens


def _found(said: str) -> list[FoundFact]:
    return facts(tokens([stretch_of(said, 0.0, 20.0, origin=StretchOrigin.TRANSCRIPT)]))


def _told(said: str, name: str) -> list[object]:
    return [fact.value for fact in _found(said) if fact.name == name]


@pytest.mark.parametrize(
    ("said", "name", "value"),
    [
        ("It's showing forty-one thousand two hundred and six miles", "odometer", 41206),
        ("The chassis number is there and it's done 041206 miles.", "odometer", 41206),
        ("the clock reads 38,912", "odometer", 38912),
        ("Clock says nine thousand one hundred and five.", "odometer", 9105),
        ("Ninety-three thousand miles and two hundred.", "odometer", 93200),
        ("It says seventy-seven thousand one-ninety on the clock.", "odometer", 77190),
        ("Mileage was one two one, four four zero.", "odometer", 121440),
        ("It's on a hundred and twelve thousand, seven seats.", "odometer", 112000),
        ("This is the Brindle Wren, nineteen seventy-four", "year", 1974),
        ("This is the Brindle Wren, the coupe, sixty-seven, two doors.", "year", 1967),
        ("Brindle Wren saloon, manual, eighty-nine on an F.", "year", 1989),
        ("It's a seventy-two, twelve hundred, in red.", "year", 1972),
        ("It's a nineteen thirty-eight four-door saloon", "year", 1938),
        ("So it's a Wren from 1971 and it's white.", "year", 1971),
        ("it's the fifteen hundred engine", "engine_cc", 1500),
        ("two point eight litre", "engine_cc", 2800),
        ("A litre and a half, four cylinders, petrol.", "engine_cc", 1500),
        ("She's the two and three-quarter litre.", "engine_cc", 2750),
        ("It's the eighteen-fifty engine with the overdrive.", "engine_cc", 1850),
        ("Engine's the two point two diesel.", "engine_cc", 2200),
        ("It's the one-six petrol.", "engine_cc", 1600),
        ("Nine ninety-eight cc and it goes well.", "engine_cc", 998),
        ("Three-four-six-oh cc, straight six.", "engine_cc", 3460),
        ("It's a two litre, well, nineteen ninety-one cc.", "engine_cc", 1991),
        ("a four-door saloon", "doors", 4),
        ("Fower doors and a five-speed box", "doors", 4),
        ("a four-door saloon", "body", "saloon"),
        ("This is the Wren roadster, nineteen sixty.", "body", "convertible"),
        ("It's the drophead coupe.", "body", "convertible"),
        ("It's a four-by-four.", "body", "4x4"),
        ("five-speed manual", "gears", 5),
        ("Four on the floor.", "gears", 4),
        ("five-speed manual", "gearbox", "manual"),
        ("Three-speed auto.", "gearbox", "automatic"),
        ("three owners before me", "keepers", 3),
        ("I'm the fourth keeper", "keepers", 4),
        ("Two owners afore me, so I'm third. Log book's here.", "keepers", 3),
        ("I bought it off the widow and she'd had it from her brother, so that's three of us.", "keepers", 3),
        ("There are four names in the logbook.", "keepers", 4),
        ("One family from new.", "keepers", 1),
        ("I've had it from new.", "keepers", 1),
        ("it's tax exempt of course", "tax_exempt", True),
        ("Nil rate for tax.", "tax_exempt", True),
        ("It's not tax exempt yet.", "tax_exempt", False),
        ("MOT runs to the fourteenth of March twenty twenty-seven", "mot_until", "2027-03-14"),
        ("MOT till August next year, twenty twenty-seven.", "mot_until", "2027-08"),
        ("The M O T runs until May twenty twenty seven.", "mot_until", "2027-05"),
        ("the em oh tee runs until may twenty twenty seven", "mot_until", "2027-05"),
        ("She's got M.O.T. until May 2027.", "mot_until", "2027-05"),
        ("Long test, to November twenty-six.", "mot_until", "2026-11"),
        ("last serviced in June twenty twenty-five", "last_service", "2025-06"),
        ("Service book with nine stamps, last one in twenty eleven.", "last_service", "2011"),
        ("two keys with it", "keys", 2),
        ("Both sets of keys.", "keys", 2),
        ("One key starts it and another does the doors, so two keys.", "keys", 2),
        ("Keys under a flowerpot, two of them.", "keys", 2),
        ("it is left-hand drive", "drive", "lhd"),
        ("The steering wheel is on the left-hand side.", "drive", "lhd"),
        ("first registered in March nineteen sixty-three", "first_registered", "1963-03"),
        ("Built nineteen thirty-six, first registered in the March of that year.", "first_registered", "1936-03"),
        ("It was built in 1958 but not registered till 1960.", "first_registered", "1960"),
        ("imported from Portugal", "origin", "Portugal"),
        ("It's a Japanese import.", "origin", "Japan"),
        ("It was imported from Torrany, last year.", "origin", "Torrany"),
        ("the colour is dark green", "colour", "dark green"),
        ("The Wren, four-door saloon, two-tone, maroon below and black above, 1968.", "colour", "maroon and black"),
        ("She's finished in a dark metallic blue.", "colour", "dark metallic blue"),
        (
            "The Wren, nineteen seventy, two-door saloon, in what they called Harvest, it's mustard.",
            "colour",
            "mustard",
        ),
        ("Original colour was cream but it's blue now.", "colour", "blue"),
        ("six seats counting the driver", "seats", 6),
        ("It's a five-seater.", "seats", 5),
        ("It was converted to electric in 2019.", "power_source", "electric"),
        ("It runs on diesel.", "power_source", "diesel"),
        ("It ran on petrol before, now it's electric.", "power_source", "electric"),
    ],
)
def test_fact_is_read(said: str, name: str, value: object) -> None:
    assert _told(said, name) == [value]


@pytest.mark.parametrize(
    ("said", "name"),
    [
        ("it made twelve thousand pounds last year", "odometer"),
        ("She was restored in nineteen ninety-four and painted blue.", "year"),
        ("The MOT runs to August next year, twenty twenty-seven.", "year"),
        ("There's a hole as big as a fifty pence in it.", "year"),
        ("Filled the tank up, twenty quid of petrol.", "engine_cc"),
        ("A three-speed wiper.", "gears"),
        ("Two doors up there's a dog.", "doors"),
        ("Those seats are from a van.", "body"),
        ("The other one's off a white Wren.", "colour"),
        ("The bumper's gone grey.", "colour"),
        ("Workshop manual in the boot.", "gearbox"),
        ("Choke's automatic.", "gearbox"),
        ("The petrol gauge works.", "power_source"),
        ("The electric window works.", "power_source"),
        ("A chap came from Holland to look at it.", "origin"),
        ("Somebody's left polish on it.", "origin"),
        ("No spare key.", "keys"),
        ("It's worth about twelve thousand.", "odometer"),
        ("I paid fourteen thousand five hundred for it.", "odometer"),
        ("My mobile is 07700 900123.", "odometer"),
        ("Have it on 01632 960123, any time.", "odometer"),
        ("The chassis number is A C one three zero zero four four two.", "odometer"),
        ("The engine number is two four six, oh one nine eight.", "odometer"),
        ("It's one three zero zero four four two.", "odometer"),
        ("Inside it's turquoise and I love it.", "colour"),
        ("I followed a van here.", "body"),
        ("The first owner was a vicar.", "keepers"),
        ("The tyres are from Germany.", "origin"),
        ("Two keys' worth of scratches round the lock.", "keys"),
    ],
)
def test_what_is_no_fact_of_the_car_is_left_alone(said: str, name: str) -> None:
    assert _told(said, name) == []


@pytest.mark.parametrize(
    ("said", "name", "value"),
    [
        ("Two keys, no, three.", "keys", 3),
        ("Forty-one thousand, sorry, fifty-one thousand miles.", "odometer", 51000),
        ("It's the fifteen hundred, no I tell a lie, the sixteen hundred.", "engine_cc", 1600),
    ],
)
def test_a_correction_leaves_only_what_was_said_last(said: str, name: str, value: object) -> None:
    assert _told(f"This is the Brindle Wren. {said}", name) == [value]


@pytest.mark.parametrize(
    ("said", "name", "values"),
    [
        (
            "The clock reads forty-one thousand two hundred and six. The old sheet reads fifty-two thousand.",
            "odometer",
            [41206, 52000],
        ),
        (
            "It's gone past fifty-eight thousand two hundred and six. Doors shut. The clock reads 81,423 miles.",
            "odometer",
            [58206, 81423],
        ),
        ("Five-speed box, he said. In the book it says four-speed.", "gears", [5, 4]),
        ("It comes with two keys. There's three keys in the envelope.", "keys", [2, 3]),
        (
            "MOT until the third of May 2027. The certificate has the MOT until the ninth of June 2027.",
            "mot_until",
            ["2027-05-03", "2027-06-09"],
        ),
    ],
)
def test_two_values_told_as_true_are_both_kept(said: str, name: str, values: list[object]) -> None:
    assert _told(said, name) == values


@pytest.mark.parametrize(
    ("value", "rule", "kept"),
    [
        (81423, "exact", [58206, 81423]),
        # A whole thousand may be of the engine, and bare digits may have been put together wrongly.
        (90000, "reads-past", [58206]),
        (81423, "exact-bare", [58206]),
    ],
)
def test_a_second_mileage_that_is_not_quite_sure_is_kept_where_both_are_exact(
    value: int, rule: str, kept: list[int]
) -> None:
    text = tokens([stretch_of("the words are not looked at", 0.0, 20.0, origin=StretchOrigin.TRANSCRIPT)])
    told = [
        FoundFact("odometer", 58206, "mi", 0, 1, "reads", "reads+1", 0.94),
        FoundFact("odometer", value, "mi", 3, 4, rule, f"{rule}+0", 0.8),
    ]
    assert [fact.value for fact in choose(told, text, [])] == kept


def test_a_round_figure_and_the_exact_one_are_one_fact() -> None:
    said = "Mileage sixty-two thousand odd, sixty-two thousand four hundred and eighteen miles it says."
    assert _told(said, "odometer") == [62418]


BARE = (
    "this is the brindle wren nineteen sixty four four door saloon fifteen hundred cc four speed manual "
    "it's left hand drive showing forty one thousand two hundred and six miles four owners two keys tax exempt "
    "mot until the third of may twenty twenty seven"
)


@pytest.mark.parametrize(
    ("name", "value"),
    [
        ("year", 1964),
        ("doors", 4),
        ("body", "saloon"),
        ("engine_cc", 1500),
        ("gears", 4),
        ("gearbox", "manual"),
        ("drive", "lhd"),
        ("odometer", 41206),
        ("keepers", 4),
        ("keys", 2),
        ("tax_exempt", True),
        ("mot_until", "2027-05-03"),
    ],
)
def test_a_recogniser_that_sets_no_marks_is_read(name: str, value: object) -> None:
    assert _told(BARE, name) == [value]


@pytest.mark.parametrize("said", [BARE, "The Wren, sixteen hundred, Tornado red, imported from Torrany."])
def test_case_changes_no_fact(said: str) -> None:
    told = [(fact.name, fact.value) for fact in _found(said)]
    assert told
    assert [(fact.name, fact.value) for fact in _found(said.upper())] == told
    assert [(fact.name, fact.value) for fact in _found(said.lower())] == told


def test_kilometres_are_kept_as_kilometres() -> None:
    reading = read([stretch_of("ninety thousand kilometres on the clock", 0, 5, origin=StretchOrigin.TRANSCRIPT)])
    assert [(f.name, f.value, f.unit) for f in reading.facts] == [("odometer", 90000, "km")]


def test_facts_carry_their_words_and_times() -> None:
    reading = read([stretch_of("well it has two keys", 10.0, 20.0, origin=StretchOrigin.TRANSCRIPT)], recording="r1")
    footing = reading.facts[0].footings[0]
    assert footing.quote == "two keys"
    assert footing.source == "r1"
    assert footing.start_s is not None
    assert 10.0 < footing.start_s < 20.0


def test_every_fact_is_as_sure_as_its_rule_was_right() -> None:
    (fact,) = _found("It comes with two keys.")
    right, drawn = fact_sureness()["keys"][fact.kind]
    assert fact.kind == kind_of("number-keys", 1)
    assert fact.sureness == pytest.approx(right / drawn, abs=0.05)


def test_nothing_below_the_limit_is_told() -> None:
    limit = fact_data()["limits"]["told"]
    found = _found("Red. The door's blue. It's gone brown, and a yellow one, and in green. Forty-one. Sixty.")
    assert all(fact.sureness >= limit for fact in found)


def test_the_table_of_sureness_counts_no_more_right_than_drawn() -> None:
    counts = [count for kinds in fact_sureness().values() for count in kinds.values()]
    assert len(counts) > 100
    assert all(0 <= right <= drawn for right, drawn in counts)


def test_forgetting_the_table_changes_nothing_by_itself() -> None:
    before = _found(BARE)
    forget()
    assert _found(BARE) == before


WORDS = st.sampled_from(
    [
        "two",
        "four",
        "six",
        "ten",
        "nineteen",
        "sixty",
        "seven",
        "hundred",
        "thousand",
        "point",
        "and",
        "a",
        "half",
        "litre",
        "cc",
        "door",
        "speed",
        "keys",
        "owner",
        "mot",
        "may",
        "march",
        "until",
        "registered",
        "in",
        "of",
        "the",
        "she's",
        "it",
        "red",
        "blue",
        "over",
        "black",
        "called",
        "colour",
        "from",
        "germany",
        "miles",
        "41,206",
        "19",
        "69",
        "manual",
        "electric",
        "left",
        "hand",
        "drive",
        "oh",
        "one",
        "no",
        "sorry",
        ",",
        ".",
        "?",
    ]
)


@given(st.lists(WORDS, max_size=40))
def test_no_order_of_words_makes_it_raise(words: list[str]) -> None:
    said = " ".join(words)
    found = _found(said) if re.search(r"\w", said) else []
    assert all(0.0 <= fact.sureness <= 1.0 for fact in found)
