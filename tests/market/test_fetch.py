"""What a car will fetch: coverage on open sets, few cars, and what must not change the answer."""

import math
import re
from collections.abc import Callable
from dataclasses import replace
from datetime import date
from decimal import Decimal

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from tests.market.conftest import TODAY, Seen, as_seen, cars_of_1978, comparable, halves, new_cars, textbook

from shutline.car.comparables import Comparable, Mileage
from shutline.market.columns import Car, table_of
from shutline.market.fetch import Fetch, Fetched, fetch_of
from shutline.market.fitted import fitted_of
from shutline.market.interval import Interval, jackknife_plus, student
from shutline.market.linear import solved
from shutline.market.model import model_of, with_constant
from shutline.market.moving import Index
from shutline.market.settings import market_settings

SETTINGS = market_settings()
MakeInterval = Callable[..., Interval]
CAR = Car({"model": "ninety", "age": "40"}, Mileage(60_000))


def one(cars: list[Comparable], car: Car = CAR, **given: object) -> Fetch:
    (found,) = fetch_of(cars, [car], today=TODAY, **given).cars  # type: ignore[arg-type]
    assert found is not None
    return found


def ninety(price: float, miles: float, age: int = 40, **given: object) -> Comparable:
    return comparable(price, miles, attributes={"model": "ninety", "age": str(age)}, **given)


def many(count: int, seed: int = 1, spread: float = 0.15) -> list[Comparable]:
    source = np.random.default_rng(seed)
    made = []
    for at in range(count):
        miles, age = float(source.uniform(2e4, 1.2e5)), int(source.integers(35, 50))
        price = math.exp(9.2 - 0.006 * miles / 1000 + source.normal() * spread)
        made.append(ninety(price, miles, age, car=f"car {at}"))
    return made


def share_held(rows: list[Seen], seen: list[int], others: list[int], interval: MakeInterval) -> float:
    """Give the share of prices that intervals of 90 in a hundred hold, as `fetch_of` makes them."""
    cars = [rows[at][1] for at in others]
    fitted, _ = fitted_of(as_seen(rows, seen), cars, today=TODAY, currency="GBP", index=None, settings=SETTINGS)
    assert fitted is not None
    found = interval(fitted.model, with_constant(fitted.table.asked), level=0.9)
    prices = np.log([rows[at][0] for at in others])
    return float(np.mean((found.low <= prices) & (prices <= found.high)))


def share_within(rows: list[Seen], splits: int, most: int = 400) -> float:
    cut = [halves(rows, seed) for seed in range(splits)]
    return float(np.mean([share_held(rows, first, second[:most], jackknife_plus) for first, second in cut]))


def test_intervals_of_90_hold_88_to_92_of_held_out_halves_of_804_cars(kuiper_cars: list[Seen]) -> None:
    assert 0.88 <= share_within(kuiper_cars, 10, most=200) <= 0.92


@pytest.mark.parametrize("rows", [textbook("Stat2Data", "ThreeCars2017", "CarType"), new_cars()], ids=["three", "new"])
def test_and_of_small_sets(rows: list[Seen]) -> None:
    assert 0.88 <= share_within(rows, 40) <= 0.92


@pytest.mark.parametrize("count", [3, 20])
@pytest.mark.parametrize(
    "rows", [cars_of_1978(), textbook("Stat2Data", "PorschePrice"), new_cars()], ids=["1978", "Porsche", "new"]
)
def test_intervals_of_90_hold_88_where_few_cars_were_seen(rows: list[Seen], count: int) -> None:
    shares = []
    for seed in range(60):
        order = [int(at) for at in np.random.default_rng([seed, count]).permutation(len(rows))]
        shares.append(share_held(rows, order[:count], order[count : count + 30], student))
    assert np.mean(shares) >= 0.88


def test_cars_left_out_in_closed_form_are_those_of_fits_without_them() -> None:
    cars = many(40)
    fixed = replace(SETTINGS.fitting, threshold=1e9, own_scatter_from=1000)
    table = table_of(cars, [CAR], today=TODAY, prior=SETTINGS.prior, fitting=fixed, estimate_years=False)
    values = np.log([float(car.price) for car in cars])
    model = model_of(table, values, prior=SETTINGS.prior, fitting=fixed)
    rows, asked = with_constant(table.rows), with_constant(table.asked)
    penalty = np.diag([1e-10, *((SETTINGS.prior.spread / column.prior) ** 2 for column in table.columns)])
    lows, highs = [], []
    for at in range(len(cars)):
        kept = np.arange(len(cars)) != at
        matrix = rows[kept].T @ rows[kept] + penalty
        effects = solved(matrix, rows[kept].T @ values[kept])
        off = abs(values[at] - rows[at] @ effects) / math.sqrt(1 + rows[at] @ np.linalg.solve(matrix, rows[at]))
        reach = off * math.sqrt(1 + float(model.leverage(asked)[0]))
        lows.append(float(asked[0] @ effects) - reach)
        highs.append(float(asked[0] @ effects) + reach)
    found = jackknife_plus(model, asked, level=0.9)
    # 0.9 of 41 is 36.9.
    low, high = sorted(lows)[::-1], sorted(highs)
    assert float(found.low[0]) == pytest.approx(low[35] + 0.9 * (low[36] - low[35]), abs=1e-9)
    assert float(found.high[0]) == pytest.approx(high[35] + 0.9 * (high[36] - high[35]), abs=1e-9)


def test_what_is_known_afterwards_is_that_of_drawing_from_the_prior() -> None:
    # Importance weights on draws from the prior stand for the closed form; two cars, a mileage, no constant to guess.
    cars = [comparable(8000, 30_000, car="a"), comparable(6500, 90_000, car="b")]
    plain = replace(SETTINGS, fitting=replace(SETTINGS.fitting, threshold=1e9))
    car = Car(mileage=Mileage(60_000))
    table = table_of(cars, [car], today=TODAY, prior=plain.prior, fitting=plain.fitting, estimate_years=False)
    source = np.random.default_rng(5)
    prior, count = plain.prior, 2_000_000
    spread = prior.spread * np.sqrt(prior.worth_cars / source.chisquare(prior.worth_cars, count))
    slope = source.normal(size=count) * spread * prior.number / prior.spread
    values = np.log([8000.0, 6500.0])
    left = values[:, None] - table.rows[:, 0][:, None] * slope
    # The constant integrated out: only the difference of both tells of the slope.
    apart = left[0] - left[1]
    weights = np.exp(-(apart**2) / (4 * spread**2)) / spread
    middle = left.mean(axis=0)
    drawn = middle + source.normal(size=count) * spread * math.sqrt(1.5)
    order = np.argsort(drawn)
    reached = np.cumsum(weights[order]) / weights.sum()
    low, high = (float(drawn[order][np.searchsorted(reached, at)]) for at in (0.05, 0.95))
    found = one(cars, car, settings=plain)
    assert (found.log_low, found.log_high) == pytest.approx((low, high), abs=0.01)


def test_nothing_seen_gives_no_estimate() -> None:
    found = fetch_of([], [CAR], today=TODAY)
    assert found.cars == (None,)
    assert [problem.slug for problem in found.problems] == ["fetch-nothing"]


def test_one_car_gives_its_price_and_a_wide_interval_without_a_guarantee() -> None:
    found = one([ninety(8000, 60_000)])
    assert found.middle == 8000
    assert found.high > 1.8 * 8000
    assert found.low < 8000 / 1.8
    assert not found.tested
    assert found.promise.startswith("1 car is too few")
    assert "No guarantee" in found.promise
    farther = one([ninety(8000, 20_000)])
    assert farther.high - farther.low > found.high - found.low
    assert "mileage: 60,000; those seen have 20,000" in farther.outside


def test_three_cars_are_wide_and_say_so() -> None:
    found = one([ninety(8000, 60_000, car="a"), ninety(9000, 50_000, car="b"), ninety(7000, 80_000, car="c")])
    assert 7000 < found.middle < 9000
    assert found.high / found.low > 2
    assert "3 cars are too few" in found.promise
    assert found.freedom == 2 + SETTINGS.prior.worth_cars
    assert one(many(39)).freedom == SETTINGS.prior.tails


def test_another_model_counts_less_and_an_unknown_one_is_told() -> None:
    others = [comparable(20_000, 60_000, car=f"x{at}", attributes={"model": "sixty", "age": "40"}) for at in range(6)]
    own = [ninety(8000, 60_000, car=f"n{at}") for at in range(2)]
    assert one([*own, *others]).middle < 10_000
    unknown = one([*own, *others], Car({"model": "forty", "age": "40"}, Mileage(60_000)))
    assert unknown.high / unknown.low > one([*own, *others]).high / one([*own, *others]).low
    assert "model: 'forty' was not seen" in unknown.outside


@settings(max_examples=25, deadline=None)
@given(st.integers(0, 10_000), st.integers(1, 60), st.randoms())
def test_the_order_of_rows_changes_nothing(seed: int, count: int, source: object) -> None:
    cars = many(count, seed)
    shuffled = list(cars)
    source.shuffle(shuffled)  # type: ignore[attr-defined]
    assert one(cars) == one(shuffled)


@settings(max_examples=25, deadline=None)
@given(st.integers(0, 10_000), st.integers(1, 60), st.sampled_from([Decimal("0.01"), Decimal(2), Decimal(137)]))
def test_another_currency_only_scales_it(seed: int, count: int, factor: Decimal) -> None:
    cars = many(count, seed)
    before = one(cars)
    after = one([replace(car, price=car.price * factor, currency="EUR") for car in cars], currency="EUR")
    for name in ("log_middle", "log_low", "log_high"):
        assert getattr(after, name) == pytest.approx(getattr(before, name) + math.log(factor), abs=1e-6)
    assert after.tested == before.tested


@settings(max_examples=25, deadline=None)
@given(st.integers(0, 10_000), st.integers(2, 9))
def test_more_of_the_same_cars_narrow_it(seed: int, count: int) -> None:
    cars = many(count, seed)
    again = [replace(car, car=f"{car.car} {at}") for car in cars for at in range(3)]
    few, more = one(cars), one(again)
    assert more.log_high - more.log_low < few.log_high - few.log_low


@settings(max_examples=25, deadline=None)
@given(st.integers(0, 10_000), st.integers(1, 50))
def test_every_bridge_adds_up_to_the_estimate(seed: int, count: int) -> None:
    found = one(many(count, seed))
    assert len(found.bridges) == min(3, count)
    for bridge in found.bridges:
        assert bridge.start + sum(step.pounds for step in bridge.steps) == bridge.end == found.middle


def test_one_price_with_a_nought_too_many_moves_it_little() -> None:
    cars = many(30)
    typed = [replace(cars[0], price=cars[0].price * 10), *cars[1:]]
    assert one(typed).middle == pytest.approx(one(cars).middle, rel=0.05)


def test_what_is_asked_is_brought_to_what_is_paid_by_the_firms_own_ratio() -> None:
    pairs = []
    for at in range(30):
        source = np.random.default_rng(at)
        paid = 8000 * math.exp(source.normal() * 0.1)
        pairs += [
            ninety(paid / 0.8, 60_000, car=f"c{at}", sold=False, ago=60),
            ninety(paid, 60_000, car=f"c{at}", ago=30),
        ]
    asked = [ninety(10_000, 60_000, car=f"a{at}", sold=False) for at in range(5)]
    found = one([*pairs, *asked])
    assert found.ratio is not None
    assert found.ratio.cars == 30
    assert found.ratio.percent()[0] == pytest.approx(80, abs=1)
    assert found.middle == pytest.approx(8000, rel=0.05)
    alone = one(asked)
    assert alone.ratio is not None
    assert alone.ratio.percent()[0] == pytest.approx(100 * math.exp(SETTINGS.prior.ratio))


def test_an_index_moves_prices_and_says_where_it_ends() -> None:
    index = Index(((date(2025, 11, 1), 100.0), (date(2026, 6, 1), 120.0)), "test")
    found = fetch_of([ninety(8000, 60_000, ago=365)], [CAR], today=TODAY, index=index)
    assert isinstance(found, Fetched)
    assert found.cars[0] is not None
    assert found.cars[0].middle == 9600
    assert [problem.slug for problem in found.problems] == ["fetch-index-ends"]


def test_without_one_the_years_are_estimated_with_their_doubt() -> None:
    source = np.random.default_rng(2)
    cars = [
        ninety(8000 * 1.1 ** (-ago / 365.25) * math.exp(source.normal() * 0.05), 60_000, car=f"c{ago}", ago=int(ago))
        for ago in range(0, 1000, 5)
    ]
    found = one(cars)
    assert found.years[0].percent == pytest.approx(100 / 1.1, abs=2)
    assert found.years[0].low < 100 / 1.1 < found.years[0].high
    assert found.middle == pytest.approx(8000, rel=0.03)


def test_the_trap_of_the_doors_is_named_in_words(kuiper_cars: list[Seen]) -> None:
    found = one(as_seen(kuiper_cars, range(300)), kuiper_cars[400][1])
    assert [same.column for same in found.same] == ["doors"]
    assert {of.split()[0] for of, _ in found.same[0].of} >= {"body"}


def test_words_that_are_not_noted_of_the_car_make_no_trap_and_years_are_no_amounts() -> None:
    cars = [
        replace(
            ninety(8000 + 100 * at, 60_000 + 100 * (at * at % 17), car=f"c{at}"),
            attributes={"model": ("Ninety", "Corda", "Pavane")[at % 3], "year": str(1960 + at)},
            condition=("tidy", "rough")[at % 2],
        )
        for at in range(12)
    ]
    found = one(cars, Car({"year": "1985"}, Mileage(61_000)))
    assert found.same == ()
    assert found.unsaid == ("condition", "model")
    assert found.outside == ("year: 1985; those seen have 1960 to 1971",)
    steps = [step.what for bridge in found.bridges for step in bridge.steps]
    assert any(re.fullmatch(r"year: 19[67]\d → 1985", step) for step in steps)
    assert any(re.fullmatch(r"mileage: 6\d,\d00 → 61,000", step) for step in steps)
    assert all(re.fullmatch(r"c\d+, \w+, year \d{4}, .*", bridge.car) for bridge in found.bridges)


def test_age_and_mileage_of_the_textbook_move_together() -> None:
    rows = textbook("Stat2Data", "PorschePrice")
    strict = replace(SETTINGS, fitting=replace(SETTINGS.fitting, together=0.85))
    found = one(as_seen(rows, range(30)), rows[0][1], settings=strict)
    assert [pair[:2] for pair in found.together] == [("age", "mileage")]


def test_levels_that_cannot_be_are_refused() -> None:
    with pytest.raises(ValueError, match=r"0\.5 to 0\.99"):
        fetch_of([], [CAR], today=TODAY, level=1.0)


def test_prices_drawn_have_the_ends_of_the_interval() -> None:
    found = one(many(60))
    assert found.tested
    low, middle, high = found.prices(np.array([0.05, 0.5, 0.95]))
    assert (low, middle, high) == pytest.approx(
        (math.exp(found.log_low), math.exp(found.log_middle), math.exp(found.log_high))
    )


def test_attributes_may_be_called_anything() -> None:
    cars = [
        comparable(
            8000 + 100 * at,
            60_000 + at,
            car=f"c{at}",
            ago=200 * at,
            sold=at % 2 > 0,
            attributes={
                "years": str(at),
                "asked": "a" if at < 3 else "b",
                "number": "x",
                "model": str(at % 2),
            },
        )
        for at in range(6)
    ]
    found = one(cars, Car({"years": "9", "asked": "b", "number": "x", "model": "1"}, Mileage(60_000)))
    steps = [step.what for step in found.bridges[-1].steps]
    assert len(steps) == len(set(steps))
    assert any(step.startswith("years: ") for step in steps)
    assert "since then" in steps
