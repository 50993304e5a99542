"""How long cars stand, held against lifelines and against textbook figures of other things that last."""

import csv
import math
from pathlib import Path

import lifelines
import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from lifelines.datasets import load_leukemia, load_rossi
from lifelines.statistics import logrank_test

from shutline.market.survival import Expected, kaplan_meier, log_rank, median_of, weibull

PUBLISHED = Path(__file__).parents[1] / "published/survival_checks.csv"
ALL = tuple(csv.DictReader(PUBLISHED.read_text(encoding="utf-8").splitlines()))
ROWS = [row for row in ALL if "leukaemia" in row["dataset"]]
COX = {row["quantity"]: row for row in ALL if row not in ROWS}
ROSSI = ("fin", "age", "race", "wexp", "mar", "paro", "prio")


def leukaemia(group: int) -> tuple[list[float], list[bool]]:
    frame = load_leukemia()
    of = frame[frame["Rx"] == group]
    return [float(one) for one in of["t"]], [bool(one) for one in of["status"]]


@pytest.mark.parametrize("row", ROWS, ids=[f"{one['dataset'][-8:]} {one['quantity']}" for one in ROWS])
def test_published_figures_of_the_leukaemia_trial(row: dict[str, str]) -> None:
    # Freireich and others, Blood 21 (1963), as textbooks have it; Rx 1 is placebo in lifelines.
    first, second = leukaemia(0), leukaemia(1)
    quantity = row["quantity"]
    if quantity.startswith("logrank"):
        both = [*first[0], *second[0]], [*first[1], *second[1]]
        squared, _ = log_rank(*both, [False] * len(first[0]) + [True] * len(second[0]))
        assert squared == pytest.approx(float(row["value"]), abs=float(row["tolerance"]))
        return
    days, sold = second if "placebo" in row["dataset"] else first
    curve = kaplan_meier(days, sold)
    if quantity == "n/events":
        assert f"{len(days)}/{sum(sold)}" == row["value"]
    elif quantity == "median":
        assert median_of(curve) == float(row["value"])
    else:
        at = float(quantity[2:-1])
        left = [one.left for one in curve if one.days <= at][-1]
        assert left == pytest.approx(float(row["value"]), abs=float(row["tolerance"]))


def rossi() -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    frame = load_rossi()
    return frame[[*ROSSI]].to_numpy(float), frame["week"].to_numpy(float), frame["arrest"].to_numpy(bool)


@pytest.fixture(scope="module")
def hazards() -> tuple[np.ndarray, np.ndarray]:
    """Give what each column multiplies the hazard by in our Weibull, as a logarithm, and its standard error.

    T of exp(row · effects + exp(scatter) G) has the hazard a t^(k - 1) exp(-k row · effects) with k = exp(-scatter);
    the errors are by the delta method.
    """
    rows, weeks, arrested = rossi()
    found = weibull(np.column_stack([np.ones(len(rows)), rows]), weeks, arrested)
    shape = math.exp(-found.scatter)
    slopes = np.zeros((len(ROSSI), len(found.inside)))
    slopes[:, 1:-1] = -shape * np.eye(len(ROSSI))
    slopes[:, -1] = shape * found.effects[1:]
    return -shape * found.effects[1:], np.sqrt(np.einsum("ij,jk,ik->i", slopes, found.inside, slopes))


@pytest.mark.parametrize("column", ROSSI)
def test_hazards_of_our_model_are_those_of_cox(column: str, hazards: tuple[np.ndarray, np.ndarray]) -> None:
    row = COX[column]
    value, error = (float(one) for one in row["value"].removesuffix(")").split(" (se "))
    at = ROSSI.index(column)
    assert hazards[0][at] == pytest.approx(value, abs=float(row["tolerance"].removesuffix(" se")) * error)
    assert hazards[1][at] == pytest.approx(error, rel=0.01)


def test_the_partial_likelihood_of_our_hazards_is_all_but_the_highest(hazards: tuple[np.ndarray, np.ndarray]) -> None:
    rows, weeks, arrested = rossi()
    logs = rows @ hazards[0]
    found = 0.0
    # Efron's way with several in one week: each of them is at risk a little less than the one before.
    for week in sorted(set(weeks[arrested])):
        gone = (weeks == week) & arrested
        risk, tied = np.exp(logs[weeks >= week]).sum(), np.exp(logs[gone]).sum()
        found += logs[gone].sum() - sum(math.log(risk - at / gone.sum() * tied) for at in range(gone.sum()))
    row = COX["partial log-likelihood"]
    highest = float(row["value"])
    assert highest - float(row["tolerance"]) < found < highest + 5e-5


def test_every_row_of_the_table_is_held() -> None:
    assert {row["quantity"] for row in COX.values()} == {*ROSSI, "partial log-likelihood"}
    assert len(ROWS) + len(COX) == len(ALL) == 43
    assert all(row["tolerance"] and row["why"] for row in ALL)


def test_the_ends_of_the_curve_are_those_of_lifelines() -> None:
    days, sold = leukaemia(0)
    theirs = lifelines.KaplanMeierFitter().fit(days, sold)
    ends = theirs.confidence_interval_survival_function_
    for one in kaplan_meier(days, sold)[1:]:
        if one.left < 1:
            assert (one.low, one.high) == pytest.approx(tuple(ends.loc[one.days]), abs=1e-9)


def test_weibull_is_that_of_lifelines() -> None:
    frame = load_rossi()[["week", "arrest", "fin", "age", "prio"]]
    theirs = lifelines.WeibullAFTFitter().fit(frame, "week", "arrest")
    rows = np.column_stack([np.ones(len(frame)), frame[["fin", "age", "prio"]].to_numpy(float)])
    ours = weibull(rows, frame["week"].to_numpy(float), frame["arrest"].to_numpy(bool))
    named = [theirs.params_["lambda_"][one] for one in ("Intercept", "fin", "age", "prio")]
    assert list(ours.effects) == pytest.approx(named, abs=2e-4)
    assert -ours.scatter == pytest.approx(theirs.params_["rho_"]["Intercept"], abs=2e-4)
    assert ours.likelihood == pytest.approx(theirs.log_likelihood_, abs=1e-4)
    errors = [theirs.standard_errors_["lambda_"][one] for one in ("Intercept", "fin", "age", "prio")]
    assert list(np.sqrt(np.diag(ours.inside))[:4]) == pytest.approx(errors, rel=1e-2)


@settings(max_examples=40)
@given(
    st.lists(st.tuples(st.integers(1, 40), st.booleans(), st.booleans()), min_size=2, max_size=30),
)
def test_curve_and_test_are_those_of_lifelines_for_any_cars(rows: list[tuple[int, bool, bool]]) -> None:
    days = [float(day) for day, _, _ in rows]
    sold = [one for _, one, _ in rows]
    theirs = lifelines.KaplanMeierFitter().fit(days, sold).survival_function_["KM_estimate"]
    for one in kaplan_meier(days, sold):
        assert one.left == pytest.approx(theirs.loc[one.days], abs=1e-9)
    first = [at for at, row in enumerate(rows) if not row[2]]
    second = [at for at, row in enumerate(rows) if row[2]]
    if not first or not second:
        return
    try:
        squared, chance = log_rank(days, sold, [one for _, _, one in rows])
    except ValueError:
        return
    groups = (first, second)
    held = logrank_test(*([days[at] for at in of] for of in groups), *([sold[at] for at in of] for of in groups))
    assert squared == pytest.approx(held.test_statistic, abs=1e-9)
    assert chance == pytest.approx(held.p_value, abs=1e-9)


def test_with_no_car_sold_the_answer_is_what_was_expected_and_longer_for_each_that_stands() -> None:
    expected = Expected((3.8, 0.0), (0.7, 0.3))
    none = weibull(np.zeros((0, 1)), np.zeros(0), np.zeros(0, bool), expected)
    assert [*none.effects, none.scatter] == pytest.approx([3.8, 0.0], abs=1e-6)
    stands = weibull(np.ones((3, 1)), np.full(3, 200.0), np.zeros(3, bool), expected)
    assert stands.effects[0] > 4.3
    assert math.sqrt(stands.inside[0, 0]) < 0.7


def test_too_few_sold_cars_and_odd_days_are_refused() -> None:
    with pytest.raises(ValueError, match="at least 2 are needed"):
        weibull(np.ones((3, 1)), np.full(3, 20.0), np.array([True, False, False]))
    with pytest.raises(ValueError, match="more than nought"):
        weibull(np.ones((1, 1)), np.zeros(1), np.array([True]), Expected((3.8, 0.0), (0.7, 0.3)))
    with pytest.raises(ValueError, match="at least one car"):
        kaplan_meier([], [])
    with pytest.raises(ValueError, match="cannot be compared"):
        log_rank([1, 2], [False, False], [True, False])
