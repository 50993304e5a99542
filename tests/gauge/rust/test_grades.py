"""What shares of rust are called, held to the published tables; letters by our own rule; blisters by drawn pictures."""

import csv
import math
import re
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from shutline.car.errors import BadInputError
from shutline.gauge.rust import Segmented, blister_svg, d610_grade, iso_grade, rated
from shutline.gauge.rust.grades import distribution_of
from shutline.gauge.rust.settings import settings

PUBLISHED = Path(__file__).resolve().parents[2] / "published" / "rusting.csv"
ROWS = list(csv.DictReader(PUBLISHED.read_text(encoding="utf-8").splitlines()))


@pytest.mark.parametrize("row", ROWS, ids=lambda row: f"{row['standard']} {row['id']} {row['per_cent']}")
def test_each_published_row_is_called_by_its_name(row: dict[str, str]) -> None:
    share = float(row["per_cent"]) / 100
    assert (d610_grade if row["standard"] == "D610" else iso_grade)(share) == row["id"]


def test_a_share_just_over_a_limit_of_d610_is_the_next_grade() -> None:
    limits = [float(row["per_cent"]) for row in ROWS if row["standard"] == "D610"]
    found = [d610_grade(limit / 100 * 1.001) for limit in limits]
    assert found == ["9", "8", "7", "6", "5", "4", "3", "2", "1", "0"]
    assert d610_grade(1.0) == "0"
    assert d610_grade(0.0) == "10"


@pytest.mark.parametrize(
    ("bound", "below", "above"),
    [
        (0.025, "Ri0", "Ri1"),
        (math.sqrt(0.05 * 0.5), "Ri1", "Ri2"),
        (math.sqrt(0.5), "Ri2", "Ri3"),
        (math.sqrt(8), "Ri3", "Ri4"),
        (math.sqrt(8 * 44.7), "Ri4", "Ri5"),
    ],
)
def test_pictures_of_iso_are_parted_at_the_geometric_middle(bound: float, below: str, above: str) -> None:
    assert iso_grade(bound / 100 * 0.999) == below
    assert iso_grade(bound / 100 * 1.001) == above


@given(st.floats(0, 1), st.floats(0, 1))
def test_more_rust_is_never_called_less(one: float, other: float) -> None:
    low, high = sorted((one, other))
    assert int(d610_grade(low)) >= int(d610_grade(high))
    assert iso_grade(low) <= iso_grade(high)


@pytest.mark.parametrize("share", [-0.01, 1.01, float("nan")])
def test_what_is_no_share_is_refused(share: float) -> None:
    with pytest.raises(BadInputError, match="0 to 100"):
        d610_grade(share)


def lying(rust: np.ndarray) -> str:
    odds = np.where(rust, 5.0, -5.0).astype(np.float32)
    found = distribution_of(Segmented(odds, np.ones(rust.shape, bool), (0, 0), 1.0, None, -5.0))
    assert found is not None
    return found.letter


def test_letters_tell_specks_a_place_and_all_over() -> None:
    rng = np.random.default_rng(5)
    specks = rng.random((300, 400)) < 0.01
    place = np.zeros((300, 400), bool)
    place[100:150, 200:260] = True
    blotches = np.zeros((300, 400), bool)
    for y, x in rng.uniform((0, 0), (280, 380), (60, 2)).astype(int):
        blotches[y : y + 12, x : x + 12] = True
    assert lying(specks) == "P"
    assert lying(place) == "S"
    assert lying(blotches) == "G"
    assert lying(place | (rng.random((300, 400)) < 0.02)) == "H"


def test_no_rust_has_no_letter() -> None:
    nothing = Segmented(np.full((50, 50), -5.0, np.float32), np.ones((50, 50), bool), (0, 0), 1.0, None, -5.0)
    assert distribution_of(nothing) is None


def test_blisters_are_called_as_the_standard_writes_them() -> None:
    # density(Ssize): from memory, check_values 2.
    assert rated(2, 3).called == "2(S3)"
    assert rated(0, 0).called == "0"
    assert "not the standard's" in rated(5, 5).cautions[0]


@pytest.mark.parametrize(("density", "size"), [(1, 3), (3, 1), (6, 2), (0, 2), (2, 0)])
def test_blisters_without_a_picture_are_refused(density: int, size: int) -> None:
    with pytest.raises(BadInputError, match="2 to 5"):
        rated(density, size)


def test_drawn_blisters_cover_what_they_should_and_do_not_overlap() -> None:
    rules = settings().blisters
    for size, wide in zip(rules.sizes, rules.diameters_mm, strict=True):
        for density, covered in zip(rules.densities, rules.covered, strict=True):
            svg = blister_svg(density, size)
            assert svg == blister_svg(density, size)
            discs = re.findall(r'<circle cx="([\d.]+)" cy="([\d.]+)"', svg)
            assert (
                len(discs) * math.pi * wide**2 / 4
                == pytest.approx(covered * rules.field_mm**2, abs=math.pi * wide**2 / 4 / 2 + 1e-6)
                or len(discs) == 1
            )
            middles = np.array(discs, float)
            apart = np.linalg.norm(middles[:, None] - middles[None], axis=2) + 1e9 * np.eye(len(middles))
            assert apart.min() > wide
