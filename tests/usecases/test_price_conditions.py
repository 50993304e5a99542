"""What a car would fetch in another condition: as the prices tell it against the condition it is in, or as expected."""

from __future__ import annotations

from tests.market.conftest import TODAY, comparable

from shutline.market import Car, Comparable, Fetch, fetch_of
from shutline.usecases.price_car import seen_of
from shutline.usecases.price_fetch import conditions_of

PRICES = {"Tidy": 8000, "rough": 5000}


def cars(each: int) -> list[Comparable]:
    return [
        comparable(price + at, car=f"{word}{at}", condition=word)
        for word, price in PRICES.items()
        for at in range(each)
    ]


def fetch(seen: list[Comparable], here: str) -> Fetch:
    (found,) = fetch_of(seen, [Car(condition=here)], today=TODAY).cars
    assert found is not None
    return found


def test_many_prices_tell_it_and_the_car_itself_is_at_its_estimate() -> None:
    seen = cars(20)
    found = fetch(seen, "tidy")
    tidy, rough = conditions_of(found, seen_of(seen), "tidy")
    assert (tidy.word, tidy.cars, tidy.here, tidy.held) == ("tidy", 20, True, False)
    assert tidy.low == tidy.middle == tidy.high == found.middle
    assert (rough.word, rough.cars, rough.here, rough.held) == ("rough", 20, False, False)
    assert rough.low < 5000 < rough.high < tidy.middle


def test_one_price_of_each_does_not() -> None:
    seen = cars(1)
    _, rough = conditions_of(fetch(seen, "tidy"), seen_of(seen), "tidy")
    assert rough.held
    assert not any(one.here for one in conditions_of(fetch(seen, ""), seen_of(seen), ""))


def test_where_all_are_in_one_condition_there_is_nothing_to_tell() -> None:
    seen = [comparable(8000, car="a", condition="tidy"), comparable(9000, car="b", condition="tidy")]
    assert conditions_of(fetch(seen, "tidy"), seen_of(seen), "tidy") == ()
