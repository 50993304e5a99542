"""The facts that a description tells, in the forms of every kind of hand; our own sentences."""

from __future__ import annotations

import pytest

from shutline.claims.advert_forms import advert_forms, refusals
from shutline.claims.claimed import claimed
from shutline.claims.told_values import same_value


def _facts(text: str) -> set[tuple[str, object]]:
    return {(s.fact.name, s.fact.value) for s in claimed(text) if s.fact is not None}


@pytest.mark.parametrize(
    ("text", "name", "value"),
    [
        ("Garrow Lune 1500 De Luxe, 1967", "engine_cc", 1500),
        ("Garrow Lune 2000 saloon, 1971", "engine_cc", 2000),
        ("Garrow Lune 3½ litre coupe 1969", "engine_cc", 3500),
        ("Garrow Lune, 1.438 ccm, built 1971", "engine_cc", 1438),
        ("Garrow Lune 2000 saloon, 1971", "year", 1971),
        ("Garrow Lune '76 blue", "year", 1976),
        ("Garrow Lune, Bj. 1976", "year", 1976),
        ("One owner, MOT 30.4.27", "mot_until", "2027-04-30"),
        ("Two keys, MOT 11/27", "mot_until", "2027-11"),
        ("Inspected to 31 October 2027.", "mot_until", "2027-10-31"),
        ("T&T till Aug 2027", "mot_until", "2027-08"),
        ("TÜV 08/2027", "mot_until", "2027-08"),
        ("Last serviced 3/26", "last_service", "2026-03"),
        ("First used 12 June 1963", "first_registered", "1963-06-12"),
        ("He bought it new in June 1964", "first_registered", "1964-06"),
        ("98.500 km on the counter", "odometer", 98500),
        ("FSH to 118k, 142k now", "odometer", 142000),
        ("even the miles which is 83 thousand.", "odometer", 83000),
        ("Keys x2, V5", "keys", 2),
        ("Keys? Two.", "keys", 2),
        ("two numbered keys", "keys", 2),
        ("Comes with its only key.", "keys", 1),
        ("3 own, 82k", "keepers", 3),
        ("Two owners before me.", "keepers", 3),
        ("There were five before me.", "keepers", 6),
        ("I am the third patron.", "keepers", 3),
        ("FARM OWNED FROM NEW", "keepers", 1),
        ("She was the only owner.", "keepers", 1),
        ("1 co. owner + me", "keepers", 2),
        ("limousine four-doored", "doors", 4),
        ("seating for four, 1,595 cc", "seats", 4),
        ("two doors, guide at left, come in", "drive", "lhd"),
        ("left-hand controls", "drive", "lhd"),
        ("gearbox of five marches", "gears", 5),
        ("5dr, 4 spd man, 88k", "gearbox", "manual"),
        ("Garrow Lune TD 2.0, 1998", "power_source", "diesel"),
        ("t/exempt, two keys", "tax_exempt", True),
        ("Garrow Lune 2.0 combi from 1974", "body", "estate"),
        ("1986, Granite, 8,940 miles", "colour", "granite"),
        ("finished in Moonstone blue with velour", "colour", "moonstone blue"),
        ("1,098 cc, grn met, 142k", "colour", "green metallic"),
        ("a coupe in red with black trim", "colour", "red"),
        ("MOT to June 12th, 2027", "mot_until", "2027-06-12"),
        ("Keepers: four, keys: two", "keepers", 4),
        ("the same gentleman since new", "keepers", 1),
        ("circa 1934 tourer", "year", 1934),
        ("98 tkm", "odometer", 98000),
    ],
)
def test_a_fact_is_read_as_hands_write_it(text: str, name: str, value: object) -> None:
    told = [(one, told) for one, told in _facts(text) if one == name]
    assert any(same_value(name, value, None, one, None) for _, one in told)


@pytest.mark.parametrize(
    ("text", "name", "value"),
    [
        ("1972 Garrow Lune. Engine rebuilt 2016, sills new 2019.", "year", 2019),
        ("1972 Garrow Lune. Engine rebuilt 2016, sills new 2019.", "engine_cc", 2016),
        ("1972 Garrow Lune, bills from 1990.", "year", 1990),
        ("Garrow Lune 2000 saloon, 1971", "year", 2000),
        ("Timing belt done @ 108k.", "odometer", 108000),
        ("Service book stamped to 60k.", "odometer", 60000),
        ("Gearbox overhauled 3,000 miles ago.", "odometer", 3000),
        ("Two seats in front, none behind.", "seats", 2),
        ("Last MOT 3/19.", "mot_until", "2019-03"),
        ("The steering pulls to the left.", "drive", "lhd"),
        ("Red leather inside.", "colour", "red"),
        ("It is 4.2 metres long.", "engine_cc", 4200),
        ("Selling because I got a van now.", "body", "van"),
        ("Its log book, a manual, and a photograph.", "gearbox", "manual"),
    ],
)
def test_what_is_no_fact_of_the_car_is_left_alone(text: str, name: str, value: object) -> None:
    assert (name, value) not in _facts(text)


@pytest.mark.parametrize("row", refusals(), ids=lambda row: row.id)
def test_each_refusal_fits_its_example_and_not_its_counter_example(row) -> None:
    assert row.pattern.search(row.example)
    assert not row.pattern.search(row.counter_example)


def test_ids_of_forms_and_refusals_are_unique() -> None:
    for rows in (advert_forms(), refusals()):
        assert len({row.id for row in rows}) == len(rows)


@pytest.mark.parametrize(
    ("text", "part", "condition", "found"),
    [
        ("You will look in vain for rust on the sills.", "sill", "rust", "no"),
        ("The boot lid is a stranger to rust.", "boot_lid", "rust", "no"),
        ("A dash free from the usual cracks.", "dash", "crack", "no"),
        ("The doors are bare of dents.", "door", "dent", "no"),
        ("Rust has spared the doors.", "door", "rust", "no"),
        ("The gearbox was not found to leak.", "gearbox", "leak", "no"),
        ("The floor is far from rusty.", "floor", "rust", "no"),
        ("The engine is believed to leak.", "engine", "leak", "unsure"),
        ("We assume the sills are rusty.", "sill", "rust", "unsure"),
        ("Engine leak suspected.", "engine", "leak", "unsure"),
        ("Doors vgc, gearbx exc.", "door", "sound", "yes"),
        ("Seets exellent.", "seat", "sound", "yes"),
    ],
)
def test_a_denial_a_doubt_and_a_short_form_are_read(text: str, part: str, condition: str, found: str) -> None:
    assert (part, condition, found) in {
        (s.spot.part, s.condition, s.found.value) for s in claimed(text) if s.spot is not None and s.found is not None
    }


@pytest.mark.parametrize(
    "text",
    [
        "The sills rot on lesser cars.",
        "So many of these have rotten sills.",
        "Before restoration the sills were rotten.",
        "Should the engine leak, I will mend it.",
    ],
)
def test_what_is_not_of_this_car_now_is_no_claim(text: str) -> None:
    assert not [s for s in claimed(text) if s.spot is not None]
