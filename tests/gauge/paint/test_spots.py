"""Readings into spots, what is no film, and when a coat is accepted."""

from __future__ import annotations

import csv
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from shutline.car.errors import BadInputError
from shutline.car.findings import Position, Side
from shutline.car.readings import Reading
from shutline.gauge.paint import Panel, body_of, judge_area
from shutline.gauge.paint.construction import Body
from shutline.gauge.paint.spots import drop_unrepeatable, spots_of
from shutline.gauge.paint.tables import against_rows, materials, neighbours, panels, trade_ranges, words

PUBLISHED = Path(__file__).parents[2] / "published"


def reading(
    value: float, *, unit: str = "um", part: str = "bonnet", spot: str = "", series: str = "a", **more
) -> Reading:  # type: ignore[no-untyped-def]
    return Reading("paint_film", value, unit, 2.0, part, spot=spot, series=series, **more)


def published() -> list[dict[str, str]]:
    return list(csv.DictReader((PUBLISHED / "film_acceptance.csv").read_text(encoding="utf-8").splitlines()))


@pytest.mark.parametrize("row", published(), ids=lambda row: row["rule"])
def test_limits_of_acceptance_are_those_published(row: dict[str, str]) -> None:
    highest = float(row["highest"]) if row["highest"] else None
    area = judge_area([[float(row["lowest"])] * 3] * 5, lowest=float(row["lowest"]), highest=highest, rule=row["rule"])
    assert area.lowest_spot == pytest.approx(float(row["lowest_spot"]), abs=float(row["tolerance"]))
    if row["highest_spot"]:
        assert area.highest_spot == pytest.approx(float(row["highest_spot"]), abs=float(row["tolerance"]))
    assert area.accepted


def test_spots_on_the_published_limits_pass_and_those_beyond_do_not() -> None:
    # SSPC-PA 2, worked limits 6.4 and 14.4 mil for 8 to 12 mil (check_values.md 3).
    def five(first: float, second: float) -> list[list[float]]:
        return [[first] * 3, [second] * 3, [10.0] * 3, [10.0] * 3, [10.0] * 3]

    assert judge_area(five(6.4, 14.4), lowest=8, highest=12).accepted
    below = judge_area(five(6.3, 14.4), lowest=8, highest=12)
    assert (below.accepted, below.low_spots, below.high_spots) == (False, (1,), ())
    above = judge_area(five(6.4, 14.5), lowest=8, highest=12)
    assert (above.accepted, above.high_spots) == (False, (2,))


def test_the_mean_of_the_area_is_bound_and_single_readings_are_not() -> None:
    assert not judge_area([[7.9] * 3] * 5, lowest=8, highest=12).accepted
    assert judge_area([[5.0, 9.5, 9.6], *[[10.0] * 3] * 4], lowest=8, highest=12).accepted
    # By the other rule a single reading below 80 % is enough.
    single = judge_area([[79.0], [120.0], [120.0]], lowest=100, rule="iso_19840")
    assert (single.accepted, single.low_readings) == (False, ((1, 1),))


def test_an_area_short_of_spots_says_so() -> None:
    area = judge_area([[9.0, 9.1, 9.2], [9.0, 9.1]], lowest=8, highest=12)
    assert area.short_of == ("2 spots of 5", "fewer than 3 readings in spot 2")
    assert area.good_for
    assert area.decides


@pytest.mark.parametrize(
    ("spots", "lowest", "highest", "rule"),
    [
        ([], 8, 12, "sspc_pa_2"),
        ([[]], 8, 12, "sspc_pa_2"),
        ([[-1]], 8, 12, "sspc_pa_2"),
        ([[9]], 12, 8, "sspc_pa_2"),
        ([[9]], 0, 8, "sspc_pa_2"),
        ([[9]], 8, None, "sspc_pa_2"),
        ([[9]], 8, 12, "iso_19840"),
        ([[9]], 8, 12, "of our own"),
        ([[float("nan")]], 8, 12, "sspc_pa_2"),
    ],
)
def test_limits_and_readings_that_are_none_are_refused(
    spots: list[list[float]], lowest: float, highest: float | None, rule: str
) -> None:
    with pytest.raises(BadInputError) as refused:
        judge_area(spots, lowest=lowest, highest=highest, rule=rule)
    assert refused.value.problem.slug == "paint-limits"


def test_close_readings_make_a_spot_and_one_that_does_not_repeat_is_left_out_and_told() -> None:
    spots, problems = spots_of([reading(120), reading(118), reading(125), reading(400)])
    (spot,) = spots
    assert not problems
    assert spot.mean_um == pytest.approx(121)
    assert spot.readings == 3
    assert [one.value_um for one in spot.dropped] == [400]
    assert "left out" in spot.dropped[0].why


def test_of_two_readings_and_of_readings_that_agree_with_nothing_none_is_dropped() -> None:
    assert drop_unrepeatable([120, 400]) == ((0, 1), ())
    assert drop_unrepeatable([120, 200, 400]) == ((0, 1, 2), ())
    (spot,), _ = spots_of([reading(120), reading(200), reading(400)])
    assert not spot.steady
    assert spot.repeated == 1
    assert any("read it once more" in note for note in spot.notes)


@given(st.lists(st.floats(1, 3000), min_size=1, max_size=12))
def test_never_more_than_a_third_is_dropped_and_order_does_not_matter(values: list[float]) -> None:
    kept, dropped = drop_unrepeatable(values)
    assert sorted((*kept, *dropped)) == list(range(len(values)))
    assert len(dropped) <= len(values) // 3
    back, _ = drop_unrepeatable(values[::-1])
    assert sorted(values[i] for i in kept) == sorted(values[::-1][i] for i in back)


def test_a_mil_is_25_4_micrometres_and_words_give_places() -> None:
    (spot,), _ = spots_of([reading(4.0, unit="mil", spot="bottom front")])
    assert spot.mean_um == pytest.approx(101.6)  # 1 mil = 25.4 µm exactly
    assert (spot.along, spot.up) == (0.0, 0.0)
    (both,), _ = spots_of([reading(100, spot="bottom middle")])
    assert (both.along, both.up) == (0.5, 0.0)
    (middle,), _ = spots_of([reading(100, spot="middle")])
    assert (middle.along, middle.up) == (0.5, 0.5)


def test_without_a_series_a_named_spot_is_one_spot_and_unnamed_readings_are_their_own() -> None:
    named, _ = spots_of([reading(value, spot="top", series="") for value in (120, 121, 122)])
    assert [spot.readings for spot in named] == [3]
    unnamed, _ = spots_of([reading(value, series="") for value in (120, 121, 122)])
    assert [spot.readings for spot in unnamed] == [1, 1, 1]
    days = [reading(120, spot="top", series="", measured_at=f"2026-11-{day:02}T10:00") for day in (1, 2)]
    assert len(spots_of(days)[0]) == 2


def test_a_reading_of_both_sides_counts_for_each() -> None:
    spots, _ = spots_of([reading(120, part="door", side=Side.BOTH, position=Position.FRONT)])
    assert [spot.panel for spot in spots] == [
        Panel("door", Side.NEAR, Position.FRONT),
        Panel("door", Side.OFF, Position.FRONT),
    ]


def test_a_gauge_reads_nothing_on_glassfibre_and_that_is_said() -> None:
    body = body_of(["so this has the glassfibre body on a steel chassis"])
    spots, problems = spots_of([reading(120), reading(121)], body=body)
    assert not spots
    assert [problem.slug for problem in problems] == ["paint-no-metal"]
    assert "glassfibre body" in problems[0].found
    assert "Glassfibre" in problems[0].allowed


def test_the_kind_of_gauge_goes_by_the_metal() -> None:
    body = body_of(["it's a steel body with an aluminium bonnet"])
    eddy = {"details": {"method": "eddy"}}
    magnetic = {"details": {"method": "magnetic"}}
    good, none = spots_of([reading(120, **eddy), reading(120, part="roof", **magnetic)], body=body)
    assert len(good) == 2
    assert not none
    bad, problems = spots_of([reading(120, **magnetic), reading(120, part="roof", **eddy)], body=body)
    assert not bad
    assert [problem.slug for problem in problems] == ["paint-method", "paint-method"]
    # Where nobody said what it is made of, the gauge is believed.
    assert len(spots_of([reading(120, **eddy)], body=Body())[0]) == 1


def test_what_carries_another_coat_is_kept_out_with_its_reason() -> None:
    spots, problems = spots_of([reading(900, part="floor", side=Side.NEAR), reading(10, part="windscreen")])
    assert not spots
    assert [problem.slug for problem in problems] == ["paint-not-a-panel"] * 2
    assert "underseal" in problems[0].allowed


@pytest.mark.parametrize("row", materials(), ids=lambda row: row.id)
def test_words_for_a_material_fit_their_example_and_not_the_other(row) -> None:  # type: ignore[no-untyped-def]
    told = body_of([row.example])
    assert told.whole is not None
    assert told.whole.id == row.metal
    assert body_of([row.counter_example]).whole is None or body_of([row.counter_example]).whole.id != row.metal  # type: ignore[union-attr]


def test_what_is_denied_and_what_was_chosen_for_the_car() -> None:
    assert body_of(["it is not a glassfibre body"]).whole is None
    assert body_of([], constructions=["glassfibre_on_chassis"]).whole is not None
    both = body_of(["the car is steel bodied", "with a fibreglass bonnet"])
    assert both.metal_of("bonnet") is not None
    assert both.metal_of("bonnet").id == "none"  # type: ignore[union-attr]
    assert both.metal_of("roof").id == "steel"  # type: ignore[union-attr]
    assert body_of(["alloy wheels all round"]) == Body()


def test_the_tables_are_whole() -> None:
    assert {"bonnet", "door", "sill"} <= {part for part, row in panels().items() if row.compared}
    assert all(one != other for one, other in neighbours())
    assert trade_ranges()["modern_whole"].high_um == 180  # check_values.md 3: reported span 100 to 180 µm
    assert all("source" not in row.why for row in against_rows())
    assert words()["cautions"]["dust"]
