"""Markings of tyres, held to tables from elsewhere (tests/published/tyres.md names them)."""

from __future__ import annotations

import csv
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from shutline.car.errors import BadInputError
from shutline.gauge.tyres.markings import Construction, Kind, TyreSize, marking, tyre_size
from shutline.gauge.tyres.rules import loads, speeds, speeds_in_size

PUBLISHED = Path(__file__).resolve().parents[2] / "published"


def published(name: str) -> list[dict[str, str]]:
    with (PUBLISHED / name).open(encoding="utf-8", newline="") as rows:
        return list(csv.DictReader(rows))


def test_load_indices_are_those_of_the_published_table() -> None:
    rows = published("tyre_load_index.csv")
    assert len(rows) == 77
    assert loads() == {int(row["load_index"]): int(row["kg"]) for row in rows}


def test_load_indices_lie_within_two_per_cent_of_the_series_they_are_rounded_from() -> None:
    for index, kg in loads().items():
        assert kg == pytest.approx(45 * 10 ** (index / 80), rel=0.02), index


# Anchors of check_values.md 10, printed by several sellers and one maker.
@pytest.mark.parametrize(("index", "kg"), [(69, 325), (82, 475), (86, 530), (91, 615), (100, 800)])
def test_a_load_index_is_kilograms(index: int, kg: int) -> None:
    assert loads()[index] == kg


def test_speed_symbols_are_those_of_the_published_table() -> None:
    rows = published("tyre_speed_symbols.csv")
    ours = speeds()
    # ZR is no symbol of its own: it stands within a size only, and means over 240.
    assert {row["symbol"] for row in rows} - set(ours) == {"ZR"}
    assert all(ours[row["symbol"]] == int(row["max_km_h"]) for row in rows if row["symbol"] != "ZR")
    assert speeds_in_size()["Z"] == (240, True)
    assert ours["U"] < ours["H"] < ours["V"]


# Anchors of UN R30 as printed by two sellers of tyres and a maker's page: check_values.md 10.
@pytest.mark.parametrize(
    ("text", "told", "load_kg", "speed_km_h"),
    [
        ("205/55R16 91V", "205/55 R16 91V", 615, 240),
        ("145/80 R10 69S", "145/80 R10 69S", 325, 180),
        ("175/70 R13 82T", "175/70 R13 82T", 475, 190),
        ("165 R 15 86H", "165 R15 86H", 530, 210),
        ("165 SR 13", "165 SR13", None, None),
        ("5.20-10", "5.20-10", None, None),
        ("P205/55ZR16", "P205/55 ZR16", None, None),
    ],
)
def test_a_tyre_size_is_read(text: str, told: str, load_kg: int | None, speed_km_h: int | None) -> None:
    assert tyre_size(text) == TyreSize(told, load_kg, speed_km_h)


# N, O and X are no speed symbols of UN R30; 12 and 300 no load indices of cars.
@pytest.mark.parametrize(
    "text", ["205/55R16 91O", "205/55R16 12V", "205/55R16 300V", "20S/55R16", "205/55R9", "FGY412H"]
)
def test_what_no_tyre_is_marked_with_is_no_size(text: str) -> None:
    assert tyre_size(text) is None
    with pytest.raises(BadInputError, match="tyre marking"):
        marking(text)


@pytest.mark.parametrize(
    ("text", "kind", "construction", "sizes"),
    [
        ("205/55 R16 91V", Kind.METRIC, Construction.RADIAL, (205, 55, 406.4)),
        ("165 R 15 86H", Kind.OLD_METRIC, Construction.RADIAL, (165, None, 381)),
        ("145-10", Kind.OLD_METRIC, Construction.CROSS_PLY, (145, None, 254)),
        ("185/70 HR 14", Kind.METRIC, Construction.RADIAL, (185, 70, 355.6)),
        ("175/75 B 14", Kind.METRIC, Construction.BIAS_BELTED, (175, 75, 355.6)),
        ("190/65 HR 390", Kind.RIM_MM, Construction.RADIAL, (190, 65, 390)),
        ("5.20-10", Kind.INCH, Construction.CROSS_PLY, (132.08, None, 254)),
        ("520-10", Kind.INCH, Construction.CROSS_PLY, (132.08, None, 254)),
        ("6.00 \N{MULTIPLICATION SIGN} 16", Kind.INCH, Construction.CROSS_PLY, (152.4, None, 406.4)),
        ("5.60 S - 13", Kind.INCH, Construction.CROSS_PLY, (142.24, None, 330.2)),
        ("6.70 R 15", Kind.INCH, Construction.RADIAL, (170.18, None, 381)),
    ],
)
def test_a_marking_tells_its_kind_and_no_ratio_that_is_not_there(
    text: str, kind: Kind, construction: Construction, sizes: tuple[float, int | None, float]
) -> None:
    read = marking(text)
    assert (read.kind, read.construction) == (kind, construction)
    assert (read.width_mm, read.ratio_pct, read.rim_mm) == sizes


def test_a_letter_within_an_old_size_is_a_speed() -> None:
    assert (marking("165 SR 13").speed_km_h, marking("165 SR 13").over) == (180, False)
    assert (marking("205/70 VR 14").speed_km_h, marking("205/70 VR 14").over) == (210, True)
    assert (marking("205/70 VR 14 95W").speed_km_h, marking("205/70 VR 14 95W").over) == (270, False)
    assert marking("5.20-10").speed_km_h is None


def test_words_behind_a_size_are_kept_apart() -> None:
    read = marking("165 r13 82t reinforced tl")
    assert read.extras == ("REINFORCED", "TL")
    assert (read.load_kg, read.text) == (475, "165 R13 82T REINFORCED TL")


@given(
    st.sampled_from(range(125, 335, 10)),
    st.sampled_from(["/50", "/70", "/80", ""]),
    st.sampled_from(["R", "SR", "HR", "-"]),
    st.integers(10, 22),
    st.sampled_from([""] + [f" {load}{speed}" for load in (50, 82, 126) for speed in "QSTHV"]),
)
def test_a_marking_reads_its_own_spelling(width: int, ratio: str, build: str, rim: int, service: str) -> None:
    read = marking(f"{width}{ratio}{build}{rim}{service}")
    assert marking(read.text) == read
    assert tyre_size(read.text) is not None
    assert (read.width_mm, read.ratio_pct) == (width, int(ratio[1:]) if ratio else None)
