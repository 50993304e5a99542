"""What to ask: held against simulated sales, and against what must be so whatever the figures."""

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy import integrate

from shutline.market import holding_a_day
from shutline.market.asking import Asking, Stock, asking_of, days_to_sell, time_to_sell
from shutline.market.settings import market_settings

SELLING = market_settings().selling


def sure(chances: np.ndarray) -> np.ndarray:
    return np.full(len(chances), 10_000.0)


def sales(count: int, steepness: float = 5.0, seed: int = 1) -> list[Stock]:
    """Simulate cars whose days are Weibull with shape 1 and median 40 at a price of 1; seen for 150 days at most."""
    source = np.random.default_rng(seed)
    found = []
    for _ in range(count):
        asked = float(np.exp(source.normal() * 0.12))
        days = float(source.exponential(40 / math.log(2) * asked**steepness))
        found.append(Stock(min(days, 150.0), days <= 150, asked))
    return found


def ask(stock: list[Stock] | None = None, **given_: float) -> Asking:
    return asking_of(sure, stock or [], **{"holding": 10.0, **given_})  # type: ignore[arg-type]


def test_many_sales_tell_how_time_grows_with_price() -> None:
    found = time_to_sell(sales(2000))
    assert found.effects[1] == pytest.approx(5, abs=0.5)
    assert math.exp(found.effects[0]) * math.log(2) == pytest.approx(40, rel=0.1)
    assert math.exp(-found.scatter) == pytest.approx(1, abs=0.07)


def test_without_cars_it_is_what_was_expected() -> None:
    found = time_to_sell([])
    half = math.exp(found.effects[0]) * math.log(2) ** math.exp(found.scatter)
    assert half == pytest.approx(math.exp(SELLING.days))
    assert ask().stood == ()
    assert "0 cars" in ask().note


def test_few_cars_move_it_a_little_and_many_a_lot() -> None:
    slow = [Stock(300.0, sold=False, asked=1.0)]
    expected, one, many = (time_to_sell(slow * count).effects[0] for count in (0, 1, 30))
    assert expected < one < many


def test_what_is_left_is_the_sum_of_a_plain_integral() -> None:
    stock = sales(4000)
    found = ask(stock, trade_share=0.75, keeps=5 / 6, paid=0.95, last_day=120)
    fitted = time_to_sell(stock)
    for one in found.curve[::8]:
        row = np.array([1.0, math.log(one.price / 10_000)])

        def there(day: float, row: np.ndarray = row) -> float:
            return float(fitted.left(np.array(day), row))

        stood = integrate.quad(there, 0, 120)[0]
        sold = 1 - there(120)
        left = 5 / 6 * (0.95 * one.price * sold + 7500 * (1 - sold) - 7500) - 10 * stood
        assert one.left[0] == pytest.approx(left, abs=0.01 * 10_000)
        assert one.sold[0] == pytest.approx(sold, abs=0.02)


def test_the_best_price_is_found_on_the_curve() -> None:
    found = ask(sales(400))
    assert found.best.left[0] == max(one.left[0] for one in found.curve)
    assert found.flat_low <= found.best.price <= found.flat_high
    assert not found.at_end


@settings(max_examples=5, deadline=None)
@given(st.floats(0, 30), st.floats(1, 60))
def test_dearer_holding_never_asks_more(holding: float, more: float) -> None:
    stock = sales(60)
    assert ask(stock, holding=holding + more).best.price <= ask(stock, holding=holding).best.price


def test_a_dearer_price_takes_longer_and_is_less_sure() -> None:
    found = ask(sales(60))
    halves = [one.half[0] for one in found.curve]
    assert halves == sorted(halves)
    assert all(one.half[1] <= one.half[0] <= one.half[2] for one in found.curve)


def test_asking_less_later_pays_where_the_car_is_poorly_known() -> None:
    found = asking_of(lambda chances: 10_000 * np.exp(0.5 * (chances - 0.5)), sales(60), holding=10.0)
    assert found.cut is not None
    assert found.cut.then < found.cut.first
    assert found.cut.gain > 0


def test_holding_a_day_is_what_it_is_made_of() -> None:
    assert holding_a_day(36_525, 10) == pytest.approx(10)
    assert holding_a_day(0, 10, 365.25, 730.5) == pytest.approx(3)


def test_figures_that_cannot_be_are_refused() -> None:
    with pytest.raises(ValueError, match="nought or more"):
        ask(holding=-1.0)
    with pytest.raises(ValueError, match="share of more than nought"):
        Stock(3.0, sold=True, asked=0.0)


def test_days_are_drawn_as_the_curve_tells_them() -> None:
    stock = sales(400)
    curve = ask(stock, last_day=120).curve
    for one in (curve[10], curve[15], curve[25]):
        days = days_to_sell(sure, stock, price=one.price, last_day=120)
        assert float(np.median(days)) == pytest.approx(min(one.half[0], 120), rel=0.05)
        assert float((days < 120).mean()) == pytest.approx(one.sold[0], abs=0.02)
    with pytest.raises(ValueError, match="more than nought"):
        days_to_sell(sure, stock, price=0, last_day=120)
