"""A figure with a unit is borne out by words that have it too; the sentences are invented."""

from __future__ import annotations

import pytest
from tests.claims.conftest import finding

from shutline.car.findings import Fact
from shutline.claims.check import check
from shutline.claims.measures import measured
from shutline.claims.record import record


@pytest.mark.parametrize(
    ("words", "figures"),
    [
        ("about ninety miles to a charge", {90}),
        ("6mm of tread on two tyres", {6}),
        ("six mil on the fronts and 5.5 mm behind", {6, 5.5}),
        ("1,200 miles since", {1200}),
        ("a pair of good tyres, four doors, two keys", set()),
        ("fitted in 2019", set()),
    ],
)
def test_figures_before_a_unit_are_measures(words: str, figures: set[float]) -> None:
    assert measured(words) == figures


@pytest.mark.parametrize(
    ("text", "verdict"),
    [
        ("The front tyres have six mil of tread.", "backed"),
        ("The front tyres have 6mm of tread.", "backed"),
        ("The front tyres have 7mm of tread.", "unbacked"),
        ("The front tyres have plenty of tread.", "backed"),
        ("The engine has run well for 41,200 miles.", "backed"),
        ("The engine has run well for 9,000 miles.", "unbacked"),
    ],
)
def test_praise_bears_out_no_figure_that_was_not_told(text: str, verdict: str) -> None:
    known = ("tyre:both:front sound yes # six mil on the fronts, plenty of tread", "engine works yes # it runs well")
    car = record(
        ((f"f{n}", finding(line, n)) for n, line in enumerate(known, start=1)),
        (("k1", Fact("odometer", 41200, "mi")),),
    )
    claims = [claim for claim in check(text, car).claims if claim.saying.spot is not None]
    assert {claim.verdict.value for claim in claims} == {verdict}
