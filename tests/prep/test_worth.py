"""The closest row of the table counts, a firm's own lie over ours, and wrong ones are refused by file and line."""

from __future__ import annotations

import itertools

import pytest

from shutline.car.errors import UserError
from shutline.car.findings import Severity
from shutline.car.vocabulary import vocabulary
from shutline.prep.model import Range
from shutline.prep.worth import with_own_worth, worth_of, worth_rows

OWN = '[[worth]]\nid = "ours"\nsource = "house rules"\n'


def test_every_defect_of_every_part_is_worth_something_and_worse_is_never_worth_less() -> None:
    words = vocabulary()
    defects = [one.id for one in words.conditions.values() if one.defect]
    for part, condition in itertools.product(words.parts, defects):
        found = [
            worth_of(worth_rows(), part, condition, severity, asking_pounds=9000.0)
            for severity in (Severity.SLIGHT, Severity.MODERATE, Severity.SEVERE)
        ]
        likely = [one.pounds.likely for one in found if one is not None]
        assert len(likely) == 3, (part, condition)
        assert likely == sorted(likely), (part, condition, found)


def test_shipped_figures_are_marked_as_examples() -> None:
    assert {row.source for row in worth_rows()} == {"example, set your own"}


def test_a_share_is_of_the_asking_price() -> None:
    found = worth_of(worth_rows(), "sill", "perforation", None, asking_pounds=10_000.0)
    assert found is not None
    assert found.pounds == Range(200.0, 500.0, 1200.0)
    assert found.footing == "table:body_hole"


@pytest.mark.parametrize(
    ("rows", "counts"),
    [
        ('groups = ["body"]\npounds = [1, 2, 3]', "body_marks_slight"),
        ('parts = ["bonnet"]\npounds = [1, 2, 3]', "ours"),
        ('groups = ["body"]\nconditions = ["chip"]\nseverities = ["slight"]\npounds = [1, 2, 3]', "ours"),
        ('groups = ["body"]\nconditions = ["chip"]\nseverities = ["severe"]\npounds = [1, 2, 3]', "body_marks_slight"),
    ],
)
def test_the_closest_row_counts_and_of_equals_the_firms_own(rows: str, counts: str) -> None:
    laid = with_own_worth(OWN + rows)
    found = worth_of(laid, "bonnet", "chip", Severity.SLIGHT, asking_pounds=5000.0)
    assert found is not None
    assert found.footing == f"table:{counts}"


def test_a_row_of_ours_is_replaced_or_left_out() -> None:
    own = 'left_out = ["dirt"]\n[[worth]]\nid = "tyre"\npounds = [0, 5, 9]\n'
    laid = with_own_worth(own)
    assert {row.id for row in laid} == {row.id for row in worth_rows()} - {"dirt"}
    found = worth_of(laid, "tyre", "wear", None, asking_pounds=0.0)
    assert found is not None
    assert found.pounds.high == 9.0


def test_a_firms_own_pounds_take_the_place_of_our_share() -> None:
    laid = with_own_worth('[[worth]]\nid = "body_hole"\npounds = [300, 600, 900]\n')
    found = worth_of(laid, "sill", "perforation", None, asking_pounds=10_000.0)
    assert found is not None
    assert found.pounds == Range(300.0, 600.0, 900.0)


@pytest.mark.parametrize(
    ("text", "line", "found"),
    [
        (OWN + "pounds = [3, 2, 1]", 4, "pounds = [3, 2, 1]"),
        (OWN + "pounds = [1, 2, 3]\n\n" + OWN + "pounds = [1, 2, 3]", 7, "'ours'"),
        (OWN + "share = [0.1, 0.2, 1.5]", 4, "share"),
        (OWN + "share = [0.1, 0.2, 0.5]\npounds = [1, 2, 3]", 1, "both"),
        (OWN, 1, "neither"),
        (OWN + 'parts = ["bonnett"]\npounds = [1, 2, 3]', 4, "bonnett"),
        (OWN + 'conditions = ["sound"]\npounds = [1, 2, 3]', 4, "sound"),
        (OWN + "pound = [1, 2, 3]\npounds = [1, 2, 3]", 4, "'pound'"),
        ('left_out = ["dirtt"]', 1, "dirtt"),
        ("# a\nworths = 1", 2, "worths"),
        ("# a\n\n[[worth]\n", 3, "TOML"),
    ],
)
def test_a_wrong_row_is_refused_by_file_and_line(text: str, line: int, found: str) -> None:
    with pytest.raises(UserError) as told:
        with_own_worth(text, name="own.toml")
    assert told.value.problem.slug == "prep-table-refused"
    assert told.value.problem.where == f"own.toml, line {line}"
    assert found in told.value.problem.found


def test_an_asking_price_below_nought_is_refused() -> None:
    with pytest.raises(ValueError, match="asking price"):
        worth_of(worth_rows(), "tyre", "wear", None, asking_pounds=-1.0)
