"""How well words go together, as it is told to the recogniser: the counts' own chances, above what is usual."""

from __future__ import annotations

import hashlib
from importlib.resources import files

import pytest

from shutline.remarks.company import LEAST, USUAL, Company, shipped_company
from shutline.remarks.language import Language
from shutline.remarks.misheard import shipped_ear

LANGUAGE = Language(
    {"no": 40, "dents": 20, "it": 20, "'s": 20},
    {("no", "dents"): 15, ("it", "'s"): 18, ("'s", "no"): 6},
    {("it", "'s", "no"): 5},
    0.01,
)


def test_a_word_is_worth_its_chance_after_the_two_before_it_above_what_is_usual() -> None:
    company = Company(LANGUAGE, "ours")
    said, fit = company.after((), "It's")
    assert said == ("it", "'s")
    assert fit == pytest.approx(LANGUAGE.log_chance("", "", "it") + LANGUAGE.log_chance("", "it", "'s") + 2 * USUAL)
    said, fit = company.after(said, "no")
    assert said == ("'s", "no")
    assert fit == pytest.approx(LANGUAGE.log_chance("it", "'s", "no") + USUAL)


def test_a_name_that_nobody_counted_is_no_worse_than_the_least() -> None:
    assert Company(LANGUAGE, "ours").after(("no",), "Quorley") == (("no", "quorley"), LEAST + USUAL)


@pytest.mark.parametrize("word", ["", ",", "..."])
def test_what_is_no_word_changes_nothing(word: str) -> None:
    assert Company(LANGUAGE, "ours").after(("it", "'s"), word) == (("it", "'s"), 0.0)


def test_what_ships_is_what_misheard_words_are_set_right_with_and_prefers_what_is_said_at_cars() -> None:
    company = shipped_company()
    stored = files("shutline.remarks").joinpath("data/hearing.npz").read_bytes()
    assert company.id == hashlib.sha256(stored + f"({USUAL}, {LEAST})".encode()).hexdigest()[:12]
    assert company.after(("there", "no"), "dents")[1] > company.after(("there", "no"), "dense")[1]
    language = shipped_ear().language
    assert company.after(("front",), "wing")[1] == pytest.approx(language.log_chance("", "front", "wing") + USUAL)
