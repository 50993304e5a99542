"""The frame shown at a moment; the truth is the bar that the test film's own maker draws at 4 pixels a frame."""

from __future__ import annotations

import math
from collections.abc import Callable
from pathlib import Path

import cv2
import numpy as np
import pytest

from shutline.capture.one_frame import frame_at


def bar_of(jpeg: bytes) -> int:
    """Which frame of the test film a picture is, by the place of its bright bar."""
    picture = cv2.imdecode(np.frombuffer(jpeg, np.uint8), cv2.IMREAD_GRAYSCALE)
    columns = picture.astype(float).mean(axis=0)
    return round(int(np.argmax(np.convolve(columns, np.ones(16), "valid"))) / 4)


@pytest.mark.parametrize(
    ("at_s", "number"), [(0.0, 0), (0.099, 0), (0.1, 1), (1.55, 15), (2.0, 20), (5.9, 59), (9, 59)]
)
def test_the_frame_is_the_one_that_a_player_shows(make_film: Callable[..., Path], at_s: float, number: int) -> None:
    film = make_film("one-frame.mp4", frames=60, rate=10, gop=10)
    still = frame_at(film, at_s)
    assert still is not None
    assert still.at_s == pytest.approx(number / 10, abs=0.001)
    assert bar_of(still.jpeg) == number
    assert (still.width, still.height) == (320, 180)
    assert still.sharpness > 0


def test_a_sound_has_no_frame(make_film: Callable[..., Path]) -> None:
    assert frame_at(make_film("one-sound.m4a", codec=None), 1.0) is None


@pytest.mark.parametrize("at_s", [-1.0, math.inf, math.nan])
def test_what_is_no_moment_is_refused(make_film: Callable[..., Path], at_s: float) -> None:
    with pytest.raises(ValueError, match="no moment"):
        frame_at(make_film("one-frame.mp4", frames=60, rate=10, gop=10), at_s)
