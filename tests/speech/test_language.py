from __future__ import annotations

import csv
from importlib.resources import files

import pytest

from shutline.speech.heard import Heard, HeardWord
from shutline.speech.language import doubt_english, function_share, function_words

ENGLISH = (
    "Right, so this is the nearside sill, and I've had a good poke at it. No rust that I can find, which on one of "
    "these is something, because they all go here. There's a bit of a bubble on the wing, that's about it."
)
FRENCH = (
    "Bonjour, voici la voiture. Les deux ailes avant sont en bon état, mais le bas de la porte gauche est rouillé. "
    "Le moteur démarre bien à froid, il n'y a pas de fuite d'huile. Les pneus ont été changés l'année dernière."
)
GERMAN = (
    "Guten Tag, das ist der Wagen. Die beiden vorderen Kotflügel sind in gutem Zustand, aber die linke Tür ist unten "
    "verrostet. Der Motor springt kalt gut an, und es gibt kein Ölleck. Die Reifen wurden letztes Jahr gewechselt."
)
NOTES = (
    "Front bumper straight, chrome good. Bonnet stone chips. Nearside wing blister on lower edge. Nearside door "
    "good. Sill solid. Rear wing scratch. Boot floor dry. Offside all clean. Tyres worn on the front, good at the rear."
)


def heard(text: str, *, sureness: float | None = None, broken_off: bool = False) -> Heard:
    return Heard(tuple(HeardWord(word, sureness=sureness) for word in text.split()), broken_off)


@pytest.mark.parametrize("text", [FRENCH, GERMAN])
def test_a_transcript_in_another_language_is_doubted(text: str) -> None:
    problems = doubt_english([heard(text)], where="walk.vtt")
    assert [problem.slug for problem in problems] == ["not-english"]
    assert problems[0].where == "walk.vtt"


def test_english_is_not_doubted() -> None:
    assert doubt_english([heard(ENGLISH, sureness=0.9)], where="x") == ()


def test_terse_english_notes_in_a_transcript_are_not_doubted() -> None:
    assert doubt_english([heard(NOTES)], where="x") == ()


def test_a_few_words_are_too_few_to_tell() -> None:
    assert doubt_english([heard("Bonjour tout le monde")], where="x") == ()


def test_a_recogniser_that_is_unsure_all_the_way_is_doubted() -> None:
    assert doubt_english([heard(ENGLISH, sureness=0.4)], where="x")


def test_a_recogniser_that_runs_in_circles_is_doubted() -> None:
    assert doubt_english([heard(ENGLISH, sureness=0.9, broken_off=True)], where="x")


def test_share_of_small_words_is_counted_by_hand() -> None:
    assert function_share("the sill is sound") == 0.5
    assert function_share("") == 0.0
    assert function_share("It\u2019s dry") == 0.5


def test_function_words_are_lower_case_and_once() -> None:
    text = files("shutline.speech").joinpath("data/function_words.csv").read_text(encoding="utf-8")
    rows = list(csv.DictReader(text.splitlines()))
    assert len(rows) == len(function_words())
    assert all(row["word"] == row["word"].lower() and row["source"] for row in rows)
