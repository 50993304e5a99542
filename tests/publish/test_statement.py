"""What a finding says, in the few words that a list has room for."""

from __future__ import annotations

import pytest

from shutline.car.findings import Finding, Found, Remedy, Severity
from shutline.car.vocabulary import vocabulary
from shutline.publish.statement import statement


@pytest.mark.parametrize(
    ("condition", "said"),
    [
        ("dent", "no dent"),
        ("rust", "no rust"),
        ("missing", "nothing missing"),
        ("wear", "not worn"),
        ("perforation", "not rusted through"),
        ("works", "not working"),
        ("loose", "no play"),
    ],
)
def test_what_is_not_there_is_said_as_people_say_it(condition: str, said: str) -> None:
    assert statement(Finding("door", condition, Found.NO)) == said


def test_how_bad_and_what_to_do_follow() -> None:
    assert statement(Finding("sill", "rust", Found.YES, severity=Severity.SLIGHT, remedy=Remedy.TREAT)) == (
        "rust, slight, to treat"
    )
    assert statement(Finding("sill", "filler", Found.UNSURE)) == "unsure: filler"


def test_every_condition_has_words_for_its_absence() -> None:
    assert all(statement(Finding("door", one, Found.NO)) for one in vocabulary().conditions)
