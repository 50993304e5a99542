"""Figures read off drawn pictures: the drawing (bench/drawn_figures.py, seeded) is the outside check."""

from __future__ import annotations

import sys
from pathlib import Path

import numpy as np
import pytest

from shutline.car.figures import FigureKind
from shutline.gauge.seen import sure
from shutline.gauge.seen.figures import other_ground, read_figures, with_all_drums
from shutline.gauge.seen.lettering import Sign, grown, shifted
from shutline.gauge.seen.match import Match
from shutline.gauge.seen.settings import reading

sys.path.insert(0, str(Path(__file__).resolve().parents[3] / "bench"))

from drawn_figures import KINDS, drawn
from figures import WANTED, Remembering, distance, outcome, weighed


@pytest.mark.slow
@pytest.mark.parametrize("kind", KINDS)
def test_clear_drawings_are_read_or_asked_about_and_none_is_wrong_and_sure(kind: str) -> None:
    reader = Remembering()
    came = []
    for seed, trouble in ((9001, 0.5), (9002, 0.5), (9003, 2.5)):
        reader.seen = {}
        one = drawn(kind, seed, trouble=trouble)
        what, sureness, _ = outcome(weighed(reader, kind, one), one)
        assert not (what == "wrong" and sureness >= reading().sureness.sure), one.how
        came.append(what)
    assert {"right", "asked right"} & set(came[:2]), came


def test_what_is_offered_carries_its_signs_and_its_box() -> None:
    plate = drawn("mark", 9004, trouble=0.5)
    (figure,) = read_figures(plate.picture, WANTED["mark"]).figures
    assert (figure.value, figure.fits) == (plate.truth, True)
    assert "".join(sign.text for sign in figure.signs) == figure.text
    left, top, right, low = figure.box
    assert 0 <= left < right <= 1
    assert 0 <= top < low <= 1


def test_a_picture_without_writing_offers_nothing() -> None:
    blank = np.full((200, 320, 3), 90, np.uint8)
    assert read_figures(blank).figures == ()


def test_a_mark_is_no_odometer() -> None:
    plate = drawn("mark", 9003, trouble=0.5)
    assert read_figures(plate.picture, frozenset({FigureKind.ODOMETER})).figures == ()


def test_a_paper_gives_its_lines_with_their_boxes_in_order() -> None:
    import cv2

    page = np.full((400, 640, 3), 245, np.uint8)
    wanted = ("OSTREL MOTORS LTD", "Clutch fitted 14.05.1994", "Mileage 58206")
    for number, text in enumerate(wanted):
        cv2.putText(page, text, (40, 80 + 90 * number), cv2.FONT_HERSHEY_DUPLEX, 1.0, (30, 30, 30), 2, cv2.LINE_AA)
    (paper,) = read_figures(page, frozenset({FigureKind.PAPER})).figures
    assert sum(distance(a.text, b) for a, b in zip(paper.lines, wanted, strict=True)) <= 2
    tops = [line.box[1] for line in paper.lines]
    assert tops == sorted(tops)
    assert abs(tops[1] - (170 - 28) / 400) < 0.03


def test_the_last_drum_of_another_colour_is_known_and_one_alike_is_not() -> None:
    row = np.full((40, 200, 3), 20, np.uint8)
    assert not other_ground(row, 5)
    row[:, 160:] = 230
    assert other_ground(row, 5)
    row[:] = np.linspace(20, 200, 200)[None, :, None]
    assert not other_ground(row, 5)


def test_a_quad_grows_and_moves_by_its_height() -> None:
    quad = ((10.0, 10.0), (110.0, 10.0), (110.0, 30.0), (10.0, 30.0))
    assert grown(quad, 0.5) == ((0.0, 0.0), (120.0, 0.0), (120.0, 40.0), (0.0, 40.0))
    assert shifted(quad, 0.5) == ((10.0, 20.0), (110.0, 20.0), (110.0, 40.0), (10.0, 40.0))


def test_sureness_rises_with_the_looks_that_agree() -> None:
    counts = sure.count(
        [(sure.class_of(FigureKind.MARK, fits=True, agreed=7, weakest=0.99), True)] * 40
        + [(sure.class_of(FigureKind.MARK, fits=True, agreed=1, weakest=0.4), n % 3 == 0) for n in range(12)]
    )
    high, low = (
        sure.sureness(sure.class_of(FigureKind.MARK, fits=True, agreed=agreed, weakest=weakest), counts)
        for agreed, weakest in ((7, 0.97), (2, 0.3))
    )
    assert high > reading().sureness.sure > reading().sureness.floor > low
    assert sure.read_counts(sure.written(counts)) == counts


def test_a_class_never_seen_is_not_sure() -> None:
    assert (
        sure.sureness(sure.class_of(FigureKind.PAINT, fits=True, agreed=7, weakest=1.0), {}) < reading().sureness.floor
    )


def test_looks_that_differ_are_told_and_lower_the_class() -> None:
    agreed = [sure.class_of(FigureKind.MARK, fits=True, agreed=n, weakest=0.99).agreed for n in range(8)]
    assert agreed == [0, 0, 0, 3, 3, 5, 6, 7]


def test_a_red_drum_under_a_bright_spot_is_another_ground_and_a_grey_one_is_doubtful() -> None:
    # The light comes on over the last three drums, as in a drawing whose tenths were once taken for whole ones.
    lights = (36, 36, 36, 120, 140, 150)
    row = np.concatenate([np.full((60, 40, 3), light, np.uint8) for light in lights], axis=1)
    assert other_ground(row, 6) is not True
    row[:, 200:] = (200, 110, 110)
    assert other_ground(row, 6) is True


def test_four_figures_are_asked_about_for_a_drum_may_not_have_been_read() -> None:
    four = _match("8538")
    asked = with_all_drums(four)
    assert (asked.fits, asked.value) == (False, 8538)
    assert [other.value for other in asked.others] == [8538]
    assert with_all_drums(_match("85381")).fits


def test_five_figures_that_begin_with_nought_are_asked_about_for_the_same_reason() -> None:
    asked = with_all_drums(_match("04935"))
    assert (asked.fits, [other.value for other in asked.others]) == (False, [4935])
    assert with_all_drums(_match("049355")).fits


def test_of_seven_figures_the_last_may_count_tenths() -> None:
    asked = with_all_drums(_match("1422022"))
    assert (asked.fits, [other.value for other in asked.others]) == (False, [142202, 1422022])


def _match(text: str) -> Match:
    signs = tuple(Sign(sign, 0.99) for sign in text)
    return Match(FigureKind.ODOMETER, signs, text, int(text), "mi", fits=True)
