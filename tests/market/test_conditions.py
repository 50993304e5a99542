"""What a condition is worth, and when the cars that were seen tell it."""

from __future__ import annotations

import math

import numpy as np
import pytest
from tests.market.conftest import TODAY, comparable

from shutline.market import Car, Comparable, ConditionWorth, fetch_of
from shutline.market.settings import market_settings

PRIOR = market_settings().prior


def conditions(cars: list[Comparable], here: str, **attributes: str) -> dict[str, ConditionWorth]:
    (found,) = fetch_of(cars, [Car(attributes, condition=here)], today=TODAY).cars
    assert found is not None
    assert [one.percent for one in found.conditions] == sorted((one.percent for one in found.conditions), reverse=True)
    return {one.word: one for one in found.conditions}


def cars_in(worths: dict[str, float], each: int, *, spread: float = 0.2, seed: int = 1) -> list[Comparable]:
    """Make cars whose prices differ by condition (of the logarithm) and scatter."""
    source = np.random.default_rng(seed)
    return [
        comparable(8000 * math.exp(worth + source.normal() * spread), car=f"{word} {at}", condition=word)
        for word, worth in worths.items()
        for at in range(each)
    ]


def test_many_cars_tell_what_each_condition_is_worth_against_that_of_the_car() -> None:
    found = conditions(cars_in({"tidy": 0.0, "Fine": 0.3, "rough": -0.5}, 60), "tidy")
    assert list(found) == ["fine", "rough"]
    for word, worth in (("fine", 0.3), ("rough", -0.5)):
        assert found[word].low < 100 * math.expm1(worth) < found[word].high
        assert (found[word].told, found[word].cars) == (True, 60)
        assert found[word].from_cars > 0.97


def test_one_car_of_each_tells_little_and_it_is_said_so() -> None:
    found = conditions(cars_in({"tidy": 0.0, "rough": -0.5}, 1, spread=0.0), "tidy")["rough"]
    assert not found.told
    assert 100 * math.expm1(-0.5) < found.percent < 0
    assert found.low < 100 * math.expm1(-0.5)
    assert found.high > 0


def test_many_cars_do_not_tell_it_where_all_rough_ones_are_of_another_model() -> None:
    source = np.random.default_rng(2)

    def car(name: str, model: str, word: str, price: float) -> Comparable:
        worth = price * math.exp(source.normal() * 0.1)
        return comparable(worth, car=name, condition=word, attributes={"model": model})

    cars = [car(f"a{at}", "ninety", "tidy", 8000) for at in range(20)]
    cars += [car(f"b{at}", "sixty", "rough", 4000) for at in range(20)]
    apart = conditions(cars, "tidy", model="ninety")["rough"]
    assert (apart.cars, apart.told) == (20, False)
    mixed = [car(f"c{at}", "ninety", "rough", 5000) for at in range(10)]
    assert conditions([*cars, *mixed], "tidy", model="ninety")["rough"].told


def test_a_condition_that_no_car_has_and_one_that_is_not_noted_are_told_by_nothing() -> None:
    cars = cars_in({"tidy": 0.0, "rough": -0.5}, 30)
    assert not any(one.told for one in conditions(cars, "show").values())
    assert set(conditions(cars, "")) == {"tidy", "rough"}
    assert set(conditions([*cars, comparable(8000, car="bare")], "tidy")) == {"", "rough"}
    assert conditions([comparable(8000, car="bare"), comparable(9000, car="b")], "") == {}
    assert conditions(cars_in({"tidy": 0.0}, 9), "tidy") == {}


def test_a_scale_of_numbers_is_one_slope() -> None:
    found = conditions(cars_in({"1": -0.4, "2": -0.2, "3": 0.0, "4": 0.2}, 20), "3")
    assert [*found] == ["4", "2", "1"]
    assert found["4"].percent == pytest.approx(100 * math.expm1(0.2), abs=6)
    assert math.log1p(found["1"].percent / 100) == pytest.approx(2 * math.log1p(found["2"].percent / 100))


def test_intervals_of_few_cars_hold_what_is_so_where_it_is_as_expected() -> None:
    source = np.random.default_rng(3)
    held: list[bool] = []
    for seed in range(150):
        worths = {word: float(source.normal() * PRIOR.condition) for word in ("tidy", "rough", "usable")}
        cars = cars_in(worths, 3, spread=PRIOR.spread, seed=seed)
        for word, one in conditions(cars, "tidy").items():
            held.append(one.low <= 100 * math.expm1(worths[word] - worths["tidy"]) <= one.high)
    assert 0.86 <= np.mean(held) <= 0.95
