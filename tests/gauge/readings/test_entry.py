from __future__ import annotations

import math

import pint
import pytest
from hypothesis import given
from hypothesis import strategies as st

from shutline.car.errors import UserError
from shutline.car.findings import Position, Side
from shutline.car.vocabulary import vocabulary
from shutline.gauge.readings import Keyed, instruments, quantities, reading_of

UNITS = pint.UnitRegistry()
UNITS.define("inch_of_32 = inch / 32")
# How pint calls our units.
PINT = {
    "um": "micrometer", "mil": "thou", "mm": "millimeter", "32in": "inch_of_32", "kgf": "force_kilogram", "N": "newton",
    "kN": "kilonewton", "bar": "bar", "psi": "psi", "kPa": "kilopascal", "degC": "degC", "degF": "degF", "V": "volt",
    "mV": "millivolt", "mA": "milliampere", "A": "ampere", "Mohm": "megaohm", "kohm": "kiloohm", "cm": "centimeter",
    "in": "inch", "cm2": "centimeter ** 2", "mm2": "millimeter ** 2",
}  # fmt: skip
CONVERTED = [(of.id, unit.id) for of in quantities().values() for unit in of.units[1:] if unit.id in PINT]


@pytest.mark.parametrize(("name", "unit"), CONVERTED)
def test_units_are_those_of_an_independent_library(name: str, unit: str) -> None:
    """Against pint."""
    of = quantities()[name]
    theirs = UNITS.Quantity(1234.5, PINT[unit]).to(PINT[of.units[0].id]).magnitude
    assert of.in_first(1234.5, unit) == pytest.approx(theirs, rel=1e-12)


def test_the_list_knows_its_own_parts_and_units() -> None:
    for of in quantities().values():
        assert set(of.parts) <= set(vocabulary().parts), of.id
        assert of.lowest < of.highest
        assert of.source
        assert any(of.id in one.quantities for one in instruments().values()), of.id
    assert {unit for of in quantities().values() for unit in (one.id for one in of.units[1:])} <= {*PINT, "rel"}


def test_a_keyed_figure_becomes_a_reading() -> None:
    reading = reading_of(Keyed("paint film", "122", part="door", side="nearside", position="front", spot="Bottom"))
    assert (reading.quantity, reading.value, reading.unit, reading.part) == ("paint_film", 122.0, "um", "door")
    assert (reading.side, reading.position, reading.spot) == (Side.NEAR, Position.FRONT, "bottom")
    # 3 % of 122 and 2 µm, evenly either way, and steps of 1 µm: JCGM 100:2008, 4.3.7.
    assert reading.uncertainty == pytest.approx(math.sqrt(5.66**2 / 3 + 1 / 12))


def test_a_figure_in_another_unit_has_its_uncertainty_in_that_unit() -> None:
    um = reading_of(Keyed("paint_film", 101.6, "um", part="bonnet"))
    mil = reading_of(Keyed("paint_film", 4, "mil", part="bonnet"))
    assert mil.uncertainty * 25.4 == pytest.approx(um.uncertainty, rel=1e-9)


@pytest.mark.parametrize(
    ("keyed", "found", "allowed"),
    [
        (Keyed("paint_film", 9000, part="door"), "9000", "0 to 5,000 µm"),
        (Keyed("paint_film", -1, part="door"), "-1", "0 to 5,000 µm"),
        (Keyed("paint_film", 400, "mil", part="door"), "400", "196.9 mil"),
        (Keyed("paint_film", "about 90", part="door"), "about 90", "number"),
        (Keyed("paint_film", "nan", part="door"), "nan", "number"),
        (Keyed("paint_film", 90), "without a part", "part"),
        (Keyed("paint_film", 90, part="flux capacitor"), "flux capacitor", "vocabulary"),
        (Keyed("paint_film", 90, "furlong", part="door"), "furlong", "um, mil"),
        (Keyed("paint_film", 90, part="bonnet", side="near"), "near", "none"),
        (Keyed("paint_film", 90, part="door", side="left"), "left", "near, off"),
        (Keyed("paint_film", 90, part="door", spot="somewhere"), "somewhere", "bottom"),
        (Keyed("paint_film", 90, part="door", details={"rpm": 3}), "rpm", "method"),
        (Keyed("paint_film", 90, part="door", details={"method": "magic"}), "magic", "magnetic"),
        (Keyed("paint_film", 90, part="door", instrument="multimeter"), "multimeter", "paint gauge"),
        (Keyed("paint_film", 90, part="door", uncertainty=-2), "-2", "nought"),
        (Keyed("paint_film", 90, part="door", measured_at="21/4/26"), "21/4/26", "ISO 8601"),
        (Keyed("compression", 130, "psi", spot="17"), "17", "1 to 16"),
        (Keyed("compression", 130, "psi", spot="first"), "first", "1 to 16"),
        (Keyed("compression", 130, "psi", part="door"), "door", "engine"),
        (Keyed("test_weight", 900, spot="top"), "top", "none"),
        (Keyed("colour of money", 1), "colour of money", "paint_film"),
    ],
)
def test_what_cannot_be_is_refused_with_what_is_allowed(keyed: Keyed, found: str, allowed: str) -> None:
    with pytest.raises(UserError) as caught:
        reading_of(keyed, where="row 7")
    problem = caught.value.problem
    assert problem.slug == "reading-refused"
    assert problem.where == "row 7"
    assert found in problem.found
    assert allowed in problem.allowed
    assert problem.advice


def test_an_instrument_of_ones_own_words_is_kept_as_it_is_called() -> None:
    assert reading_of(Keyed("tread_depth", "5,5", instrument="grandad's gauge")).instrument == "grandad's gauge"
    assert reading_of(Keyed("tread_depth", "5,5", instrument="Tread gauge")).instrument == "tread_gauge"
    assert reading_of(Keyed("tread_depth", "5,5")).value == 5.5


def test_one_side_of_the_brakes_may_be_told() -> None:
    reading = reading_of(Keyed("brake_effort", 210, side="off", position="rear", details={"brake": "Service"}))
    assert (reading.part, reading.side, reading.details) == ("brakes", Side.OFF, {"brake": "service"})


@given(st.text(), st.text(), st.text(), st.text(), st.text())
def test_nothing_given_ends_in_anything_but_a_reading_or_a_refusal(a: str, b: str, c: str, d: str, e: str) -> None:
    for keyed in (
        Keyed(a, b),
        Keyed("paint_film", a, b, part=c, side=d, spot=e),
        Keyed("tread_depth", a, measured_at=b),
    ):
        try:
            reading = reading_of(keyed)
        except UserError:
            continue
        assert math.isfinite(reading.value)
        assert reading.uncertainty >= 0
