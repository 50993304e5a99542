"""No sum of the market takes what is shipped where the firm's own was handed in."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from datetime import timedelta

import numpy as np
import pytest
from tests.market.conftest import TODAY, comparable

from shutline.market import (
    Car,
    Index,
    MarketSettings,
    Mileage,
    Outlay,
    Stock,
    asking,
    asking_of,
    days_to_sell,
    expected_prices,
    fetch,
    fetch_of,
    fitted,
    market_settings,
    most,
    most_to_pay,
)

CARS = [comparable(8000 - at * 10, 30_000 + 1000 * at, car=f"C{at}", ago=20 * at) for at in range(12)]
NINETY = Car({}, Mileage(35_000))


@pytest.fixture
def firm(monkeypatch: pytest.MonkeyPatch) -> MarketSettings:
    """Give the firm's own settings, with what is shipped out of reach."""
    shipped = market_settings()

    def nowhere() -> MarketSettings:
        raise AssertionError("what is shipped was read")

    for module in (asking, fetch, fitted, most):
        monkeypatch.setattr(module, "market_settings", nowhere)
    return replace(shipped, prior=replace(shipped.prior, spread=0.4), told=replace(shipped.told, nearest=1))


def flat(chances: np.ndarray) -> np.ndarray:
    return np.full(np.shape(chances), 8000.0)


SUMS: list[Callable[[MarketSettings], object]] = [
    lambda firm: fetch_of(CARS, [NINETY], today=TODAY, settings=firm),
    lambda firm: expected_prices(CARS, [(NINETY, "")], today=TODAY, settings=firm),
    lambda firm: most_to_pay(flat, Outlay(), allowed=0.1, draws=firm.told.draws, seed=firm.told.seed),
    lambda firm: asking_of(flat, [Stock(30, sold=True, asked=1.0)], holding=5, selling=firm.selling, seed=1),
    lambda firm: days_to_sell(flat, [], price=8000.0, last_day=180, selling=firm.selling, seed=1),
]


@pytest.mark.parametrize("work", SUMS)
def test_each_sum_is_made_with_what_is_handed_in(
    work: Callable[[MarketSettings], object], firm: MarketSettings
) -> None:
    assert work(firm) is not None


def test_the_firms_settings_change_the_estimate(firm: MarketSettings) -> None:
    (mine,) = fetch_of(CARS, [NINETY], today=TODAY, settings=firm).cars
    (wide,) = fetch_of(CARS, [NINETY], today=TODAY, settings=replace(firm, told=replace(firm.told, level=0.99))).cars
    assert mine is not None
    assert wide is not None
    assert (len(mine.bridges), mine.level, wide.level) == (1, 0.9, 0.99)
    assert wide.high - wide.low > mine.high - mine.low


def test_what_a_car_was_to_fetch_leaves_out_what_it_fetched() -> None:
    odd = replace(CARS[3], price=CARS[3].price * 2)
    cars = [*CARS[:3], odd, *CARS[4:]]
    seen = Car({}, odd.mileage)
    with_it, without = expected_prices(cars, [(seen, ""), (seen, odd.car)], today=TODAY)
    (never_seen,) = expected_prices([one for one in cars if one is not odd], [(seen, "")], today=TODAY)
    assert with_it is not None
    assert without is not None
    assert never_seen is not None
    # In closed form, with the weights of all: near the fit without it, and far nearer than the fit with it.
    assert abs(without - never_seen) < 0.25 * abs(with_it - never_seen) + 30
    assert expected_prices([odd], [(seen, odd.car)], today=TODAY) == (None,)
    assert expected_prices([], [(seen, "")], today=TODAY) == (None,)


def test_an_index_moves_what_was_expected() -> None:
    index = Index(((TODAY - timedelta(days=400), 100.0), (TODAY, 200.0)), "ours")
    (still,) = expected_prices(CARS, [(NINETY, "")], today=TODAY)
    (moved,) = expected_prices(CARS, [(NINETY, "")], today=TODAY, index=index)
    assert still is not None
    assert moved is not None
    assert moved > still
