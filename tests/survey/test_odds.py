"""Statements that cannot all be true are found; those that sound alike and can be are left alone."""

from __future__ import annotations

from dataclasses import replace

import pytest

from shutline.car.carfile import CarFile, KeptFact, KeptFinding, Picture, Recording
from shutline.car.errors import UserError
from shutline.car.findings import Drive, Fact, Finding, Footing, FootingKind, Found, Position, Severity, Side, State
from shutline.car.recordings import Kind, Original, Probe
from shutline.car.speech import StretchOrigin, stretch_of
from shutline.survey.odds import OddsKind, at_odds
from shutline.survey.odds_data import (
    CUE_COLUMNS,
    EXCLUSION_COLUMNS,
    NOT_FITTED_COLUMNS,
    TRAIT_COLUMNS,
    WITHIN_COLUMNS,
    read_cues,
    read_exclusions,
    read_not_fitted,
    read_traits,
    read_wholes,
)
from shutline.survey.odds_facts import facts_at_odds, values_told
from shutline.survey.odds_layer import odds_tables
from shutline.survey.tables import holds_phrase, words_of

LINE_S = 20.0

Line = str | tuple[str, Finding]


def denies(part: str, condition: str, **fields: object) -> Finding:
    return Finding(part, condition, Found.NO, **fields)  # type: ignore[arg-type]


def finds(part: str, condition: str, **fields: object) -> Finding:
    return Finding(part, condition, Found.YES, **fields)  # type: ignore[arg-type]


def walk(*lines: Line, recorded_at: str | None = None, name: str = "r") -> CarFile:
    """A car file of one recording: each line lasts twenty seconds, and a finding with it has all its words."""
    stretches, findings = [], []
    for number, line in enumerate(lines):
        words, finding = (line, None) if isinstance(line, str) else line
        start_s = number * LINE_S
        stretches.append(stretch_of(words, start_s, start_s + 4.0, origin=StretchOrigin.TRANSCRIPT))
        if finding is not None:
            footing = Footing(FootingKind.SAID, name, start_s, start_s + 4.0, words)
            findings.append(KeptFinding(f"{name}{number}", replace(finding, footings=(footing,))))
    original = Original("0" * 64, "walk.mp4", 1, Kind.FILM)
    recording = Recording(
        name, original, Probe(Kind.FILM, "mp4", recorded_at=recorded_at), tuple(stretches), complete=True
    )
    return CarFile("car", "Car", Drive.RHD, "2026-01-01", recordings=(recording,), findings=tuple(findings))


def together(*cars: CarFile) -> CarFile:
    first = cars[0]
    return replace(
        first,
        recordings=tuple(one for car in cars for one in car.recordings),
        findings=tuple(one for car in cars for one in car.findings),
        facts=tuple(one for car in cars for one in car.facts),
    )


NO_DENTS = ("There are no dents in the nearside front wing", denies("front_wing", "dent", side=Side.NEAR))
A_DING = (
    "Little ding in the nearside front wing",
    finds("front_wing", "dent", side=Side.NEAR, severity=Severity.SLIGHT),
)
NO_RUST = ("No rust anywhere", denies("car", "rust"))
BLISTER = ("A blister on the offside sill", finds("sill", "blister", side=Side.OFF))


def rules(car: CarFile) -> list[str]:
    return [odds.rule for odds in at_odds(car)]


def test_no_dents_and_later_a_ding_on_the_same_panel_are_at_odds_with_both_moments() -> None:
    (odds,) = at_odds(walk(NO_DENTS, "Now the wheels", A_DING))
    assert odds.kind is OddsKind.FINDINGS
    assert odds.kinds == (FootingKind.SAID, FootingKind.SAID)
    assert [told.id for told in odds.told] == ["r0", "r2"]
    assert [told.footings[0].start_s for told in odds.told] == [0.0, 40.0]
    assert odds.why


def test_the_order_of_the_two_does_not_matter() -> None:
    assert rules(walk(A_DING, "Now the wheels", NO_DENTS)) == ["denied"]


def test_a_general_denial_is_at_odds_with_one_blister() -> None:
    assert rules(walk(NO_RUST, "And so on", BLISTER)) == ["bubbles_without_rust"]


SILL_RUST = ("Rust in the nearside sill", finds("sill", "rust", side=Side.NEAR))


def test_a_general_denial_is_one_case_with_all_the_moments() -> None:
    (odds,) = at_odds(walk(BLISTER, "And so on", NO_RUST, "And so on", SILL_RUST))
    general, against = odds.sides
    assert [told.id for told in general] == ["r2"]
    assert [told.id for told in against] == ["r0", "r4"]
    assert odds.why.count(";") == 1
    assert len(at_odds(walk(BLISTER, "And so on", NO_RUST, "And so on", SILL_RUST), apart=lambda _: True)) == 2


def test_a_general_denial_keeps_its_case_when_more_speaks_against_it() -> None:
    (one,) = at_odds(walk(NO_RUST, "And so on", BLISTER))
    (more,) = at_odds(walk(NO_RUST, "And so on", BLISTER, "And so on", SILL_RUST))
    assert one.id == more.id
    assert one.mark != more.mark


def test_denials_of_one_part_that_say_the_same_are_one_side_where_the_same_speaks_against_them() -> None:
    twice = walk(NO_RUST, "And so on", BLISTER, "And so on", SILL_RUST, "And so on", NO_RUST)
    (odds,) = at_odds(twice)
    assert [[told.id for told in side] for side in odds.sides] == [["r0", "r6"], ["r2", "r4"]]


def test_two_dents_of_a_wing_that_was_said_to_have_none_are_one_case() -> None:
    (odds,) = at_odds(walk(NO_DENTS, "Now the wheels", A_DING, "Now the roof", A_DING))
    assert odds.general == 1
    assert [told.id for told in odds.told] == ["r0", "r2", "r4"]


@pytest.mark.parametrize(
    "finding",
    [
        finds("front_wing", "dent", side=Side.OFF),
        finds("front_wing", "dent"),
        finds("rear_wing", "dent", side=Side.NEAR),
        Finding("front_wing", "dent", Found.UNSURE, Side.NEAR),
        finds("front_wing", "scratch", side=Side.NEAR),
    ],
)
def test_another_side_part_or_condition_and_what_is_unsure_contradict_nothing(finding: Finding) -> None:
    assert rules(walk(NO_DENTS, "And so on", ("One here", finding))) == []


def test_both_sides_are_each_of_them() -> None:
    both = ("No rust in the sills", denies("sill", "rust", side=Side.BOTH))
    rust = ("Rust in the sill", finds("sill", "rust", side=Side.OFF))
    assert rules(walk(both, "And so on", rust)) == ["denied"]


def test_the_other_end_contradicts_nothing() -> None:
    front = ("No chips on the front bumper", denies("bumper", "chip", position=Position.FRONT))
    rear = ("A chip in the rear bumper", finds("bumper", "chip", position=Position.REAR))
    assert rules(walk(front, "And so on", rear)) == []
    assert rules(walk(front, "And so on", ("A chip in it", replace(rear[1], position=Position.FRONT)))) == ["denied"]


def test_a_whole_of_one_side_speaks_of_that_side_only() -> None:
    clean = ("No dents down the nearside", denies("bodywork", "dent", side=Side.NEAR))
    assert rules(walk(clean, "And so on", ("A ding", finds("door", "dent", side=Side.OFF)))) == []
    assert rules(walk(clean, "And so on", ("A ding", finds("door", "dent", side=Side.NEAR)))) == ["denied"]


@pytest.mark.parametrize(
    "denial",
    [
        "No rust anywhere apart from a blister on the offside sill",
        "No rust anywhere except the sill",
        "No rust anywhere, bar one on the sill",
        "Otherwise no rust anywhere",
        "No rust anywhere else",
        "No serious rust anywhere",
        "There was no rust anywhere when I bought it",
    ],
)
def test_no_rust_apart_from_one_place_no_other_no_bad_and_in_former_times_raise_none(denial: str) -> None:
    assert rules(walk((denial, NO_RUST[1]), "And so on", BLISTER)) == []


def test_an_exception_of_another_part_does_not_excuse() -> None:
    denial = ("No rust anywhere apart from the boot lid", NO_RUST[1])
    assert rules(walk(denial, "And so on", BLISTER)) == ["bubbles_without_rust"]


@pytest.mark.parametrize(
    "words",
    ["I tell a lie, there is a ding in the wing", "I said no dents, well, here is one", "Scrub that, there is a ding"],
)
def test_a_later_remark_that_takes_the_earlier_back_raises_none(words: str) -> None:
    assert rules(walk(NO_DENTS, "And so on", (words, A_DING[1]))) == []


def test_what_is_said_in_one_breath_refines() -> None:
    car = walk(NO_DENTS, A_DING)
    near = replace(car.findings[1].finding.footings[0], start_s=6.0, end_s=8.0)
    refined = KeptFinding("r1", replace(car.findings[1].finding, footings=(near,)))
    assert rules(replace(car, findings=(car.findings[0], refined))) == []
    assert rules(car) == ["denied"]


def test_clean_along_the_bottom_says_nothing_of_elsewhere() -> None:
    bottom = ("No rust along the bottom of the door", denies("door", "rust", side=Side.NEAR))
    assert rules(walk(bottom, "And so on", ("Rust in the door", finds("door", "rust", side=Side.NEAR)))) == []
    here = ("Rust all along the bottom", finds("door", "rust", side=Side.NEAR))
    assert rules(walk(bottom, "And so on", here)) == ["denied"]


def test_no_oil_leaks_says_nothing_of_water() -> None:
    oil = ("No oil leaks", denies("engine", "leak"))
    assert rules(walk(oil, "And so on", ("Weeping a bit of coolant", finds("engine", "leak")))) == []
    assert rules(walk(oil, "And so on", ("Oil leak at the back", finds("engine", "leak")))) == ["denied"]


def test_of_a_part_that_stands_for_several_things_one_may_be_there_and_another_missing() -> None:
    jack = ("The jack is there", finds("tool_kit", "present"))
    assert rules(walk(jack, "And so on", ("The brace has gone", finds("tool_kit", "missing")))) == []
    assert rules(walk(jack, "And so on", ("The jack has gone", finds("tool_kit", "missing")))) == ["missing_and_there"]


def test_good_order_is_at_odds_with_bad_and_not_with_slight() -> None:
    sound = ("The nearside sill is sound", finds("sill", "sound", side=Side.NEAR))
    rust = finds("sill", "rust", side=Side.NEAR, severity=Severity.SLIGHT)
    assert rules(walk(sound, "And so on", ("A bit of rust", rust))) == []
    assert rules(walk(sound, "And so on", ("Rotten", replace(rust, severity=Severity.SEVERE)))) == ["bad_and_sound"]
    assert rules(walk(sound, "And so on", ("A hole", replace(rust, condition="perforation")))) == ["hole_and_sound"]


def test_original_paint_is_at_odds_with_filler() -> None:
    paint = ("All original paint", finds("paintwork", "original"))
    assert rules(walk(paint, "And so on", ("Filler in it", finds("door", "filler")))) == ["painted_and_original"]


@pytest.mark.parametrize("kind", [FootingKind.SEEN, FootingKind.MEASURED, FootingKind.WRITTEN])
def test_what_was_said_is_held_against_what_was_seen_measured_and_written(kind: FootingKind) -> None:
    car = walk(NO_DENTS)
    ding = KeptFinding("p", replace(A_DING[1], footings=(Footing(kind, "picture"),), state=State.STANDS))
    (odds,) = at_odds(replace(car, findings=(*car.findings, ding)))
    assert odds.kinds == (FootingKind.SAID, kind)


def test_what_was_struck_contradicts_nothing() -> None:
    car = walk(NO_DENTS, "And so on", A_DING)
    struck = replace(car.findings[1], finding=replace(car.findings[1].finding, state=State.STRUCK))
    assert at_odds(replace(car, findings=(car.findings[0], struck))) == ()


def test_what_differs_between_two_occasions_has_changed_and_is_no_odds() -> None:
    first = walk(NO_DENTS, recorded_at="2026-03-01T10:00:00Z")
    days = walk(A_DING, recorded_at="2026-05-01T10:00:00Z", name="s")
    hours = walk(A_DING, recorded_at="2026-03-01T14:00:00+00:00", name="s")
    unknown = walk(A_DING, name="s")
    assert rules(together(first, days)) == []
    assert rules(together(first, hours)) == ["denied"]
    assert rules(together(first, unknown)) == ["denied"]


def test_a_paper_may_be_older_than_its_picture_and_is_held_against_all() -> None:
    first = walk(NO_DENTS, recorded_at="2026-03-01T10:00:00Z")
    paper = Picture("p", Original("1" * 64, "paper.jpg", 1, Kind.PICTURE), 10, 10, taken_at="2026-05-01T10:00:00")
    ding = KeptFinding("q", replace(A_DING[1], footings=(Footing(FootingKind.WRITTEN, "p"),)))
    assert rules(replace(first, pictures=(paper,), findings=(*first.findings, ding))) == ["denied"]
    seen = KeptFinding("q", replace(A_DING[1], footings=(Footing(FootingKind.SEEN, "p"),)))
    assert rules(replace(first, pictures=(paper,), findings=(*first.findings, seen))) == []


def told(name: str, value: int | str, number: int, *, recording: str = "r", unit: str | None = None) -> KeptFact:
    return KeptFact(f"k{number}", Fact(name, value, unit, (Footing(FootingKind.SAID, recording, 1.0 * number),)))


def test_a_fact_with_two_values_is_at_odds_and_the_same_value_twice_is_not() -> None:
    car = walk()
    twice = (told("year", 1966, 0), told("year", 1966, 1))
    assert at_odds(replace(car, facts=twice)) == ()
    (odds,) = at_odds(replace(car, facts=(*twice, told("year", 1968, 2))))
    assert (odds.kind, odds.rule) == (OddsKind.FACT, "year")
    assert [one.struck_with for one in odds.told] == [("k0", "k1"), ("k2",)]


def test_the_round_figure_of_the_other_is_the_same_fact() -> None:
    assert at_odds(replace(walk(), facts=(told("engine_cc", 2000, 0), told("engine_cc", 1970, 1)))) == ()
    assert rules(replace(walk(), facts=(told("engine_cc", 1600, 0), told("engine_cc", 1970, 1)))) == ["engine_cc"]


def test_miles_that_rose_between_two_occasions_are_no_odds() -> None:
    car = together(walk(recorded_at="2026-03-01T10:00:00Z"), walk(recorded_at="2026-05-01T10:00:00Z", name="s"))
    miles = (told("odometer", 41_206, 0, unit="mi"), told("odometer", 41_311, 1, recording="s", unit="mi"))
    years = (told("year", 1966, 0), told("year", 1968, 1, recording="s"))
    assert rules(replace(car, facts=(*miles, *years))) == ["year"]
    same = tuple(replace(one, fact=replace(one.fact, footings=(Footing(FootingKind.SAID, "r"),))) for one in miles)
    assert rules(replace(car, facts=same)) == ["odometer"]


def test_values_are_put_together_by_what_they_tell() -> None:
    facts = (Fact("odometer", 1000, "mi"), Fact("odometer", 1000, "km"), Fact("odometer", "1000", "mi"))
    assert [len(same) for same in values_told(facts)] == [2, 1]


def test_this_side_may_be_the_other_one_where_neither_names_its_side() -> None:
    filler = ("Rear wing, filler in that", finds("rear_wing", "filler", side=Side.OFF))
    other = ("Rear wing, no filler this side", denies("rear_wing", "filler", side=Side.OFF))
    assert rules(walk(filler, "And so on", "And on", other)) == []
    named = ("Offside rear wing, no filler this side", denies("rear_wing", "filler", side=Side.OFF))
    assert rules(walk(filler, "And so on", "And on", named)) == ["denied"]
    plain = ("Rear wing, no filler", denies("rear_wing", "filler", side=Side.OFF))
    assert rules(walk(filler, "And so on", "And on", plain)) == ["denied"]


@pytest.mark.parametrize("side", [Side.OFF, None])
def test_good_news_of_a_part_that_is_spoken_of_as_one_is_of_all_of_it(side: Side | None) -> None:
    sound = ("Chassis is like new", finds("chassis", "sound"))
    hole = ("Chassis has rusted through", finds("chassis", "perforation", side=side))
    assert rules(walk(sound, "And so on", hole)) == ["hole_and_sound"]
    # The other way round it may be of the other side.
    near = ("Chassis is like new", finds("chassis", "sound", side=Side.NEAR))
    assert rules(walk(near, "And so on", ("It has rusted through", finds("chassis", "perforation")))) == []


def test_a_defect_that_names_no_thing_is_of_the_part_as_a_whole() -> None:
    denied = ("The poppers of the soft top, no tears", denies("hood", "tear"))
    assert rules(walk(denied, "And so on", ("There's a tear in the soft top", finds("hood", "tear")))) == ["denied"]
    window = ("A tear by the back window of it", finds("hood", "tear"))
    assert rules(walk(denied, "And so on", window)) == []


def test_the_other_thing_is_no_rest_of_it() -> None:
    dry = ("The other half is up front, and the boot is dry", denies("boot", "damp"))
    wet = ("There's damp in the boot", finds("boot", "damp"))
    assert rules(walk(dry, "And so on", wet)) == ["denied"]
    assert rules(walk(("No other damp in the boot", denies("boot", "damp")), "And so on", wet)) == []


def test_spaces_in_a_mark_and_a_unit_that_was_not_told_make_no_other_value() -> None:
    same = (
        *(told("registration_mark", "OGY 412H", 0), told("registration_mark", "ogy412h", 1)),
        *(told("odometer", 58_206, 2), told("odometer", 58_206, 3, unit="mi")),
    )
    assert at_odds(replace(walk(), facts=same)) == ()
    units = (told("odometer", 58_206, 2, unit="km"), told("odometer", 58_206, 3, unit="mi"))
    assert rules(replace(walk(), facts=units)) == ["odometer"]


@pytest.mark.parametrize(
    ("rough", "fine", "at"), [(58_000, 58_206, 0), (58_200, 58_206, 0), (60_000, 58_206, 1), (58_206, 58_000, 1)]
)
def test_a_mileage_that_was_said_may_be_a_round_one_and_one_that_was_seen_is_none(
    rough: int, fine: int, at: int
) -> None:
    clock = KeptFact("k9", Fact("odometer", fine, "mi", (Footing(FootingKind.SEEN, "p"),)))
    assert len(at_odds(replace(walk(), facts=(told("odometer", rough, 0, unit="mi"), clock)))) == at


def test_a_value_that_a_person_entered_is_held_against_all() -> None:
    entered = KeptFact("k9", Fact("odometer", 41_206, "mi"))
    (odds,) = at_odds(replace(walk(), facts=(told("odometer", 64_423, 0, unit="mi"), entered)))
    assert odds.kinds == (FootingKind.SAID, None)


def test_a_mark_that_was_spelled_out_is_held_against_the_one_that_was_seen_until_a_fact_has_come_of_it() -> None:
    car = walk("The registration is O G Y four one two H", "And so on")
    seen = KeptFact("k9", Fact("registration_mark", "OGY412K", footings=(Footing(FootingKind.SEEN, "p"),)))
    assert facts_at_odds(replace(car, facts=(seen,))) == ()
    (odds,) = at_odds(replace(car, facts=(seen,)))
    _, spelled = odds.told
    assert spelled.fact is not None
    assert (spelled.id, spelled.fact.value, spelled.spelled) == ("", "OGY412H", (spelled.name,))
    came = KeptFact("k8", spelled.fact)
    (after,) = at_odds(replace(car, facts=(seen, came)))
    assert (after.id, after.mark) == (odds.id, odds.mark)
    assert after.told[1].spelled == ()
    struck = replace(came, fact=replace(came.fact, state=State.STRUCK))
    assert at_odds(replace(car, facts=(seen, struck))) == ()


REAR_DOOR = ("A dent in the nearside rear door", finds("door", "dent", side=Side.NEAR, position=Position.REAR))


@pytest.mark.parametrize("doors", [2, 3])
def test_a_rear_door_on_a_car_with_two_side_doors_is_at_odds(doors: int) -> None:
    car = replace(walk(REAR_DOOR), facts=(told("doors", doors, 7),))
    (odds,) = at_odds(car)
    assert (odds.kind, odds.rule) == (OddsKind.NOT_FITTED, "rear_door")
    assert [one.id for one in odds.told] == ["k7", "r0"]


def test_a_rear_door_is_in_place_on_four_doors_and_while_nobody_said_how_many() -> None:
    assert at_odds(walk(REAR_DOOR)) == ()
    assert at_odds(replace(walk(REAR_DOOR), facts=(told("doors", 4, 7),))) == ()
    # The fact outweighs what the car is drawn as.
    assert at_odds(replace(walk(REAR_DOOR), doors=2, facts=(told("doors", 4, 7),))) == ()
    assert rules(replace(walk(REAR_DOOR), doors=2)) == ["rear_door"]
    # Two values for the doors are one case; the door is not another.
    both = (told("doors", 2, 7), told("doors", 4, 8))
    assert rules(replace(walk(REAR_DOOR), facts=both)) == ["doors"]


def test_a_radiator_on_an_air_cooled_car_is_at_odds_by_the_words_about_its_construction() -> None:
    fan = ("The cooling fan is new", finds("cooling", "renewed"))
    radiator = ("Small leak at the radiator", finds("cooling", "leak"))
    (odds,) = at_odds(walk("It's an air-cooled flat four", "And so on", fan, radiator))
    assert odds.rule == "radiator"
    assert odds.told[0].footings[0].quote == "air-cooled"
    assert odds.told[1].id == "r3"
    assert rules(walk("It's not air-cooled, this one", "And so on", radiator)) == []


def test_an_exhaust_on_an_electric_car_is_at_odds_and_one_that_is_missing_is_not() -> None:
    electric = (told("power_source", "electric", 9),)
    assert rules(replace(walk(("Exhaust is sound", finds("exhaust", "sound"))), facts=electric)) == ["exhaust"]
    assert rules(replace(walk(("No exhaust", finds("exhaust", "missing"))), facts=electric)) == []


def test_a_case_keeps_its_id_and_its_mark_changes_with_what_is_said() -> None:
    car = walk(NO_DENTS, "And so on", A_DING)
    (before,) = at_odds(car)
    worse = replace(car.findings[1], finding=replace(car.findings[1].finding, severity=Severity.MODERATE))
    (after,) = at_odds(replace(car, findings=(car.findings[0], worse)))
    assert before.id == after.id
    assert before.mark != after.mark
    stands = replace(car.findings[1], finding=replace(car.findings[1].finding, state=State.STANDS))
    assert at_odds(replace(car, findings=(car.findings[0], stands)))[0].mark == before.mark


def test_each_cue_stands_in_its_example_and_not_in_its_counter_example() -> None:
    assert len(odds_tables().cues) > 20
    for cue in odds_tables().cues:
        assert holds_phrase(words_of(cue.example), cue.phrases), cue.id
        assert not holds_phrase(words_of(cue.counter_example), cue.phrases), cue.id


def test_no_part_lies_within_itself_and_every_rule_has_a_reason() -> None:
    tables = odds_tables()
    rows = (*tables.exclusions, *tables.wholes, *tables.not_fitted)
    assert all(row.why for row in rows)
    for condition in ("rust", "dent", "leak"):
        assert all(part not in wholes for part, wholes in tables.holders(condition).items())


@pytest.mark.parametrize(
    ("read", "columns", "row", "told"),
    [
        (read_exclusions, EXCLUSION_COLUMNS, "x,rusty,yes,,same,no,,within,why,source", "condition 'rusty'"),
        (read_exclusions, EXCLUSION_COLUMNS, "x,rust,maybe,,same,no,,within,why,source", "first_found 'maybe'"),
        (read_exclusions, EXCLUSION_COLUMNS, "x,rust,yes,,same,no,,near,why,source", "reach 'near'"),
        (read_exclusions, EXCLUSION_COLUMNS, "x,rust,yes,,same,no,,within,,source", "no why"),
        (read_wholes, WITHIN_COLUMNS, "x,car,@boddy,rust,why,source", "part '@boddy'"),
        (read_cues, CUE_COLUMNS, "x,shouts,hey,hey,ho,source", "kind 'shouts'"),
        (read_traits, TRAIT_COLUMNS, "x,label,,,,,,source", "nothing that tells of it"),
        (read_traits, TRAIT_COLUMNS, "x,label,doors,,two,,,source", "doors_most 'two'"),
    ],
)
def test_a_wrong_row_is_refused_with_its_line(read: object, columns: tuple[str, ...], row: str, told: str) -> None:
    with pytest.raises(UserError) as refused:
        read(",".join(columns) + "\n" + row + "\n", source="mine.csv")  # type: ignore[operator]
    assert refused.value.problem.slug == "survey-table-refused"
    assert "mine.csv, line 2" in str(refused.value)
    assert told in str(refused.value)


def test_a_part_that_no_trait_speaks_of_is_refused() -> None:
    text = ",".join(NOT_FITTED_COLUMNS) + "\nx,steam,exhaust,,,why,source\n"
    with pytest.raises(UserError, match="trait 'steam'"):
        read_not_fitted(text, source="mine.csv", traits=odds_tables().traits)


def test_words_of_another_sentence_tell_nothing_of_this_one() -> None:
    car = walk("Forget the rest.", "And so on", A_DING)
    before = stretch_of(
        "Forget the rest. No dents in the nearside front wing. Otherwise fine.",
        0.0,
        9.0,
        origin=StretchOrigin.TRANSCRIPT,
    )
    start_s, end_s = before.words[3].start_s, before.words[9].end_s
    quote = "No dents in the nearside front wing"
    denial = replace(NO_DENTS[1], footings=(Footing(FootingKind.SAID, "r", start_s, end_s, quote),))
    recording = replace(car.recordings[0], stretches=(before, *car.recordings[0].stretches[1:]))
    findings = (KeptFinding("n", denial), *car.findings)
    assert rules(replace(car, recordings=(recording,), findings=findings)) == ["denied"]


def test_a_denial_that_is_taken_back_right_after_contradicts_nothing() -> None:
    car = walk("No dents in the nearside front wing. No, I tell a lie, there is one.", "And so on", A_DING)
    words = car.recordings[0].stretches[0].words
    quote = "No dents in the nearside front wing"
    footing = Footing(FootingKind.SAID, "r", words[0].start_s, words[6].end_s, quote)
    denial = KeptFinding("n", replace(NO_DENTS[1], footings=(footing,)))
    assert rules(replace(car, findings=(denial, *car.findings))) == []
