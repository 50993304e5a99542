"""The Plan for a page: every part can be found by its key, and the thread may begin beside the sheet."""

from __future__ import annotations

import re

import pytest

from shutline.car.errors import UserError
from shutline.car.findings import Drive, Position, Side
from shutline.car.places import Visit
from shutline.car.plan import Layout, Pin, PinForm
from shutline.car.plan.spread import PREFIX, Body, drawn_keys, place_keys, sheet_width, spread_svg

SALOON: Body = ("saloon", 4, Drive.RHD)
VAN: Body = ("van", None, Drive.LHD)
WALK = (Visit(0.0, 20.0, "grille"), Visit(20.0, 60.0, "front_wing", Side.NEAR))


def spread(body: Body = SALOON, layout: Layout = Layout.STRIP, *, reach: float = 0.6) -> str:
    pin = Pin(1, "front_wing", Side.NEAR, None, PinForm.BAD, "1: <wing>", "#finding-1")
    return spread_svg(body, layout, pins=[pin], visits=WALK, length_s=60.0, title="Ostrel & Pavane", reach=reach)


@pytest.mark.parametrize("body", [SALOON, VAN])
@pytest.mark.parametrize("layout", list(Layout))
def test_every_key_is_an_element_of_the_figure(body: Body, layout: Layout) -> None:
    ids = set(re.findall(rf'id="{PREFIX}-([^"]+)"', spread(body, layout)))
    assert {key for keys in drawn_keys(body).values() for key in keys} <= ids


def test_a_place_is_drawn_in_every_view_that_shows_it() -> None:
    keys, maybe = place_keys(SALOON, ("front_wing", Side.NEAR, None))
    assert len(keys) > 1
    assert all("near" in key for key in keys)
    assert maybe == ()


def test_a_side_that_nobody_said_is_lit_nowhere_but_may_be_either() -> None:
    keys, maybe = place_keys(SALOON, ("door", None, Position.FRONT))
    assert keys == ()
    assert set(maybe) == {"door-front-near", "door-front-off"}


def test_both_sides_are_both() -> None:
    keys, _ = place_keys(SALOON, ("door", Side.BOTH, Position.FRONT))
    assert set(keys) == {"door-front-near", "door-front-off"}


def test_the_thread_begins_beside_the_sheet_in_one_of_its_two_forms() -> None:
    figure = spread()
    lefts = [float(left) for left in re.findall(r'data-left="([^"]+)"', figure)]
    assert lefts == pytest.approx([34.0 - 0.6 * sheet_width(SALOON, Layout.STRIP), 34.0], abs=0.01)
    assert 'class="thread far"' in figure
    assert len(re.findall("data-left", spread(reach=0.0))) == 1


def test_words_in_the_figure_are_escaped() -> None:
    assert "Ostrel &amp; Pavane" in spread()
    assert "1: &lt;wing&gt;" in spread()


def test_a_body_that_is_none_is_refused() -> None:
    with pytest.raises(UserError):
        sheet_width(("hovercraft", None, Drive.RHD), Layout.STRIP)
