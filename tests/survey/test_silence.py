from __future__ import annotations

from dataclasses import replace

from hypothesis import given, settings
from hypothesis import strategies as st

from shutline.car.carfile import CarFile, KeptFact, KeptFinding
from shutline.car.findings import Drive, Fact, Finding, Footing, FootingKind, Found, Position, Side, State
from shutline.car.vocabulary import vocabulary
from shutline.survey import Breadth, silences, unknown_facts
from shutline.survey.ground import ground

SAID = (Footing(FootingKind.SAID, "r", 1.0, 2.0, "words"),)


def car(*findings: Finding, body: str | None = "saloon", doors: int | None = 4) -> CarFile:
    kept = tuple(KeptFinding(f"f{number}", finding) for number, finding in enumerate(findings))
    return CarFile("car", "Car", Drive.RHD, "2026-01-01T00:00:00+00:00", body, doors, findings=kept)


def finding(part: str, side: Side | None = None, position: Position | None = None, **more: object) -> Finding:
    return replace(Finding(part, "sound", Found.YES, side, position, footings=SAID), **more)  # type: ignore[arg-type]


def places(file: CarFile, part: str) -> dict[tuple[Side | None, Position | None], Breadth]:
    return {(one.side, one.position): one.breadth for one in silences(file) if one.part == part}


def test_one_sill_leaves_the_other_silent() -> None:
    assert places(car(finding("sill", Side.NEAR)), "sill") == {(Side.OFF, None): Breadth.NOT_MENTIONED}


def test_both_sides_speak_for_each() -> None:
    assert places(car(finding("sill", Side.BOTH)), "sill") == {}


def test_a_sill_without_its_side_speaks_for_neither() -> None:
    assert set(places(car(finding("sill")), "sill").values()) == {Breadth.PLACE_NOT_SAID}


def test_bodywork_speaks_of_a_sill_in_passing_only() -> None:
    file = car(finding("bodywork"))
    assert set(places(file, "sill").values()) == {Breadth.ONLY_AS_A_WHOLE}
    assert next(one for one in silences(file) if one.part == "sill").passing == ("f0",)


def test_a_struck_finding_is_no_footing() -> None:
    assert (Side.NEAR, None) in places(car(finding("sill", Side.NEAR, state=State.STRUCK)), "sill")


def test_a_withdrawn_finding_is_no_footing() -> None:
    file = car(finding("sill", Side.NEAR))
    file = replace(file, findings=(replace(file.findings[0], withdrawn=True),))
    assert (Side.NEAR, None) in places(file, "sill")


def test_a_finding_without_any_footing_is_none() -> None:
    assert (Side.NEAR, None) in places(car(finding("sill", Side.NEAR, footings=())), "sill")


def test_an_unsure_finding_is_a_look_at_the_part() -> None:
    unsure = replace(finding("sill", Side.BOTH), condition="rust", found=Found.UNSURE)
    assert places(car(unsure), "sill") == {}


def test_four_tyres_are_four_places() -> None:
    assert len(places(car(), "tyre")) == 4
    assert len(places(car(finding("tyre", Side.BOTH, Position.FRONT)), "tyre")) == 2


def test_the_soft_top_is_expected_of_open_cars_only() -> None:
    assert places(car(body="saloon"), "hood") == {}
    assert places(car(body=None, doors=None), "hood") == {}
    assert len(places(car(body="roadster", doors=2), "hood")) == 1


def test_the_costliest_comes_first() -> None:
    bands = list(ground().bands)
    costs = [bands.index(one.when_bad[1]) for one in silences(car())]
    assert costs[0] == bands.index("ruinous")
    dear = [cost for cost in costs if cost > bands.index("large")]
    assert costs[: len(dear)] == dear
    first = [one.part for one in silences(car())][:8]
    assert {"sill", "chassis"} <= set(first)


def test_a_matter_of_safety_comes_before_trifles_that_cost_more() -> None:
    parts = [one.part for one in silences(car())]
    assert parts.index("tyre") < parts.index("bumper")
    assert parts.index("brakes") < parts.index("valance")


def test_a_part_spoken_of_in_another_matter_is_not_silent_and_not_answered() -> None:
    breadths = {one.check: one.breadth for one in silences(car(replace(finding("engine"), condition="noise")))}
    assert breadths["engine_leaks"] is Breadth.ANOTHER_MATTER
    assert "engine" not in breadths


def test_facts_nobody_told_are_named_and_struck_ones_count_as_not_told() -> None:
    known = KeptFact("a", Fact("year", 1971, footings=SAID))
    struck = KeptFact("b", Fact("odometer", 5, "mi", footings=SAID, state=State.STRUCK))
    names = [one.name for one in unknown_facts(replace(car(), facts=(known, struck)))]
    assert "year" not in names
    assert "odometer" in names


PARTS = st.sampled_from(sorted(vocabulary().parts))
SIDES = st.sampled_from([None, *Side])
ENDS = st.sampled_from([None, *Position])


@settings(max_examples=60, deadline=None)
@given(st.lists(st.builds(finding, PARTS, SIDES, ENDS), max_size=12), st.builds(finding, PARTS, SIDES, ENDS))
def test_one_more_finding_never_makes_more_silent(some: list[Finding], one: Finding) -> None:
    def not_mentioned(file: CarFile) -> set[object]:
        return {(s.part, s.side, s.position) for s in silences(file) if s.breadth is Breadth.NOT_MENTIONED}

    assert not_mentioned(car(*some, one)) <= not_mentioned(car(*some))
