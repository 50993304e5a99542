"""The thread runs from each stretch of the film to its place."""

from __future__ import annotations

import itertools
import re
from xml.etree import ElementTree as ET

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from shutline.car.errors import UserError
from shutline.car.findings import Position, Side
from shutline.car.places import Visit
from shutline.car.plan import Layout, Pin, PinForm, Plan, draw, plan_svg, spoken_name, thread_svg, unrolled_svg
from shutline.car.vocabulary import vocabulary

SVG = "{http://www.w3.org/2000/svg}"
WALK = (
    Visit(0.0, 20.0, "grille"),
    Visit(20.0, 50.0, "front_wing", Side.NEAR),
    Visit(50.0, 61.5, "tyre", Side.BOTH, Position.FRONT),
    Visit(70.0, 120.0, "engine"),
)


def test_a_place_is_not_called_twice_by_its_end() -> None:
    assert spoken_name("front_panel", None, Position.FRONT) == "front panel"
    assert spoken_name("rear_wing", Side.OFF, Position.REAR) == "offside rear wing"
    assert spoken_name("door", Side.NEAR, Position.REAR) == "nearside rear door"


def parsed(text: str) -> ET.Element:
    return ET.fromstring(text)  # noqa: S314


def ribbons(root: ET.Element) -> list[ET.Element]:
    return [path for path in root.iter(f"{SVG}path") if path.get("data-start")]


def numbers(path: ET.Element) -> list[float]:
    return [float(n) for n in re.findall(r"-?\d+(?:\.\d+)?|-?\.\d+", path.get("d", ""))]


def end_of(path: ET.Element) -> tuple[float, float]:
    """Read where a ribbon turns: the V and H that lie between its two sides."""
    found = re.search(r"V(\S+?)H([\d.]+)V", path.get("d", ""))
    assert found is not None
    return float(found[2]), float(found[1])


@pytest.mark.parametrize("layout", Layout)
def test_every_visit_has_a_thread_that_ends_at_its_place(layout: Layout) -> None:
    plan = draw("saloon", layout=layout)
    root = parsed(unrolled_svg(plan, WALK, 120.0, title="a", desc="b"))
    down = float(re.search(r"translate\(0 (\S+)\)", ET.tostring(root, "unicode"))[1])  # type: ignore[index]

    threads = ribbons(root)
    anchors = [(v, a) for v in WALK for a in plan.place(v.part, v.side, v.position)]
    assert len(threads) == len(anchors) == 5
    for path, (visit, anchor) in zip(threads, anchors, strict=True):
        assert float(path.get("data-start", "")) == visit.start_s
        x, y = end_of(path)
        assert x == pytest.approx(anchor.point[0], abs=1)
        assert y == pytest.approx(anchor.point[1] + down, abs=0.01)


def test_a_thread_begins_at_its_own_stretch_of_the_time_axis() -> None:
    plan = draw("saloon")
    threads = ribbons(parsed(unrolled_svg(plan, WALK, 120.0, title="a", desc="b")))

    starts = [numbers(path)[0] for path in threads]
    assert starts == sorted(starts)
    # 34 units of margin on either side of the axis.
    assert starts[-1] == pytest.approx(34 + (plan.width - 68) * 70 / 120, abs=0.5)


def test_a_thread_says_its_moment_and_place() -> None:
    titles = [
        path.findtext(f"{SVG}title") for path in ribbons(parsed(thread_svg(draw(), WALK, 120.0, title="a", desc="b")))
    ]

    assert titles[1] == "0:20 nearside front wing"


@pytest.mark.parametrize(
    ("length_s", "marks"),
    [
        (45.0, {"0:00", "0:10", "0:40"}),
        (240.0, {"0:00", "1:00", "2:00", "3:00", "4:00"}),
        (480.0, {"0:00", "1:00", "7:00", "8:00"}),
        (10800.0, {"0:00", "1:00:00", "3:00:00"}),
    ],
)
@pytest.mark.parametrize("layout", Layout)
def test_minutes_are_marked_and_their_names_do_not_run_together(
    length_s: float, marks: set[str], layout: Layout
) -> None:
    plan = draw("hatchback", layout=layout)
    root = parsed(thread_svg(plan, (), length_s, title="a", desc="b"))

    names = [text for text in root.iter(f"{SVG}text") if re.fullmatch(r"[\d:]+", text.text or "")]
    assert marks <= {text.text for text in names}
    places = [float(text.get("x", "")) for text in names]
    gap = min(b - a for a, b in itertools.pairwise(places))
    assert gap > 8 * max(len(text.text or "") for text in names)


def test_the_thread_by_itself_ends_on_the_rail_of_its_view() -> None:
    plan = draw("saloon")
    threads = ribbons(parsed(thread_svg(plan, WALK, 120.0, title="a", desc="b")))

    rail = {path.get("data-part"): end_of(path)[1] for path in threads}
    assert rail["grille"] == rail["front_wing"] < rail["engine"]


def test_a_length_that_is_not_told_is_that_of_the_visits() -> None:
    for length in (0.0, -3.0, float("nan"), 100.0):
        root = parsed(thread_svg(draw(), WALK, length, title="a", desc="b"))
        assert max(max(numbers(path)[::2]) for path in ribbons(root)) <= draw().width


def test_pins_and_shading_are_those_of_the_plan() -> None:
    plan = draw("saloon")
    pin = Pin(1, "roof", None, None, PinForm.BAD)
    both = unrolled_svg(plan, WALK, 120.0, pins=[pin], shading={"bonnet": "seen"}, title="a", desc="b", prefix="p")
    alone = plan_svg(plan, pins=[pin], shading={"bonnet": "seen"}, title="a", desc="b", prefix="p")

    mark = next(line for line in alone.splitlines() if 'data-pin="1"' in line)
    assert mark in both
    assert 'id="p-key"' in both
    with pytest.raises(UserError, match="tartan"):
        unrolled_svg(plan, WALK, 120.0, shading={"bonnet": "tartan"}, title="a", desc="b")


VISITS = st.builds(
    lambda start, long, part, side, position: Visit(start, start + long, part, side, position),
    st.floats(0, 600),
    st.floats(0, 60),
    st.sampled_from(list(vocabulary().parts)),
    st.sampled_from([None, *Side]),
    st.sampled_from([None, *Position]),
)


@settings(deadline=None, max_examples=15)
@given(st.lists(VISITS, max_size=40), st.sampled_from(Layout))
def test_any_walk_is_drawn_with_ids_of_its_own_and_within_the_sheet(visits: list[Visit], layout: Layout) -> None:
    plan: Plan = draw("4x4", layout=layout)
    for svg in (
        thread_svg(plan, visits, 480.0, title="a", desc="b"),
        unrolled_svg(plan, visits, 480.0, title="a", desc="b"),
    ):
        root = parsed(svg)
        ids = [e.get("id") for e in root.iter() if e.get("id")]
        assert len(set(ids)) == len(ids)
        for path in ribbons(root):
            x, _ = end_of(path)
            assert 0 < x < plan.width
            assert numbers(path)[0] <= plan.width


def test_the_same_walk_gives_the_same_bytes() -> None:
    one, two = (unrolled_svg(draw("van"), WALK, 130.0, title="a", desc="b") for _ in range(2))

    assert one == two
