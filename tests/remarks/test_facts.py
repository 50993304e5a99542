"""Facts of the whole car, each from a sentence in the manner of speech; common practice, no source."""

from __future__ import annotations

import pytest

from shutline.car.speech import StretchOrigin, stretch_of
from shutline.remarks import read


def _facts(said: str) -> dict[str, object]:
    reading = read([stretch_of(said, 0.0, 20.0, origin=StretchOrigin.TRANSCRIPT)])
    return {fact.name: fact.value for fact in reading.facts}


@pytest.mark.parametrize(
    ("said", "name", "value"),
    [
        ("It's showing forty-one thousand two hundred and six miles", "odometer", 41206),
        ("the clock reads 38,912", "odometer", 38912),
        ("This is the Brindle Wren, nineteen seventy-four", "year", 1974),
        ("it's the fifteen hundred engine", "engine_cc", 1500),
        ("two point eight litre", "engine_cc", 2800),
        ("a four-door saloon", "doors", 4),
        ("a four-door saloon", "body", "saloon"),
        ("five-speed manual", "gears", 5),
        ("five-speed manual", "gearbox", "manual"),
        ("three owners before me", "keepers", 3),
        ("I'm the fourth keeper", "keepers", 4),
        ("it's tax exempt of course", "tax_exempt", True),
        ("MOT runs to the fourteenth of March twenty twenty-seven", "mot_until", "2027-03-14"),
        ("last serviced in June twenty twenty-five", "last_service", "2025-06"),
        ("two keys with it", "keys", 2),
        ("it is left-hand drive", "drive", "lhd"),
        ("first registered in March nineteen sixty-three", "first_registered", "1963-03"),
        ("imported from Portugal", "origin", "Portugal"),
        ("the colour is dark green", "colour", "dark green"),
        ("six seats counting the driver", "seats", 6),
    ],
)
def test_fact_is_read(said: str, name: str, value: object) -> None:
    assert _facts(said).get(name) == value


def test_kilometres_are_kept_as_kilometres() -> None:
    reading = read([stretch_of("ninety thousand kilometres on the clock", 0, 5, origin=StretchOrigin.TRANSCRIPT)])
    assert [(f.name, f.value, f.unit) for f in reading.facts] == [("odometer", 90000, "km")]


def test_a_price_is_no_mileage() -> None:
    assert "odometer" not in _facts("it made twelve thousand pounds last year")


def test_facts_carry_their_words_and_times() -> None:
    reading = read([stretch_of("well it has two keys", 10.0, 20.0, origin=StretchOrigin.TRANSCRIPT)], recording="r1")
    footing = reading.facts[0].footings[0]
    assert footing.quote == "two keys"
    assert footing.source == "r1"
    assert footing.start_s is not None
    assert 10.0 < footing.start_s < 20.0
