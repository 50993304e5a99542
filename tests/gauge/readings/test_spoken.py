from __future__ import annotations

import inflect
import pytest
from hypothesis import given
from hypothesis import strategies as st

from shutline.car.findings import Position, Side, State
from shutline.car.places import Visit
from shutline.car.readings import KeptReading, Way
from shutline.car.speech import Stretch, StretchOrigin, Word, WordTiming, stretch_of
from shutline.gauge.readings import Run, spoken_runs
from shutline.gauge.readings.figures import Token, called
from shutline.gauge.readings.quantities import SpokenCue, spoken_cues

DOOR = (Visit(0, 100, "door", Side.NEAR, Position.FRONT),)


def heard(text: str, walk: tuple[Visit, ...] = DOOR) -> tuple[Run, ...]:
    stretch = stretch_of(text, 1, 1 + 0.4 * len(text.split()), origin=StretchOrigin.HEARD)
    return spoken_runs([stretch], walk, recording="take")


def figures(text: str) -> list[float]:
    return [one.value for run in heard(text) for one in run.readings]


def test_the_run_of_the_issue_is_read_with_its_places() -> None:
    (run,) = heard(
        "Paint gauge on the door: one twenty, one eighteen, one twenty-five, and then four hundred at the bottom."
    )
    assert [(one.value, one.unit, one.spot) for one in run.readings] == [
        (120, "um", ""),
        (118, "um", ""),
        (125, "um", ""),
        (400, "um", "bottom"),
    ]
    first = run.readings[0]
    assert (first.part, first.side, first.position) == ("door", Side.NEAR, Position.FRONT)
    assert (first.way, first.source, first.quote) == (Way.SPOKEN, "take", "one twenty,")
    assert 0 < first.start_s < first.end_s  # type: ignore[operator]
    assert len({one.series for one in run.readings}) == 1


@pytest.mark.parametrize("cue", spoken_cues(), ids=lambda cue: " ".join(cue.words))
def test_each_cue_reads_its_own_example(cue: SpokenCue) -> None:
    runs = heard(cue.example)
    assert [run.quantity for run in runs] == [cue.quantity]
    assert all(one.unit == cue.unit for one in runs[0].readings)


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        # Without marks, as recognisers give it.
        (
            "paint gauge one twenty one eighteen one twenty five and then four hundred at the bottom",
            [120, 118, 125, 400],
        ),
        ("paint gauge ninety five a hundred and two one oh five ninety eight", [95, 102, 105, 98]),
        ("paint readings 120 118 125 then 1,400 at the bottom", [120, 118, 125, 1400]),
        ("a hundred and ten, a hundred and fifteen microns here", [110, 115]),
        ("tread is five and a half, five point five, six", [5.5, 5.5, 6]),
        # What is no figure of the gauge.
        ("paint gauge one twenty and it was built in nineteen sixty six", [120]),
        ("paint gauge one twenty, one ten, two keys", [120, 110]),
        ("paint gauge says one thirty. Mileage forty one thousand", [130]),
        ("compression ratio eight point five", []),
        ("it has done sixty thousand and has two doors", []),
        ("the oil pressure light goes out in two seconds", []),
        ("paint gauge is in the van, it does not matter", []),
    ],
)
def test_figures_are_parted_and_others_left_alone(text: str, expected: list[float]) -> None:
    assert figures(text) == expected


def test_cylinders_are_counted_or_named() -> None:
    (run,) = heard("compression one thirty, one thirty, one twenty-eight, one hundred")
    assert [one.spot for one in run.readings] == ["1", "2", "3", "4"]
    (run,) = heard("leak down is eighteen per cent on number three")
    assert [(one.value, one.spot) for one in run.readings] == [(18, "3")]


def test_the_place_follows_the_walk() -> None:
    walk = (*DOOR, Visit(3.0, 9, "rear_wing", Side.NEAR))
    (run,) = heard("paint gauge one twenty, on the rear wing now three ten, three oh five", walk)
    assert [(one.part, one.position) for one in run.readings] == [
        ("door", Position.FRONT),
        ("rear_wing", None),
        ("rear_wing", None),
    ]


def test_the_gauge_itself_is_no_place() -> None:
    walk = (*DOOR, Visit(1.0, 9, "instruments"))
    (run,) = heard("Paint gauge on it, one twenty", walk)
    assert run.readings[0].part == "door"


def test_a_pause_parts_two_figures_that_could_be_one() -> None:
    def said(gap_s: float) -> list[float]:
        times, at = [], 0.0
        texts = ["damp", "meter", "twenty", "five"]
        for number, text in enumerate(texts):
            at += gap_s if number == 3 else 0.0
            times.append(Word(text, at, at + 0.3, WordTiming.ALIGNED))
            at += 0.3
        stretch = Stretch(0, at, " ".join(texts), tuple(times), StretchOrigin.HEARD)
        return [one.value for run in spoken_runs([stretch], DOOR, recording="take") for one in run.readings]

    assert said(0.0) == [25]
    assert said(1.5) == [20, 5]


WORDS = inflect.engine()


def tokens(text: str) -> list[Token]:
    words = text.replace("-", " ").replace(",", "").split()
    return [Token(word, k, 0.3 * k, 0.3 * k + 0.3, mark=False) for k, word in enumerate(words)]


@given(st.integers(min_value=1, max_value=999))
def test_whole_numbers_are_those_of_an_independent_library(value: int) -> None:
    """Against inflect's number words."""
    (one,) = called(tokens(str(WORDS.number_to_words(value))), low=0, high=5000, usual=value)
    assert one.value == value


@given(st.lists(st.integers(min_value=100, max_value=199), min_size=3, max_size=8))
def test_figures_of_one_size_run_together_are_parted(values: list[int]) -> None:
    """Against inflect's number words, run together without a mark."""
    text = " ".join(str(WORDS.number_to_words(value)) for value in values)
    assert [one.value for one in called(tokens(text), low=20, high=2000)] == values


@given(st.text(), st.text(alphabet="0123456789.,% ", max_size=30))
def test_nothing_said_makes_it_fail(text: str, numbers: str) -> None:
    for run in heard(f"paint gauge {text} {numbers} microns one twenty"):
        assert run.readings


def test_a_kept_reading_begins_with_how_it_came_in() -> None:
    (run,) = heard("paint gauge one twenty")
    assert KeptReading("a", run.readings[0], State.HEARD, "2026-01-01T00:00:00+00:00").version == 1
