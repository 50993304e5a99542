"""The reader as a whole: clear speech read right, and what must never change a reading."""

from __future__ import annotations

import itertools
import re

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from shutline.car.findings import Drive, Finding, FootingKind, Found, Position, Side
from shutline.car.speech import Stretch, StretchOrigin, stretch_of
from shutline.remarks import read

WALK = (
    "Round to the nearside. Front wing, there's a scratch by the indicator. No rust on the sill. "
    "Door shuts well. Rear wing has a dent above the arch. The nearside rear tyre is worn. "
    "Inside, the driver's seat is torn. The radio doesn't work. There might be some filler in the roof. "
    "Battery's new. Handbook's with it."
)


def _stretch(said: str, start: float = 0.0, end: float = 30.0) -> Stretch:
    return stretch_of(said, start, end, origin=StretchOrigin.TRANSCRIPT)


def _plain(findings: tuple[Finding, ...]) -> list[tuple[object, ...]]:
    return [(f.part, f.condition, f.found, f.side, f.position, f.severity, f.remedy) for f in findings]


def _news(said: str) -> set[tuple[str, str, Found]]:
    return {(f.part, f.condition, f.found) for f in read([_stretch(said)]).findings}


@pytest.mark.parametrize(
    ("said", "part", "condition", "found"),
    [
        ("There's a dent in the door.", "door", "dent", Found.YES),
        ("No rust on the sill.", "sill", "rust", Found.NO),
        ("Windscreen, no chips.", "windscreen", "chip", Found.NO),
        ("The bonnet has a few stone chips.", "bonnet", "chip", Found.YES),
        ("Headlining's tidy.", "headlining", "sound", Found.YES),
        ("The rear bumper is pitted.", "bumper", "pitting", Found.YES),
        ("Boot lid, there might be a bit of filler there.", "boot_lid", "filler", Found.UNSURE),
        ("The radio doesn't work.", "stereo", "fault", Found.YES),
        ("Heater works.", "heater", "works", Found.YES),
        ("The battery's new.", "battery", "renewed", Found.YES),
    ],
)
def test_plain_remark_is_read(said: str, part: str, condition: str, found: Found) -> None:
    assert (part, condition, found) in _news(said)


@pytest.mark.parametrize(
    ("said", "part", "condition", "found"),
    [
        ("I can't find a spot of rust anywhere underneath.", "underside", "rust", Found.NO),
        ("Can't see a speck of rust on the sill.", "sill", "rust", Found.NO),
        ("I've not found a trace of filler in the door.", "door", "filler", Found.NO),
        ("There isn't a spot of rust on the sill.", "sill", "rust", Found.NO),
        ("You'd be hard pushed to find a dent on the roof.", "roof", "dent", Found.NO),
        ("I failed to find any rust on the sills.", "sill", "rust", Found.NO),
        ("Not a dent to be found on the bodywork.", "bodywork", "dent", Found.NO),
        # A spot that is there, whether or not it was found before.
        ("You can't miss a spot of rust on the sill.", "sill", "rust", Found.YES),
        ("There's a spot of rust on the sill I couldn't find before.", "sill", "rust", Found.YES),
        ("I found a trace of filler in the door.", "door", "filler", Found.YES),
    ],
)
def test_what_nobody_can_find_is_told_not_to_be_there(said: str, part: str, condition: str, found: Found) -> None:
    assert (part, condition, found) in _news(f"Here we are at the car. {said} Now then.")


@pytest.mark.parametrize(
    ("said", "part", "condition"),
    [
        ("There's no rust anywhere on this car, the last man saw to that.", "car", "rust"),
        ("There are no dents anywhere in the bodywork.", "bodywork", "dent"),
        ("There are no tears anywhere in the interior.", "interior", "tear"),
        ("No rust on this car whatsoever.", "car", "rust"),
    ],
)
def test_a_denial_is_of_the_place_that_is_named_right_after_anywhere(said: str, part: str, condition: str) -> None:
    read_so = [
        (f.part, f.side, f.condition)
        for f in read([_stretch(f"Nearside front wing, straight. The door shuts well. {said} Sill is solid.")]).findings
        if f.found is Found.NO
    ]
    assert read_so == [(part, None, condition)]


@pytest.mark.parametrize(
    ("said", "part", "condition"),
    [
        ("Boot floor. There's no rust in it anywhere. Spare wheel's there.", "boot_floor", "rust"),
        ("The boot lid, gap's good, not a dent on it. The badge has gone.", "boot_lid", "dent"),
        ("Look at the sill. No rust, and the car is dry inside.", "sill", "rust"),
    ],
)
def test_anywhere_in_it_and_a_car_named_later_leave_a_denial_where_it_is(said: str, part: str, condition: str) -> None:
    assert (part, condition, Found.NO) in _news(said)


@pytest.mark.parametrize(
    ("said", "found"),
    [
        ("There's a dent in the nearside rear door.", ("door", Side.NEAR, Position.REAR, "dent", Found.YES)),
        ("There's no pitting on the nearside headlight.", ("headlight", Side.NEAR, None, "pitting", Found.NO)),
        ("There's a tear in the offside front seat.", ("seat", Side.OFF, Position.FRONT, "tear", Found.YES)),
        ("There's a crack in both rear lights.", ("rear_light", Side.BOTH, None, "crack", Found.YES)),
    ],
)
def test_what_a_whole_sentence_puts_in_a_place_is_there_whatever_came_before(
    said: str, found: tuple[object, ...]
) -> None:
    told = read([_stretch(f"Two-door saloon. Boot lid's straight, on the passenger's side. {said} Grille's good.")])
    assert found in [(f.part, f.side, f.position, f.condition, f.found) for f in told.findings]


def test_a_place_within_the_place_is_left_to_all_the_words() -> None:
    assert ("paintwork", "crack", Found.YES) not in _news("There's a hairline in the paint on the scuttle.")


def test_talk_of_such_cars_in_general_gives_no_defect() -> None:
    news = _news("They all rust along the bottom of the door on these.")
    assert ("door", "rust", Found.YES) not in news


def test_drive_decides_the_drivers_side() -> None:
    said = [_stretch("The driver's door has a dent in it.")]
    sides = {drive: [f.side for f in read(said, drive=drive).findings if f.condition == "dent"] for drive in Drive}
    assert sides == {Drive.RHD: [Side.OFF], Drive.LHD: [Side.NEAR]}


def test_findings_carry_words_times_rules_and_reasons() -> None:
    finding = read([_stretch("There's a dent in the door.", 10.0, 14.0)], recording="film").findings[0]
    footing = finding.footings[0]
    assert footing.kind is FootingKind.SAID
    assert footing.source == "film"
    assert "dent in the door" in footing.quote
    assert footing.start_s is not None
    assert footing.end_s is not None
    assert 10.0 <= footing.start_s < footing.end_s <= 14.0
    assert "conditions.dent" in footing.rules
    assert "parts.door" in footing.rules
    assert finding.why
    assert finding.sureness is not None
    assert 0.0 < finding.sureness <= 1.0


def test_quotes_stand_in_the_words_verbatim() -> None:
    for finding in read([_stretch(WALK)]).findings:
        assert finding.footings[0].quote in WALK


def test_case_changes_nothing() -> None:
    readings = [read([_stretch(said)]) for said in (WALK, WALK.upper(), WALK.lower())]
    assert _plain(readings[0].findings) == _plain(readings[1].findings) == _plain(readings[2].findings)


def test_as_you_can_see_changes_nothing() -> None:
    padded = WALK.replace(" is ", " is as you can see ").replace(" has ", " has as you can see ")
    assert _plain(read([_stretch(padded)]).findings) == _plain(read([_stretch(WALK)]).findings)


def test_mirrored_words_give_mirrored_sides() -> None:
    swap = {"nearside": "offside", "offside": "nearside", "Nearside": "Offside", "driver's": "passenger's"}
    mirrored = re.sub("|".join(swap), lambda m: swap[m.group()], WALK)
    opposite = {Side.NEAR: Side.OFF, Side.OFF: Side.NEAR, Side.BOTH: Side.BOTH, None: None}
    here, there = (read([_stretch(said)]).findings for said in (WALK, mirrored))
    assert [opposite[f.side] for f in here] == [f.side for f in there]


def test_a_cut_between_stretches_changes_nothing() -> None:
    whole = read([_stretch(WALK)])
    words = WALK.split()
    for at in range(5, len(words), 9):
        halves = [_stretch(" ".join(words[:at]), 0.0, 15.0), _stretch(" ".join(words[at:]), 15.0, 30.0)]
        assert _plain(read(halves).findings) == _plain(whole.findings)


def test_losing_full_stops_flips_no_news() -> None:
    flat = _news(WALK.replace(".", ""))
    for part, condition, found in _news(WALK):
        turned = {Found.YES: Found.NO, Found.NO: Found.YES}.get(found)
        assert turned is None or (part, condition, turned) not in flat


def test_same_words_give_the_same_reading() -> None:
    assert read([_stretch(WALK)]) == read([_stretch(WALK)])


def test_visits_run_on_without_gaps() -> None:
    visits = read([_stretch(WALK)]).visits
    assert visits
    for before, after in itertools.pairwise(visits):
        assert before.end_s == after.start_s
    assert all(v.start_s <= v.end_s for v in visits)


def test_no_words_is_told() -> None:
    reading = read([])
    assert reading.findings == ()
    assert [p.slug for p in reading.problems] == ["no-words"]


SAYINGS = st.lists(
    st.sampled_from(
        [
            "the",
            "a",
            "no",
            "not",
            "never",
            "door",
            "sill",
            "nearside",
            "off",
            "front",
            "rear",
            "rust",
            "dent",
            "'s",
            "n't",
            ",",
            ".",
            "?",
            "but",
            "and",
            "if",
            "they",
            "all",
            "same",
            "again",
            "other",
            "one",
            "driver's",
            "forty",
            "two",
            "thousand",
            "point",
            "march",
            "the",
            "twentieth",
            "of",
            "scratch",
            "clean",
            "polish",
            "it",
            "out",
            "...",
            "'",
            "-",
            "7",
            "41,206",
        ]
    ),
    max_size=40,
)


@settings(max_examples=150, deadline=None)
@given(st.one_of(st.text(max_size=200), SAYINGS.map(" ".join)))
def test_no_text_makes_it_raise(said: str) -> None:
    read([_stretch(said)])


def test_a_four_door_saloon_is_nobody_standing_at_a_door() -> None:
    said = "This is the four-door saloon. Starting at the front, the grille is all there."
    visits = read([stretch_of(said, 0, 10, origin=StretchOrigin.TRANSCRIPT)]).visits

    assert "door" not in [visit.part for visit in visits]
    assert "grille" in [visit.part for visit in visits]
