"""What a row of writing is taken for, and that nothing is put in its place."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from shutline.car.figures import FigureKind
from shutline.gauge.seen.lettering import Line, Sign
from shutline.gauge.seen.match import matches
from shutline.gauge.seen.rows import Row, rows, stacked

FLAT = ((0.0, 0.0), (100.0, 0.0), (100.0, 20.0), (0.0, 20.0))


def _line(text: str, x: float = 0.0, y: float = 0.0, wide: float = 100.0, high: float = 20.0) -> Line:
    quad = ((x, y), (x + wide, y), (x + wide, y + high), (x, y + high))
    return Line(tuple(Sign(letter, 0.99) for letter in text), quad)


def _of(text: str, kind: FigureKind, *, wanted: bool = True, near: str = "", above: str = "") -> object:
    asked = frozenset({kind}) if wanted else frozenset()
    found = [m for m in matches(Row(_line(text), near, above), asked) if m.kind is kind]
    return found[0] if found else None


@pytest.mark.parametrize(
    ("kind", "text", "value", "unit"),
    [
        (FigureKind.ODOMETER, "058206 miles", 58206, "mi"),
        (FigureKind.ODOMETER, "58,206", 58206, None),
        (FigureKind.ODOMETER, "93817km", 93817, "km"),
        (FigureKind.ODOMETER, "58206.4 mi", 58206, "mi"),
        (FigureKind.PAINT, "118 μm", 118, "um"),
        (FigureKind.PAINT, "4.6 mils", "4.6", "mil"),
        (FigureKind.MARK, "FGY 412H", "FGY412H", None),
        (FigureKind.TYRE_SIZE, "205/55 R16 91V", "205/55 R16 91V", None),
        (FigureKind.TYRE_DATE, "DOT 4BJ2 ABC 3612", "week 36 of 2012", None),
        (FigureKind.TYRE_DATE, "DOT XT 346", "week 34 of 1986 or 1996", None),
        (FigureKind.CHASSIS, "VIN: SGZCZ43D13S812715", "SGZCZ43D13S812715", None),
        (FigureKind.CHASSIS, "*SGZCZ43D13S812715*", "SGZCZ43D13S812715", None),
        (FigureKind.CHASSIS, "CHASSIS NO. SA8/74436", "SA8/74436", None),
    ],
)
def test_a_figure_is_read(kind: FigureKind, text: str, value: int | str, unit: str | None) -> None:
    found = _of(text, kind)
    assert (found.value, found.unit, found.fits) == (value, unit, True)


def test_a_number_is_no_odometer_where_nobody_said_so_and_no_unit_stands_by() -> None:
    assert _of("58206", FigureKind.ODOMETER, wanted=False) is None
    assert _of("58206", FigureKind.ODOMETER, wanted=False, near="MILES").unit == "mi"


def test_a_speed_is_no_unit_of_distance() -> None:
    assert _of("58206", FigureKind.ODOMETER, near="KM/H 20 40").unit is None


def test_an_older_chassis_number_needs_its_label_or_to_be_sought_and_is_kept_as_it_stands() -> None:
    assert _of("HB5/63027", FigureKind.CHASSIS, wanted=False) is None
    assert "no label was read beside it" in _of("HB5/63027", FigureKind.CHASSIS).notes
    assert _of("OSTREL MOTORS LTD", FigureKind.CHASSIS) is None
    found = _of("HB5/63027", FigureKind.CHASSIS, above="CAR NO.")
    assert found.value == "HB5/63027"
    assert "no rule was applied" in found.notes[0]


def test_a_letter_among_figures_is_kept_and_the_figure_proposed() -> None:
    found = _of("S8206 miles", FigureKind.ODOMETER)
    assert (found.text, found.value, found.fits) == ("S8206", "S8206", False)
    assert [(other.value, other.why) for other in found.others] == [(58206, "sign 1: 5 in place of S")]


def test_a_vin_with_an_o_is_kept_so_and_the_nought_proposed() -> None:
    found = _of("SGZCZ43D13S8127O5", FigureKind.CHASSIS)
    assert (found.value, found.fits) == ("SGZCZ43D13S8127O5", False)
    assert {other.value for other in found.others} == {"SGZCZ43D13S812705", "SGZCZ43D13S8127D5"}


def test_a_check_digit_that_does_not_agree_is_told_where_it_is_law() -> None:
    wrong = _of("1M8GDM9AXKP042789", FigureKind.CHASSIS)
    assert not wrong.fits
    assert "check digit would be" in wrong.notes[0]
    assert _of("SGZCZ43D13S812715", FigureKind.CHASSIS).notes == ("the check digit does not apply",)


def test_a_mark_without_a_known_form_is_kept_and_known_forms_proposed() -> None:
    found = _of("0GY 412H", FigureKind.MARK)
    assert (found.value, found.fits) == ("0GY412H", False)
    assert "OGY412H" in {other.value for other in found.others}
    assert _of("0GY 412H", FigureKind.MARK, wanted=False) is None


@given(st.text("ABCDEFGHIJKLMNOPQRSTUVWXYZ0123456789 ./-:", min_size=1, max_size=24), st.booleans())
def test_the_text_is_always_what_was_read(text: str, wanted: bool) -> None:
    asked = frozenset(FigureKind) if wanted else frozenset()
    bare = text.replace(" ", "").replace(",", "").replace("'", "")
    for found in matches(Row(_line(text), "MILES", "CHASSIS NO"), asked):
        assert found.text.replace(" ", "") in bare
        assert "".join(sign.text for sign in found.signs).replace(" ", "") in bare


def test_pieces_of_one_row_are_joined_and_rows_are_not() -> None:
    found = rows([_line("412H", 80, 2, 60), _line("FGY", 0, 0, 60), _line("MILES", 0, 60)])
    assert [row.text for row in found] == ["FGY 412H", "MILES"]


def test_the_two_rows_of_a_square_plate_make_one_mark() -> None:
    found = rows([_line("FGY", 10, 0, 80, 30), _line("412H", 0, 36, 100, 30)])
    piles = [m.value for row in stacked(found) for m in matches(row, frozenset({FigureKind.MARK}))]
    assert piles == ["FGY412H"]
