"""Where words speak of a figure, and what was spelled out: read from sentences as they are said."""

from __future__ import annotations

import pytest

from shutline.car.errors import UserError
from shutline.car.figures import FigureKind
from shutline.car.speech import share_out
from shutline.gauge.seen.settings import parse_reading, reading
from shutline.gauge.seen.spoken import cues, read_cues, spelled_out


def test_the_words_that_speak_of_a_figure_are_found_with_their_time() -> None:
    words = share_out("Fifty-eight thousand miles on the clock, and a good tyre.", 10.0, 14.0)
    found = cues(words)
    assert [cue.kind for cue in found] == [FigureKind.ODOMETER, FigureKind.ODOMETER, FigureKind.TYRE_SIZE]
    assert 10.0 < found[0].start_s < found[0].end_s < 14.0


@pytest.mark.parametrize(
    ("said", "text"),
    [
        ("the registration is F G Y four one two H", "FGY412H"),
        ("Registration FGY 412 H. It drives well", "FGY412H"),
        ("its reg is FGY 412H, and", "FGY412H"),
        ("the registration mark is whisky x-ray bravo two one seven", ""),
        ("the number plate reads whisky xray bravo two one seven", "WXB217"),
        ("registration double A B five", "AAB5"),
    ],
)
def test_a_mark_is_put_together_from_what_was_spelled_out(said: str, text: str) -> None:
    assert [one.text for one in spelled_out(share_out(said, 0.0, 5.0))] == ([text] if text else [])


@pytest.mark.parametrize(
    "said",
    ["the registration is an old one", "registered in May", "the registration is F G Y oh one two H", "four one two H"],
)
def test_what_was_not_spelled_out_gives_no_mark(said: str) -> None:
    assert spelled_out(share_out(said, 0.0, 5.0)) == ()


def test_a_spelled_vin_is_a_chassis_number() -> None:
    said = "the chassis number is S G Z C Z four three D one three S eight one two seven one five"
    (one,) = spelled_out(share_out(said, 0.0, 9.0))
    assert (one.kind, one.text) == (FigureKind.CHASSIS, "SGZCZ43D13S812715")


def test_settings_and_cues_that_cannot_be_are_named() -> None:
    with pytest.raises(UserError, match="missing or unknown"):
        parse_reading("[sureness]\nfloor = 0.5\n")
    with pytest.raises(UserError, match="line 2"):
        read_cues("kind,words,example,source\nodometer,miles,no such words,us\n")
    assert reading().film.most_frames(600.0) == 24
    assert reading().film.most_frames(None) == 2
