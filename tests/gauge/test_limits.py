"""Limits: read or refused by line, chosen by first use, and held against figures that are not exact."""

from __future__ import annotations

import random
from dataclasses import replace
from datetime import date
from statistics import NormalDist

import pytest
from hypothesis import given
from hypothesis import strategies as st

from shutline.car.errors import BadInputError, UserError
from shutline.gauge.limits import (
    FirstUse,
    Limit,
    Outcome,
    Sense,
    Standing,
    amount,
    fitting,
    hold,
    is_open,
    joined,
    read_limits,
    share_within,
)
from shutline.gauge.results import cautions, read_uses

HEAD = "id,of,case,from,before,sense,value,upper,unit,standing,rule,decides,source,seen\n"
ROW = "a,tread,,1933-01-03,,at least,1.6,,mm,rule,at least 1.6 mm,the MOT tester,regulation 27,2026-11\n"


def limit(sense: Sense = Sense.AT_LEAST, value: float | None = 1.6, upper: float | None = None) -> Limit:
    standing = Standing.LOOK_UP if value is None else Standing.RULE
    return Limit("a", "tread", "", None, None, sense, value, upper, "mm", standing, "the rule", "you", "none", "2026")


def test_a_limit_carries_its_source_its_date_and_who_decides() -> None:
    (one,) = read_limits(HEAD + ROW, name="limits.csv")
    assert one.value == 1.6
    assert one.start == date(1933, 1, 3)
    assert one.told() == "at least 1.6 mm (rule; regulation 27; seen 2026-11; the MOT tester decides)"


@pytest.mark.parametrize(
    ("row", "named"),
    [
        (ROW.replace("1.6,,mm,rule", "1.6,,mm,look it up"), "look it up with value '1.6'"),
        (ROW.replace("1.6,,mm,rule", ",,mm,rule"), "rule with value ''"),
        (ROW.replace("1.6,,mm", "1.6,2,mm"), "upper '2'"),
        (ROW.replace("at least,1.6,,", "between,1.6,1.5,"), "between 1.6 and 1.5"),
        (ROW.replace("1933-01-03,", "1933-01-03,1933-01-03"), "from 1933-01-03 before 1933-01-03"),
        (ROW.replace("at least,1.6", "more than,1.6"), "more than"),
        (ROW.replace("regulation 27", ""), "source empty"),
        (ROW + ROW, "line 3: 'a' a second time"),
        (ROW.strip() + ",more\n", "too many or too few columns"),
        (ROW.replace("1933-01-03", "3 Jan 1933"), "line 2"),
    ],
)
def test_a_row_that_cannot_be_is_refused_with_its_line(row: str, named: str) -> None:
    with pytest.raises(UserError, match=named) as refused:
        read_limits(HEAD + row, name="limits.csv")
    assert refused.value.problem.slug == "gauge-row"


def test_an_unknown_column_is_refused() -> None:
    with pytest.raises(UserError, match="line 1"):
        read_limits("id,value\na,1\n", name="limits.csv")


@pytest.mark.parametrize(
    ("text", "earliest", "latest"),
    [
        ("1968", date(1968, 1, 1), date(1968, 12, 31)),
        ("1968-02", date(1968, 2, 1), date(1968, 2, 29)),
        ("1968-12", date(1968, 12, 1), date(1968, 12, 31)),
        ("1968-03-12", date(1968, 3, 12), date(1968, 3, 12)),
    ],
)
def test_first_use_is_as_wide_as_what_is_known(text: str, earliest: date, latest: date) -> None:
    assert FirstUse.of(text) == FirstUse(earliest, latest)


@pytest.mark.parametrize("text", ["", "68", "1968-13", "1968-02-30", "12/03/1968", "1968-3"])
def test_what_is_no_day_is_refused(text: str) -> None:
    with pytest.raises(BadInputError, match="1968-03-12"):
        FirstUse.of(text)


def test_both_sides_of_a_boundary_may_be_for_a_car_of_which_the_year_alone_is_known() -> None:
    rows = ROW.replace("1933-01-03", "1968-06-01") + ROW.replace("a,tread,,1933-01-03,,", "b,tread,,,1968-06-01,")
    limits = read_limits(HEAD + rows, name="limits.csv")
    assert [one.id for one in fitting(limits, "tread", first_used=FirstUse.of("1968"))] == ["a", "b"]
    assert [one.id for one in fitting(limits, "tread", first_used=FirstUse.of("1968-06-01"))] == ["a"]
    assert [one.id for one in fitting(limits, "tread", first_used=FirstUse.of("1968-05-31"))] == ["b"]
    assert [one.id for one in fitting(limits, "tread", first_used=None)] == ["a", "b"]
    assert fitting(limits, "other", first_used=None) == ()


@pytest.mark.parametrize(
    ("value", "uncertainty", "outcome"),
    [
        (1.6, 0.0, Outcome.WITHIN),
        (1.59, 0.0, Outcome.OUTSIDE),
        (1.7, 0.1, Outcome.NEAR),
        (1.5, 0.1, Outcome.NEAR),
        (1.9, 0.1, Outcome.WITHIN),
        (1.3, 0.1, Outcome.OUTSIDE),
    ],
)
def test_a_figure_near_a_limit_cannot_be_told(value: float, uncertainty: float, outcome: Outcome) -> None:
    assert hold(amount(value, "mm", uncertainty), limit(), what="tread").outcome is outcome


def test_what_is_to_be_looked_up_is_held_against_nothing() -> None:
    held = hold(amount(1.0, "mm", 0.1), limit(value=None), what="tread")
    assert held.outcome is Outcome.LOOK_UP
    assert held.probability is None


def test_a_figure_in_another_unit_is_a_mistake_of_the_caller() -> None:
    with pytest.raises(ValueError, match="which is in 'mm'"):
        hold(amount(1.0, "cm"), limit(), what="tread")


# An independent count of random draws; 40,000 of them put the share to within 0.01 (four standard deviations).
@pytest.mark.parametrize(
    ("one", "inside"),
    [
        (limit(), lambda x: x >= 1.6),
        (limit(Sense.AT_MOST), lambda x: x <= 1.6),
        (limit(Sense.BETWEEN, 1.6, 1.8), lambda x: 1.6 <= x <= 1.8),
    ],
)
def test_the_probability_is_the_share_of_draws_within(one: Limit, inside: object) -> None:
    draw = random.Random(8)
    drawn = [draw.gauss(1.65, 0.1) for _ in range(40_000)]
    assert callable(inside)
    share = sum(map(inside, drawn)) / len(drawn)
    assert share_within(amount(1.65, "mm", 0.1), one) == pytest.approx(share, abs=0.01)


@given(st.floats(0, 5), st.floats(1e-3, 1), st.floats(0, 5))
def test_within_and_outside_never_both(value: float, uncertainty: float, bound: float) -> None:
    figure = amount(value, "mm", uncertainty)
    least, most = (share_within(figure, limit(sense, bound)) for sense in (Sense.AT_LEAST, Sense.AT_MOST))
    assert least + most == pytest.approx(1)
    told = hold(figure, limit(value=bound), what="tread").outcome
    reach = NormalDist().inv_cdf(0.975) * uncertainty
    if abs(value - bound) < 0.99 * reach:
        assert told is Outcome.NEAR
    if abs(value - bound) > 1.01 * reach:
        assert told is (Outcome.WITHIN if value > bound else Outcome.OUTSIDE)


def test_limits_of_one_thing_that_come_out_unlike_give_no_outcome() -> None:
    held = [hold(amount(1.2, "mm", 0.01), limit(value=value), what="tread") for value in (1.0, 1.6)]
    assert [one.outcome for one in held] == [Outcome.WITHIN, Outcome.OUTSIDE]
    assert joined(held) is Outcome.NEAR
    assert is_open(held)
    assert joined(held[:1]) is Outcome.WITHIN
    assert not is_open(held[:1])
    assert joined([]) is None


def test_limits_of_several_things_hold_together() -> None:
    other = replace(limit(value=1.0), of="another")
    held = [hold(amount(1.2, "mm", 0.01), one, what="tread") for one in (limit(), other)]
    assert [one.outcome for one in held] == [Outcome.OUTSIDE, Outcome.WITHIN]
    assert joined(held) is Outcome.OUTSIDE
    assert not is_open(held)


def test_an_interval_ends_where_nothing_can_lie_beyond() -> None:
    assert amount(1.0, "%", 2.0, floor=0.0).low == 0.0
    assert amount(99.0, "%", 2.0, ceiling=100.0).high == 100.0
    with pytest.raises(BadInputError, match="a number"):
        amount(float("nan"), "mm")


def test_a_use_names_cautions_that_there_are() -> None:
    text = "id,label,good_for,decides,cautions,source\na,A,nothing,you,{},none\n"
    assert read_uses(text.format("jack rollers"), name="uses.csv")["a"].cautions[0] == cautions()["jack"]
    with pytest.raises(UserError, match="caution fire"):
        read_uses(text.format("fire"), name="uses.csv")
