"""Two panels across a shut line: intervals that hold, and what is said where nothing can be told."""

import importlib.util
from pathlib import Path

import numpy as np
import pytest

from shutline.car.errors import BadInputError
from shutline.gauge.colour import (
    AS_TAKEN,
    Told,
    across_in_photograph,
    across_keyed,
    by_chart,
    by_grey_card,
    delta_e_2000,
    read_patch,
)
from shutline.gauge.colour.srgb import light_of_lab, signs_of

_SPEC = importlib.util.spec_from_file_location("panels", Path(__file__).with_name("panels.py"))
assert _SPEC is not None
assert _SPEC.loader is not None
panels = importlib.util.module_from_spec(_SPEC)
_SPEC.loader.exec_module(panels)
LEFT, RIGHT, panel, photograph = panels.LEFT, panels.RIGHT, panels.panel, panels.photograph
GREEN = (45.0, -20.0, 14.0)


def beside(other: tuple[float, ...], *, seed: int = 1, **how: float) -> np.ndarray:
    rng = np.random.default_rng(seed)
    return photograph(
        panel(GREEN, rng, texture=how.get("texture", 0.02), grain=how.get("grain", 0.0)), panel(other, rng, **how)
    )


def test_the_interval_holds_the_true_difference_of_drawn_panels() -> None:
    # 95 %: of 80 panels 71 to 80 at least by chance of one in a thousand. docs/colour.md has 150 for each of 16 kinds.
    rng = np.random.default_rng(11)
    held = 0
    for seed in range(80):
        way = rng.standard_normal(3)
        other = tuple(np.asarray(GREEN) + 3 * rng.random() * way / np.linalg.norm(way))
        found = across_in_photograph(beside(other, seed=seed, texture=0.05, grain=2.0), LEFT, RIGHT)
        held += found.low <= delta_e_2000(GREEN, other) <= found.high
    assert held >= 71


def test_the_same_paint_is_no_more_than_its_own_scatter() -> None:
    found = across_in_photograph(beside(GREEN, texture=0.08, grain=5.0), LEFT, RIGHT)
    assert found.told is Told.SCATTER
    assert "no more than the panel's own scatter" in found.sentence


def test_another_paint_is_told_with_what_differs() -> None:
    found = across_in_photograph(beside((45.0, -8.0, 14.0)), LEFT, RIGHT)
    assert found.told is Told.APART
    assert found.low > found.own_scatter
    assert "differs from the first" in found.sentence
    assert "filler" not in found.sentence
    assert found.delta_e_1976 == pytest.approx(12, abs=0.5)


@pytest.mark.parametrize("bright", [0.6, 0.8, 1.25])
def test_the_same_paint_in_shade_is_said_to_be_shading(bright: float) -> None:
    found = across_in_photograph(beside(GREEN, bright=bright), LEFT, RIGHT)
    assert found.told is Told.SHADING
    assert found.delta_e > 2
    assert found.without_lightness < 0.5
    assert any("not told as a difference of paint" in each for each in found.cautions)


def test_another_hue_in_shade_is_not_put_down_to_shading() -> None:
    assert across_in_photograph(beside((45.0, -10.0, 14.0), bright=0.8), LEFT, RIGHT).told is Told.APART


def test_a_panel_that_falls_off_hides_a_difference_of_its_size() -> None:
    assert across_in_photograph(beside((47.0, -20.0, 14.0), slope=0.4), LEFT, RIGHT).told is Told.SCATTER


def test_planes_are_always_spoken_of_and_who_decides() -> None:
    found = across_in_photograph(beside((45.0, -8.0, 14.0)), LEFT, RIGHT)
    assert any("one plane" in each for each in found.cautions)
    assert "bodyshop" in found.who_decides


def test_the_same_picture_gives_the_same_answer_twice() -> None:
    picture = beside((46.0, -18.0, 14.0))
    assert across_in_photograph(picture, LEFT, RIGHT) == across_in_photograph(picture, LEFT, RIGHT)


def test_a_grey_card_brings_the_colours_back() -> None:
    cast = np.array((1.1, 0.9, 0.6))
    rng = np.random.default_rng(4)
    lights = [panel(lab, rng) * cast for lab in (GREEN, (49.5, 0.0, 0.0))]
    picture = photograph(*lights)
    balance = by_grey_card(picture, RIGHT)
    lab = across_in_photograph(picture, LEFT, LEFT, balance=balance).lab_1
    assert delta_e_2000(lab, GREEN) < 0.5
    assert delta_e_2000(across_in_photograph(picture, LEFT, LEFT, balance=AS_TAKEN).lab_1, GREEN) > 5


def test_a_chart_brings_colours_back_that_a_grey_card_cannot() -> None:
    # Channels that leak into one another, as a camera's do.
    leak = np.array(((0.8, 0.15, 0.05), (0.1, 0.8, 0.1), (0.02, 0.2, 0.7)))
    known = [(30 + 6 * i, 30 * np.cos(i), 30 * np.sin(i)) for i in range(8)]
    rng = np.random.default_rng(9)
    picture = photograph(*(panel(lab, rng) @ leak.T for lab in (*known, GREEN)))
    outline = [tuple((x + 90 * at, y) for x, y in LEFT) for at in range(9)]
    balance = by_chart(picture, list(zip(outline[:8], known, strict=True)))
    found = across_in_photograph(picture, outline[8], outline[8], balance=balance)
    assert balance.left < 0.5
    assert delta_e_2000(found.lab_1, GREEN) < 0.5


@pytest.mark.parametrize(
    ("light", "words"),
    [(light_of_lab((97.5, 0, 0)), "20 to 245"), (light_of_lab((3.0, 0, 0)), "channels of")],
)
def test_a_card_burnt_out_or_black_is_refused(light: np.ndarray, words: str) -> None:
    picture = np.broadcast_to(np.round(255 * signs_of(light)), (90, 90, 3)).astype(np.uint8)
    with pytest.raises(BadInputError, match=words):
        by_grey_card(picture, LEFT)


def test_a_card_lit_unevenly_is_refused() -> None:
    picture = photograph(panel((49.5, 0.0, 0.0), np.random.default_rng(1), slope=0.9))
    with pytest.raises(BadInputError, match="end to the other"):
        by_grey_card(picture, LEFT)


def test_a_chart_of_too_few_fields_or_of_greys_or_mixed_up_is_refused() -> None:
    rng = np.random.default_rng(2)
    known = [(30.0 + 6 * i, 30 * np.cos(i), 30 * np.sin(i)) for i in range(8)]
    outline = [tuple((x + 90 * at, y) for x, y in LEFT) for at in range(8)]
    picture = photograph(*(panel(lab, rng) for lab in known))
    with pytest.raises(BadInputError, match="6 fields or more"):
        by_chart(picture, list(zip(outline[:5], known[:5], strict=True)))
    with pytest.raises(BadInputError, match="foretell one another"):
        by_chart(picture, list(zip(outline, known[::-1], strict=True)))
    greys = photograph(*(panel((20.0 + 9 * i, 0.0, 0.0), rng) for i in range(8)))
    with pytest.raises(BadInputError, match="one hue"):
        by_chart(greys, [(each, (20.0 + 9 * i, 0.0, 0.0)) for i, each in enumerate(outline)])


@pytest.mark.parametrize(
    ("outline", "words"),
    [
        (((1.0, 1.0), (9.0, 9.0)), "three corners"),
        (((1.0, 1.0), (400.0, 1.0), (1.0, 9.0)), "outside the picture"),
        (((1.0, 1.0), (9.0, 1.0), (9.0, 9.0), (1.0, 9.0)), "tiles"),
    ],
)
def test_patches_that_cannot_be_read_are_refused(outline: tuple[tuple[float, float], ...], words: str) -> None:
    with pytest.raises(BadInputError, match=words):
        read_patch(beside(GREEN), outline)


def test_reflections_are_left_out_and_a_patch_full_of_them_refused() -> None:
    picture = beside(GREEN)
    picture[20:40, 20:40] = 255
    patch = read_patch(picture, LEFT)
    assert patch.left_out == pytest.approx(400 / 86**2, abs=0.005)
    assert delta_e_2000(across_in_photograph(picture, LEFT, LEFT).lab_1, GREEN) < 0.5
    picture[2:60, :90] = 255
    with pytest.raises(BadInputError, match="reflection"):
        read_patch(picture, LEFT)


def test_keyed_colours_have_the_interval_of_their_instrument() -> None:
    found = across_keyed((50, 2.0, 10.0), (52, 2.0, 10.0), uncertainty_1=0.2, uncertainty_2=(0.2, 0.1, 0.1))
    assert found.told is Told.APART
    # Along lightness the weight at 51 is nearly one: two readings of 0.2 each.
    assert found.uncertainty == pytest.approx(0.2 * 2**0.5, rel=0.1)
    assert found.low < 2 < found.high
    assert across_keyed((50, 2, 10), (50.2, 2, 10), uncertainty_1=0.2, uncertainty_2=0.2).told is Told.SCATTER


@pytest.mark.parametrize(
    ("lab", "uncertainty", "words"),
    [
        ((-1.0, 0.0, 0.0), 0.1, "L\\* of 0"),
        ((50.0, float("nan"), 0.0), 0.1, "L\\*a\\*b\\*"),
        ((50.0, 0.0, 0.0), -1.0, "nought"),
    ],
)
def test_keyed_colours_that_no_surface_has_are_refused(
    lab: tuple[float, float, float], uncertainty: float, words: str
) -> None:
    with pytest.raises(BadInputError, match=words):
        across_keyed(lab, (50, 0, 0), uncertainty_1=uncertainty, uncertainty_2=0.1)
