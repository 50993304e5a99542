"""Coverage of labelled narrations, counted by hand in `coverage_by_hand.csv` from their labels.

The count: a check has a footing where a label of its part, side, end and matter stands; it is mentioned in passing
where only a whole, no place, or another matter of the part was spoken of; all else is not mentioned.
"""

from __future__ import annotations

import csv
import json
from collections import defaultdict
from dataclasses import replace
from pathlib import Path

import pytest

from shutline.car.carfile import CarFile, Change, KeptFact, KeptFinding
from shutline.car.findings import Drive, Fact, Finding, Footing, FootingKind, Found, Position, Side, State
from shutline.car.readings import KeptReading, Reading
from shutline.survey import Breadth, Cover, Coverage, coverage, silences
from shutline.survey.choices import ASKED_AGAIN, GUIDE_CHOSEN, LEFT_OUT

BY_HAND = Path(__file__).with_name("coverage_by_hand.csv")
NARRATIONS = Path(__file__).parents[3] / "shared" / "eval" / "dev"
SAID = (Footing(FootingKind.SAID, "r", 1.0, 2.0, "words"),)


def rows() -> list[dict[str, str]]:
    with BY_HAND.open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))


def labelled(name: str, body: str, doors: str) -> CarFile:
    path = NARRATIONS / f"{name}.json"
    if not path.is_file():
        pytest.skip("the labelled narrations are not at hand")
    narration = json.loads(path.read_text(encoding="utf-8"))
    findings = tuple(
        KeptFinding(
            f"f{number}",
            Finding(
                one["part"],
                one["condition"],
                Found(one["found"]),
                Side(one["side"]) if one["side"] else None,
                Position(one["position"]) if one["position"] else None,
                footings=SAID,
            ),
        )
        for number, one in enumerate(narration["observations"])
    )
    drive = Drive(narration["drive"])
    return CarFile("car", "Car", drive, "2026-01-01T00:00:00Z", body, int(doors) if doors else None, findings=findings)


@pytest.mark.parametrize("name", sorted({row["narration"] for row in rows()}))
def test_what_a_narration_covers_is_what_was_counted_by_hand(name: str) -> None:
    mine = [row for row in rows() if row["narration"] == name]
    by_hand = {key: row["cover"] for row in mine for key in row["checks"].split()}
    assert sum(len(row["checks"].split()) for row in mine) == len(by_hand), "a check is counted twice"
    found = coverage(labelled(name, mine[0]["body"], mine[0]["doors"]), names=(mine[0]["guide"],))
    odd = {
        one.asked.key: (by_hand.get(one.asked.key), one.cover.value, one.breadth)
        for one in found.checks
        if by_hand.get(one.asked.key) != one.cover
    }
    assert odd == {}
    assert len(found.checks) == len(by_hand)


OF_SEVERAL = {
    # 'Headlights, both of them', 'tyres, all four', 'inner wings, both of them'; of the wheels the two on the
    # nearside have remarks of their own besides 'came on it from new so they're right'.
    "tidy-saloon-dealer": """headlight-near headlight-off inner_wing-near inner_wing-off tyre-front-near tyre-front-off
        tyre-rear-near tyre-rear-off wheel-front-off wheel-rear-off""",
    # 'Plenty on all four', 'back springs', 'new ones on the front', 'footwells, both of them', 'both lamps
    # shine', 'lamps come on, the pair'; the nearside headlight and the offside rear light have remarks of their
    # own.
    "light-4x4-farmer": """tyre-front-near tyre-front-off tyre-rear-near tyre-rear-off suspension_rear-rear-near
        suspension_rear-rear-off leaf_springs-rear-near leaf_springs-rear-off suspension_front-front-near
        suspension_front-front-off headlight-off rear_light-near floor-near floor-off""",
}
"""Checks that stand only on a word for several places in one, counted by hand from the labels."""

BY_NAME = {
    # The inner wings and the exhaust in another matter; 'brakes' without an end, 'the rear seat' without a
    # side. What else is in passing, 54 places, is part of 'a lovely tidy thing', of the engine bay that is
    # 'tidy and honest', or of papers.
    "tidy-saloon-dealer": """strut_top-near strut_top-off exhaust brakes_front-front brakes_rear-rear
        seat_rear-rear-near seat_rear-rear-off""",
    # 'Seat' and 'brakes' without which; engine, axle (swivels, propshafts) and gearbox (transfer box) in
    # another matter.
    "light-4x4-farmer": """engine seat-front-near seat-front-off brakes_front-front brakes_rear-rear swivels propshafts
        transfer_leaks""",
}
"""Checks in passing that were spoken of by name, gone through by hand; the others only as part of something wider."""


@pytest.mark.parametrize("name", sorted(OF_SEVERAL))
def test_how_a_narration_covers_is_what_was_counted_by_hand(name: str) -> None:
    mine = [row for row in rows() if row["narration"] == name]
    found = coverage(labelled(name, mine[0]["body"], mine[0]["doors"]), names=(mine[0]["guide"],))
    assert {one.asked.key for one in found.checks if one.of_several} == set(OF_SEVERAL[name].split())
    by_name = {one.asked.key for one in found.of(Cover.IN_PASSING) if one.breadth is not Breadth.ONLY_AS_A_WHOLE}
    assert by_name == set(BY_NAME[name].split())
    by_hand = {row["cover"]: len(row["checks"].split()) for row in mine}
    counts = found.counts
    assert counts.own + counts.of_several == by_hand["has a footing"]
    assert counts.of_several == len(OF_SEVERAL[name].split())
    assert (counts.named, counts.named + counts.within) == (len(by_name), by_hand["mentioned in passing"])
    assert counts.silent == by_hand.get("not mentioned", 0)


def test_a_word_for_all_four_is_told_from_one_of_the_very_tyre() -> None:
    all_four = Finding("tyre", "sound", Found.YES, Side.BOTH, Position.BOTH, footings=SAID)
    one = Finding("tyre", "wear", Found.YES, Side.NEAR, Position.FRONT, footings=SAID)
    found = {each.asked.key: each for each in coverage(car(all_four, one)).checks}
    assert not found["tyre-front-near"].of_several
    assert found["tyre-front-off"].of_several
    assert found["tyre-front-off"].cover is Cover.HAS_FOOTING
    # A check that is asked once for both sides is answered by a word for both.
    boot = Finding("boot_floor", "sound", Found.YES, footings=SAID)
    assert coverage(car(boot)).counts.own == 1


def car(*findings: Finding, **more: object) -> CarFile:
    kept = tuple(KeptFinding(f"f{number}", finding) for number, finding in enumerate(findings))
    return CarFile("car", "Car", Drive.RHD, "2026-01-01T00:00:00Z", "saloon", 4, findings=kept, **more)  # type: ignore[arg-type]


def covers(found: Coverage) -> dict[str, Cover]:
    return {one.asked.key: one.cover for one in found.checks}


def change(action: str, **after: object) -> Change:
    return Change("2026-01-02T00:00:00Z", "Ada", action, {}, after)


def test_the_kinds_that_a_check_stands_on_are_told() -> None:
    measured = Footing(FootingKind.MEASURED, "g")
    file = car(
        Finding("sill", "sound", Found.YES, Side.NEAR, footings=(*SAID, measured)),
        Finding("sill", "rust", Found.NO, Side.NEAR, footings=(Footing(FootingKind.SEEN, "p"),)),
    )
    sill = next(one for one in coverage(file).checks if one.asked.key == "sill-near")
    assert sill.kinds == (FootingKind.SAID, FootingKind.SEEN, FootingKind.MEASURED)
    assert sill.findings == ("f0", "f1")


def test_all_good_round_there_is_no_answer_but_a_mention() -> None:
    found = coverage(car(Finding("bodywork", "sound", Found.YES, footings=SAID)))
    sill = next(one for one in found.checks if one.asked.key == "sill-near")
    assert (sill.cover, sill.breadth, sill.passing) == (Cover.IN_PASSING, Breadth.ONLY_AS_A_WHOLE, ("f0",))


def test_a_word_for_all_the_metal_touches_no_switch() -> None:
    found = {one.asked.key: one for one in coverage(car(Finding("car", "rust", Found.NO, footings=SAID))).checks}
    assert (found["sill-near"].cover, found["sill-near"].passing) == (Cover.IN_PASSING, ("f0",))
    assert {found[key].cover for key in ("switch", "carpet", "gearbox", "keys")} <= {Cover.NOT_MENTIONED}
    tidy = coverage(car(Finding("car", "sound", Found.YES, footings=SAID)))
    assert next(one for one in tidy.checks if one.asked.key == "switch").cover is Cover.IN_PASSING


def test_the_open_checks_come_first_and_what_costs_most_leads_them() -> None:
    found = coverage(car(Finding("sill", "sound", Found.YES, Side.BOTH, footings=SAID)))
    order = [one.cover for one in found.checks]
    assert order.index(Cover.HAS_FOOTING) == len(found.open)
    assert found.checks[0].asked.check.when_bad[1] == "ruinous"


def test_an_omission_has_its_reason_and_its_author_and_can_be_taken_back() -> None:
    out = change(LEFT_OUT, check="gearbox", reason="no road here")
    found = coverage(car(changes=(out,)))
    left = found.of(Cover.LEFT_OUT)
    assert [(one.asked.key, one.omission.reason, one.omission.author) for one in left if one.omission] == [
        ("gearbox", "no road here", "Ada")
    ]
    assert "gearbox" not in {one.check for one in silences(car(), found=found)}
    again = coverage(car(changes=(out, change(ASKED_AGAIN, check="gearbox"))))
    assert covers(again)["gearbox"] is Cover.NOT_MENTIONED


def test_an_omission_may_be_of_one_place_or_of_all() -> None:
    one = covers(coverage(car(changes=(change(LEFT_OUT, check="sill-near", reason="x"),))))
    assert (one["sill-near"], one["sill-off"]) == (Cover.LEFT_OUT, Cover.NOT_MENTIONED)
    both = covers(coverage(car(changes=(change(LEFT_OUT, check="sill", reason="x"),))))
    assert (both["sill-near"], both["sill-off"]) == (Cover.LEFT_OUT, Cover.LEFT_OUT)


def test_a_finding_is_stronger_than_an_omission() -> None:
    file = car(
        Finding("gearbox", "works", Found.YES, footings=SAID), changes=(change(LEFT_OUT, check="gearbox", reason="x"),)
    )
    assert covers(coverage(file))["gearbox"] is Cover.HAS_FOOTING


def test_what_a_person_chose_is_the_guide_until_it_is_taken_back_or_gone() -> None:
    chosen = change(GUIDE_CHOSEN, guides=["rear_engined", "air_cooled"])
    assert coverage(car(changes=(chosen,))).choice.guide.id == "rear_engined+air_cooled"
    assert not coverage(car(changes=(chosen, change(GUIDE_CHOSEN, guides=[])))).choice.chosen
    assert (
        coverage(car(changes=(change(GUIDE_CHOSEN, guides=["sold_long_ago"]),))).choice.guide.id == "monocoque_saloon"
    )


def test_a_car_that_runs_on_electricity_is_asked_for_its_pack() -> None:
    fact = KeptFact("a", Fact("power_source", "electric", footings=SAID))
    found = coverage(car(facts=(fact,)))
    assert "pack_box" in covers(found)
    assert "exhaust" not in covers(found)
    counts: dict[str, int] = defaultdict(int)
    for one in found.checks:
        counts[one.asked.key] += 1
    assert max(counts.values()) == 1


def test_a_reading_answers_the_check_that_asks_for_a_gauge_and_no_other() -> None:
    """Tread is measured, and the tyre has a footing; paint film says nothing of the bonnet's chips."""

    def read(quantity: str, part: str, side: Side | None, position: Position | None, state: State) -> KeptReading:
        return KeptReading("r", Reading(quantity, 4.0, "mm", 0.1, part, side, position), state, "2026-01-01")

    def kinds(*readings: KeptReading) -> dict[str, tuple[FootingKind, ...]]:
        car = CarFile("x", "x", Drive.RHD, "2026-01-01", body="saloon", doors=4, readings=readings)
        return {one.asked.key: one.kinds for one in coverage(car).checks if one.cover is Cover.HAS_FOOTING}

    tyre = read("tread_depth", "tyre", Side.NEAR, Position.REAR, State.STANDS)
    assert list(kinds(tyre).values()) == [(FootingKind.MEASURED,)]
    assert "rear" in next(iter(kinds(tyre)))
    assert kinds(replace(tyre, state=State.HEARD), replace(tyre, state=State.STRUCK)) == {}
    assert kinds(read("paint_film", "bonnet", None, None, State.STANDS)) == {}
    assert list(kinds(read("moisture", "carpet", None, None, State.STANDS))) == ["carpet"]
