"""What is known of a car that no instrument shows: read from a table of the user's own, or refused by car and entry."""

from __future__ import annotations

from pathlib import Path

import pint
import pytest

from shutline.car.errors import UserError
from shutline.car.findings import Position, Side
from shutline.car.readings import Reading
from shutline.gauge.brakes import Circuit
from shutline.gauge.electrics import BatteryKind, System
from shutline.gauge.health import EngineKind, compression, oil_pressure
from shutline.gauge.limits import Outcome, maker_in
from shutline.gauge.sheet import GaugeSheet, read_sheets

WHOLE = """
[blue-saloon]
brake_circuits = 1
system = "6 V"
battery = "gel"
q_plate = true
kit = false
engine = "wankel"
listed = false
meant = "155/80 R13"

[[blue-saloon.maker]]
of = "oil_pressure"
state = "hot"
rpm = 3000
least = 40
most = 70
unit = "psi"
source = "workshop manual, section A"

[[blue-saloon.maker]]
of = "compression"
least = 9.5
source = "workshop manual, section A"

[[blue-saloon.maker]]
of = "coolant"
least = 172.4
unit = "degF"
source = "stamp of the thermostat"

[[blue-saloon.maker]]
of = "charging"
least = 14.0
most = 14.6
source = "workshop manual, section N"

[[blue-saloon.tyre]]
position = "front"
side = "near"
marking = "165 SR 13"
date = "346"

[grey-van]
"""


def test_all_that_may_be_known_is_read() -> None:
    sheets = read_sheets(WHOLE, name="gauges.toml")
    assert sheets["grey-van"] == GaugeSheet()
    one = sheets["blue-saloon"]
    assert (one.circuit, one.system, one.battery) == (Circuit.SINGLE, System.SIX, BatteryKind.GEL)
    assert (one.q_plate, one.kit, one.engine, one.listed) == (True, False, EngineKind.WANKEL, False)
    assert one.meant is not None
    assert one.meant.text == "155/80 R13"
    (tyre,) = one.tyres
    assert (tyre.position, tyre.side) == (Position.FRONT, Side.NEAR)
    assert tyre.marking is not None
    assert tyre.marking.text == "165 SR13"
    assert tyre.date is not None
    assert tyre.date.told() == "week 34 of 1986 or 1996"
    assert one.charging is not None
    assert (one.charging.value, one.charging.upper) == (14.0, 14.6)


# Units against pint, to the fourth place that is kept.
def test_makers_figures_are_brought_to_the_unit_of_the_readings() -> None:
    units = pint.UnitRegistry()
    one = read_sheets(WHOLE, name="gauges.toml")["blue-saloon"]
    book = one.oil[0].limit
    assert (book.unit, book.value, book.upper) == ("psi", 40, 70)
    assert maker_in(book, "oil_pressure", "psi") is book
    oil = maker_in(book, "oil_pressure", "bar")
    assert oil.unit == "bar"
    assert oil.value == pytest.approx(units.Quantity(40, "psi").to("bar").magnitude, abs=1e-4)
    assert oil.upper == pytest.approx(units.Quantity(70, "psi").to("bar").magnitude, abs=1e-4)
    assert "workshop manual, section A, 40 to 70 psi there" in oil.rule
    assert one.coolant is not None
    assert one.coolant.value == pytest.approx(units.Quantity(172.4, "degF").to("degC").magnitude, abs=1e-4)


def test_they_are_what_readings_are_held_against() -> None:
    one = read_sheets(WHOLE, name="gauges.toml")["blue-saloon"]
    hot: dict[str, float | str] = {"state": "hot", "rpm": 3000}
    reading = Reading("oil_pressure", 1.5, "bar", 0.1, "oil_pressure", details=hot)
    assert oil_pressure([reading], makers=one.oil)[0].outcome is Outcome.OUTSIDE
    figures = [Reading("compression", 9.9, "bar", 0.05, "engine", spot=spot) for spot in "1234"]
    assert compression(figures, maker=one.compression)[1].outcome is Outcome.WITHIN


@pytest.mark.parametrize(
    ("text", "named"),
    [
        ("[a", "gauges.toml"),
        ("a = 1", "a table for each car"),
        ("[a]\ncolour = 1", "a: unknown: colour"),
        ("[a]\nbrake_circuits = 3", "a, brake_circuits: 3; 1, 2"),
        ("[a]\nbrake_circuits = true", "a, brake_circuits: True"),
        ("[a]\nq_plate = 1", "a, q_plate: 1; true, false"),
        ('[a]\nsystem = "24 V"', "a, system: '24 V'; 6 V, 12 V"),
        ('[a]\nmeant = "round"', "a, meant: 'round'"),
        ("[a]\nmaker = 1", "a, maker: 1"),
        ("[[a.maker]]\nleast = 1", "a, maker 1: no `of`"),
        ('[[a.maker]]\nof = "charging"\nleast = 14', "a, maker 1: from 14"),
        ('[[a.maker]]\nof = "charging"\nleast = "14"\nsource = "b"', "a, maker 1, least: '14'; a number"),
        ('[[a.maker]]\nof = "charging"\nleast = 14\nunit = "psi"\nsource = "b"', "unit 'psi'; V"),
        ('[[a.tyre]]\nposition = "front"', "a, tyre 1: no wheel"),
        ('[[a.tyre]]\nposition = "front"\nside = "near"\ndate = "5408"', "a, tyre 1, date: '5408'"),
    ],
)
def test_what_cannot_be_is_refused_by_car_and_entry(text: str, named: str) -> None:
    with pytest.raises(UserError) as refused:
        read_sheets(text, name="gauges.toml")
    assert refused.value.problem.slug == "gauge-sheet"
    assert named in refused.value.problem.sentence()


def test_the_example_of_the_page_is_read() -> None:
    page = (Path(__file__).resolve().parents[2] / "docs/gauge_sheets.md").read_text(encoding="utf-8")
    (sheet,) = read_sheets(page.split("```toml\n")[1].split("```")[0], name="docs/gauge_sheets.md").values()
    assert sheet.oil
    assert sheet.tyres
    assert sheet.circuit is Circuit.SINGLE
