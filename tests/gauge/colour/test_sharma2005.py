"""CIEDE2000 and L*a*b*, held to the published table and to two libraries that others wrote."""

import csv
import warnings
from pathlib import Path
from types import ModuleType

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from shutline.gauge.colour import delta_e_1976, delta_e_2000, lab_of_signs
from shutline.gauge.colour.cie1976 import lab_of_xyz, xyz_of_lab
from shutline.gauge.colour.srgb import WHITE, lab_of_light, light_of, light_of_lab, signs_of

PUBLISHED = Path(__file__).resolve().parents[2] / "published" / "ciede2000.csv"
ROWS = list(csv.DictReader(PUBLISHED.read_text(encoding="utf-8").splitlines()))
CHANNEL = st.floats(-128, 128)
COLOUR = st.tuples(st.floats(0, 100), CHANNEL, CHANNEL)


@pytest.fixture(scope="module")
def colour_science() -> ModuleType:
    with warnings.catch_warnings():
        # It warns that it cannot plot.
        warnings.simplefilter("ignore")
        import colour
    return colour


def lab(row: dict[str, str], number: int) -> tuple[float, float, float]:
    return float(row[f"L{number}"]), float(row[f"a{number}"]), float(row[f"b{number}"])


def test_the_published_table_is_whole() -> None:
    assert [int(row["pair"]) for row in ROWS] == list(range(1, 35))


@pytest.mark.parametrize("row", ROWS, ids=lambda row: f"pair {row['pair']}")
def test_each_published_pair_comes_out(row: dict[str, str]) -> None:
    allowed = [float(row["dE00"])] + ([4.7461] if row["pair"] == "14" else [])
    for one, other in ((1, 2), (2, 1)):
        found = delta_e_2000(lab(row, one), lab(row, other))
        assert min(abs(found - each) for each in allowed) < 1e-4


def test_ten_thousand_pairs_agree_with_two_libraries(colour_science: ModuleType) -> None:
    from coloraide import Color

    rng = np.random.default_rng(7)
    one, other = (rng.uniform((0, -100, -100), (100, 100, 100), (10_000, 3)) for _ in range(2))
    found = delta_e_2000(one, other)
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        second = colour_science.delta_E(one, other, method="CIE 2000")
    assert np.abs(found - second).max() < 1e-8
    third = [
        Color("lab-d65", list(a)).delta_e(Color("lab-d65", list(b)), method="2000", space="lab-d65")
        for a, b in zip(one, other, strict=True)
    ]
    assert np.abs(found - third).max() < 1e-8


def test_plain_distance_of_a_triangle_of_three_four_and_five() -> None:
    # coloraide 8.13.1, tests/test_distance.py.
    assert delta_e_1976((50, 30, 40), (50, 0, 0)) == pytest.approx(50)


def test_lab_of_pictures_agrees_with_another_library(colour_science: ModuleType) -> None:
    signs = np.random.default_rng(3).integers(0, 256, (500, 3)).astype(np.uint8)
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        xyz = colour_science.sRGB_to_XYZ(signs / 255)
        other = colour_science.XYZ_to_Lab(xyz)
    # The matrix of IEC 61966-2-1 has four places, and the white of D65 is written in two ways.
    assert np.abs(lab_of_signs(signs) - other).max() < 0.03


def test_greys_have_no_colour() -> None:
    greys = np.repeat(np.arange(256, dtype=np.uint8)[:, None], 3, axis=1)
    assert np.abs(lab_of_signs(greys)[:, 1:]).max() < 1e-9
    assert lab_of_signs(greys)[-1, 0] == pytest.approx(100)


@given(COLOUR, COLOUR)
def test_a_difference_is_the_same_from_both_sides_and_none_from_itself(
    one: tuple[float, float, float], other: tuple[float, float, float]
) -> None:
    there, back = delta_e_2000(one, other), delta_e_2000(other, one)
    assert there >= 0
    assert there == pytest.approx(back, abs=1e-9)
    assert delta_e_2000(one, one) == 0


@given(COLOUR)
def test_lab_goes_to_light_and_back(one: tuple[float, float, float]) -> None:
    assert lab_of_light(light_of_lab(one)) == pytest.approx(one, abs=1e-6)
    assert lab_of_xyz(xyz_of_lab(one, WHITE), WHITE) == pytest.approx(one, abs=1e-6)


def test_eight_bits_go_to_light_and_back() -> None:
    steps = np.arange(256, dtype=np.uint8)
    assert (np.round(255 * signs_of(light_of(steps))) == steps).all()
    assert light_of(steps / 255) == pytest.approx(light_of(steps))


def test_many_pairs_at_once_are_those_one_by_one_and_shapes_are_kept() -> None:
    rng = np.random.default_rng(2)
    one, other = (rng.uniform(-90, 90, (3, 5, 3)) for _ in range(2))
    found = delta_e_2000(one, other)
    assert found.shape == (3, 5)
    assert found[2, 4] == pytest.approx(delta_e_2000(one[2, 4], other[2, 4]))
    assert delta_e_2000(one[0, 0], other).shape == (3, 5)


def test_what_is_no_colour_is_refused() -> None:
    with pytest.raises(ValueError, match="last axis"):
        delta_e_2000((1, 2), (3, 4))
