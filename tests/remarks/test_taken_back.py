"""What is taken back at once tells of no fault, and is told with both its moments."""

from __future__ import annotations

import pytest

from shutline.car.findings import Found
from shutline.car.speech import StretchOrigin, stretch_of
from shutline.remarks import Reading, read
from shutline.remarks.taken_back import _words


def _read(*said: str) -> Reading:
    stretches = [
        stretch_of(words, 5.0 * at, 5.0 * at + 4.0, origin=StretchOrigin.TRANSCRIPT) for at, words in enumerate(said)
    ]
    return read(stretches)


def _faults(reading: Reading) -> set[tuple[str, str]]:
    return {(one.part, one.condition) for one in reading.findings if one.found is not Found.NO}


SCRATCH = "There's a scratch on the bonnet."


@pytest.mark.parametrize(
    "back",
    [
        "No, it's only dust.",
        "No, that's just dirt, that wipes off.",
        "Oh no, sorry, it's only a bit of dried mud.",
        "No, it's just the light.",
        "My mistake, ignore that.",
        "Sorry, ignore that.",
        "That wipes straight off.",
        "Comes off with a thumb.",
    ],
)
def test_a_fault_that_is_taken_back_at_once_is_no_finding_and_is_told(back: str) -> None:
    reading = _read(SCRATCH, back)
    assert ("bonnet", "scratch") not in _faults(reading)
    (problem,) = [one for one in reading.problems if one.slug == "taken-back"]
    assert problem.where == "at 0:01"
    assert "scratch was told here and taken back at 0:05" in problem.found


def test_without_marks_it_is_taken_back_too() -> None:
    reading = _read("there's rust on the near side sill no it's only mud now the wing is fine")
    assert ("sill", "rust") not in _faults(reading)
    assert [one.slug for one in reading.problems] == ["taken-back"]


@pytest.mark.parametrize(
    ("fault", "said"),
    [
        (("bonnet", "scratch"), (SCRATCH, "Ignore that.")),
        (("bonnet", "scratch"), (SCRATCH, "It'll wipe off.")),
        (("bonnet", "scratch"), (SCRATCH, "The roof is good.", "No, it's only dust.")),
        (("sill", "rust"), ("There's rust on the sill.", "No, it's only surface rust.")),
        (("sill", "rust"), ("There's rust on the sill.", "No, it's only light.")),
        (("sill", "rust"), ("There's rust on the sill.", "It's nothing.")),
        (
            ("steering_wheel", "crack"),
            ("The steering wheel has one crack in it, and a second, no, that is a hair, one crack.",),
        ),
        (("cooling", "leak"), ("The radiator is leaking.", "No, it's only water.")),
        (("sill", "rust"), ("There's rust on the sill.", "It comes off with a thumb.")),
        (("sill", "rust"), ("There's rust on the sill.", "No, that is rust.")),
        (("bonnet", "rust"), (SCRATCH, "No, that is rust.")),
    ],
)
def test_what_is_not_taken_back_stands(fault: tuple[str, str], said: tuple[str, ...]) -> None:
    reading = _read(*said)
    assert fault in _faults(reading)
    assert reading.problems == ()


def test_the_finding_that_stands_says_what_it_takes_back() -> None:
    reading = _read("There's a bit of rust on the nearside sill.", "No, sorry, it's only mud.")
    (dirt,) = [one for one in reading.findings if one.condition == "dirt"]
    assert "It takes back what was told at 0:01: nearside sill: rust." in dirt.why


def test_what_is_said_twice_is_taken_back_as_one() -> None:
    reading = _read("There's a long scratch on the bonnet, a deep scratch.", "No, it's only a hair.")
    assert ("bonnet", "scratch") not in _faults(reading)


@pytest.mark.parametrize("said", ["The bonnet is sound.", "There's no rust on the bonnet."])
def test_praise_can_be_withdrawn_too(said: str) -> None:
    assert _read(said).findings
    assert _read(said, "My mistake, ignore that.").findings == ()


def test_no_phrase_stands_for_two_things() -> None:
    words = _words()
    assert not {one[0] for one in words.harmless if len(one) == 1} & words.not_before
    assert words.takes_back <= {token for one in words.openings for token in one}
