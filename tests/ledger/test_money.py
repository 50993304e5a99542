"""Money to the penny, and nothing of it ever a float."""

from __future__ import annotations

import ast
from decimal import Decimal
from fractions import Fraction
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

import shutline.ledger
from shutline.car.errors import BadInputError
from shutline.ledger import Money
from shutline.ledger.money import nearest_penny

AMOUNTS = st.integers(-(10**11), 10**11).map(lambda pence: Decimal(pence) / 100)


@given(AMOUNTS, st.integers(1, 200), st.integers(1, 300))
def test_rounding_is_that_of_exact_fractions_halves_away_from_nought(amount: Decimal, above: int, below: int) -> None:
    exact = Fraction(amount) * above / below * 100
    whole = (abs(exact) + Fraction(1, 2)).__floor__()
    assert nearest_penny(amount, times=(above, below)) * 100 == (whole if exact >= 0 else -whole)


@given(AMOUNTS, AMOUNTS)
def test_adding_and_taking_away_lose_nothing(one: Decimal, other: Decimal) -> None:
    if abs(one + other) <= 10**9:
        assert Money(one) + Money(other) - Money(other) == Money(one)


@pytest.mark.parametrize(
    ("text", "amount"),
    [("8500", "8500.00"), ("8,500.5", "8500.50"), (" -0.01 ", "-0.01"), ("£8,500", "8500.00"), ("-£5", "-5.00")],
)
def test_amounts_are_read_as_people_write_them(text: str, amount: str) -> None:
    assert Money.of(text).amount == Decimal(amount)


@pytest.mark.parametrize(
    "text", ["", "£", "££5", "5£", "8.500,00", "85,00", "1.234", "nan", "1e3", "٣", "9" * 30, "5 pounds"]
)
def test_what_is_no_amount_is_refused_by_name(text: str) -> None:
    with pytest.raises(BadInputError) as caught:
        Money.of(text, where="price")
    assert caught.value.problem.slug == "ledger-amount"
    assert caught.value.problem.where == "price"


def test_the_sign_of_the_pound_is_no_other_currency() -> None:
    with pytest.raises(BadInputError, match="in 'EUR'"):
        Money.of("£5", "EUR")


def test_a_float_a_part_of_a_penny_and_two_currencies_are_callers_mistakes() -> None:
    with pytest.raises(TypeError):
        Money(83.33)  # type: ignore[arg-type]
    with pytest.raises(ValueError, match="to the penny"):
        Money(Decimal("0.005"))
    with pytest.raises(ValueError, match="do not go together"):
        Money(Decimal(1)) + Money(Decimal(1), "EUR")


def test_no_float_is_written_anywhere_in_the_ledger() -> None:
    for path in Path(next(iter(shutline.ledger.__path__))).rglob("*.py"):
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            assert not (isinstance(node, ast.Constant) and isinstance(node.value, float)), (path, node.lineno)
            assert not (isinstance(node, ast.Name) and node.id == "float"), (path, node.lineno)
            # Of two whole numbers it gives a float; Decimal and Fraction are divided by their own ways.
            divided = isinstance(node, ast.BinOp) and isinstance(node.op, ast.Div)
            assert not divided or "Fraction" in ast.unparse(node), (path, node.lineno)
