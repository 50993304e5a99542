"""The Plan for a page: every part can be found by its key, and the thread may begin beside the sheet."""

from __future__ import annotations

import re

import pytest

from shutline.car.errors import UserError
from shutline.car.findings import Drive, Position, Side
from shutline.car.places import Visit
from shutline.car.plan import Layout, Pin, PinForm
from shutline.car.plan.spread import PREFIX, Body, drawn_keys, place_keys, sheet_size, sheet_svg, spread_svg

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


def test_the_thread_begins_as_far_beside_the_sheet_as_is_asked() -> None:
    width = sheet_size(SALOON, Layout.STRIP)[0]
    for reach in (0.6, 0.0):
        (left,) = re.findall(r'data-left="([^"]+)"', spread(reach=reach))
        assert float(left) == pytest.approx(34.0 - reach * width, abs=0.01)


@pytest.mark.parametrize("layout", list(Layout))
def test_the_sheet_put_into_the_figure_makes_it_whole(layout: Layout) -> None:
    whole, sheet = spread(layout=layout), sheet_svg(SALOON, layout)
    pin = Pin(1, "front_wing", Side.NEAR, None, PinForm.BAD, "1: <wing>", "#finding-1")
    given = {"pins": [pin], "visits": WALK, "length_s": 60.0, "title": "Ostrel & Pavane", "reach": 0.6}
    bare = spread_svg(SALOON, layout, **given, with_sheet=False)  # type: ignore[arg-type]
    inner = sheet.partition(">\n")[2].removesuffix("\n</svg>\n")
    assert bare.replace('<g class="sheet-here"></g>', inner) == whole


def test_words_in_the_figure_are_escaped() -> None:
    assert "Ostrel &amp; Pavane" in spread()
    assert "1: &lt;wing&gt;" in spread()


def test_a_body_that_is_none_is_refused() -> None:
    with pytest.raises(UserError):
        sheet_size(("hovercraft", None, Drive.RHD), Layout.STRIP)
