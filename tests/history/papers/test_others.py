"""Papers of another car: told by mark and chassis number, likely misreadings counted as ours."""

from __future__ import annotations

from datetime import date

import pytest

from shutline.car.papers import Box, Line, Page, PaperTold
from shutline.history.papers import Known, of_another_car, tell_paper

MARKS, CHASSIS = ("FGY 412H",), ("GAHN5/4711L",)


def told(*lines: str) -> PaperTold:
    page = Page(1, tuple(Line(words, Box(0.1, 0.1 + 0.03 * at, 0.5, 0.02)) for at, words in enumerate(lines)))
    return tell_paper([page], known=Known(date(2026, 11, 26), MARKS, CHASSIS))


def another(*lines: str, marks: tuple[str, ...] = MARKS, chassis: tuple[str, ...] = CHASSIS) -> str:
    return of_another_car({"paper": told(*lines)}, marks, chassis).get("paper", "")


def test_another_mark_is_told_with_both() -> None:
    assert another("Registration mark: AB57 CDE") == "It carries the mark AB57CDE; the car's is FGY412H."


def test_another_chassis_number_is_told() -> None:
    assert "the chassis number GAHN5/9922L" in another("Chassis No: GAHN5/9922L")


@pytest.mark.parametrize(
    "lines",
    [
        ("Registration mark: FGY 412H",),
        ("Reg: fgy412h",),
        ("Registration mark: FGY 4I2H",),
        ("Registration mark: FGY 41ZH",),
        ("Chassis No: GAHNS/4711L",),
        ("Chassis No: GAHN5 4711L", "Registration mark: AB57 CDE"),
        ("Previous registration: AB57 CDE",),
        ("An invoice for oil", "£12.50"),
    ],
)
def test_ours_misread_ours_former_marks_and_none_at_all_are_ours(lines: tuple[str, ...]) -> None:
    assert another(*lines) == ""


def test_where_nothing_is_known_of_the_car_nothing_is_another_cars() -> None:
    assert another("Registration mark: AB57 CDE", marks=(), chassis=()) == ""
    assert another("Chassis No: GAHN5/9922L", chassis=()) == ""


def test_one_sign_that_is_never_mistaken_makes_it_another_cars() -> None:
    assert "FGY413H" in another("Registration mark: FGY 413H")


def test_every_mark_that_the_car_carried_is_ours() -> None:
    assert another("Registration mark: AB57 CDE", marks=("FGY 412H", "ab57cde")) == ""
