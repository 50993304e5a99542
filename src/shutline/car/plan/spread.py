"""The Plan for a page that moves with the film: each part can be found, and the thread may reach over what is beside.

The thread begins `FALL` above the sheet, and may begin far to the left of it: the page lets it overflow.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from functools import lru_cache

from shutline.car.findings import Drive, Position, Side
from shutline.car.places import Visit
from shutline.car.plan.figure import check_shading, defs, drawing, pin_marks
from shutline.car.plan.ink import FONT, INK, escaped, number
from shutline.car.plan.pins import Pin, PinLayout, place_pins
from shutline.car.plan.records import Layout, Plan
from shutline.car.plan.sheet import draw
from shutline.car.plan.thread import FALL, fallen_thread, stitches

PREFIX = "plan"
"""Put before every id of the figure, with a hyphen."""
SILENT = "silent"
"""The shading that the page may put on what nobody has spoken of; its pattern is always in the figure."""
_TIMES = 20.0

Body = tuple[str | None, int | None, Drive]
"""What chooses a Plan: body, doors, and the side of the wheel."""
Label = tuple[str, Side | None, Position | None]


def spread_svg(
    body: Body,
    layout: Layout,
    *,
    pins: Sequence[Pin],
    visits: Sequence[Visit],
    length_s: float,
    title: str,
    reach: float = 0.0,
    with_sheet: bool = True,
) -> str:
    """Write the Plan with its pins, and the thread above it, for a page.

    Every part and tag has an id: `PREFIX`, a hyphen and the key that `drawn_keys` gives. The thread is a group of the
    class ``thread`` and begins `reach` to the left of the sheet.

    Parameters
    ----------
    body : Body
    layout : Layout
    pins, visits, length_s, title
        As for `unrolled_svg`.
    reach : float
        As a share of the width of the sheet.
    with_sheet : bool
        False leaves an empty group of the class ``sheet-here`` where the sheet belongs, to be put in by whoever has
        it: `sheet_svg` is the same for all cars of one body.

    Raises
    ------
    UserError
        Body or doors are not among those allowed.
    """
    plan = _plan(body, layout)
    placed = _placed(body, layout, tuple(pins))
    thread = ""
    if visits:
        fallen = fallen_thread(plan, visits, length_s, prefix="near", reach=reach * plan.width, text_size=_TIMES)
        thread = f'<g class="thread">{fallen}</g>'
    above = FALL if visits else 0.0
    box = (0.0, -above, plan.width, placed.foot + above)
    sheet = _drawing(body, layout) if with_sheet else '<g class="sheet-here"></g>'
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" xmlns:xlink="http://www.w3.org/1999/xlink" class="plan {layout}" '
        f'viewBox="{" ".join(map(number, box))}" width="{number(box[2])}" height="{number(box[3])}" role="group" '
        f'aria-labelledby="{PREFIX}-title" font-family="{FONT}" fill="{INK}">\n'
        f'<title id="{PREFIX}-title">{escaped(title)}</title>\n{defs({"": SILENT}, PREFIX)}\n'
        f"{thread}\n{sheet}\n{stitches(plan, visits)}\n{pin_marks(placed, PREFIX)}\n</svg>\n"
    )


def sheet_svg(body: Body, layout: Layout) -> str:
    """Write the sheet alone, as a drawing of its own: the same for all cars of one body.

    Raises
    ------
    UserError
        Body or doors are not among those allowed.
    """
    width, height = sheet_size(body, layout)
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {number(width)} {number(height)}" '
        f'width="{number(width)}" height="{number(height)}" font-family="{FONT}" fill="{INK}">\n'
        f"{_drawing(body, layout)}\n</svg>\n"
    )


def shaded_svg(body: Body, layout: Layout, shading: Mapping[str, str], *, title: str, prefix: str = PREFIX) -> str:
    """Write the Plan shaded, for a page that has the key of the shadings in its own words.

    Parameters
    ----------
    body : Body
    layout : Layout
    shading : mapping
        From keys as `place_keys` gives them to ids of shadings.
    title : str
        What the figure is called.
    prefix : str
        Put before every id, so that two figures may stand in one page.

    Raises
    ------
    UserError
        Body or doors are not among those allowed, a shading is not known, or the Plan has no such place.
    """
    plan = _plan(body, layout)
    check_shading(plan, shading)
    size = (plan.width, plan.height)
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" xmlns:xlink="http://www.w3.org/1999/xlink" class="plan {layout}" '
        f'viewBox="0 0 {number(size[0])} {number(size[1])}" width="{number(size[0])}" height="{number(size[1])}" '
        f'role="group" aria-labelledby="{prefix}-title" font-family="{FONT}" fill="{INK}">\n'
        f'<title id="{prefix}-title">{escaped(title)}</title>\n{defs(shading, prefix)}\n'
        f"{drawing(plan, shading, prefix)}\n</svg>\n"
    )


def sheet_size(body: Body, layout: Layout) -> tuple[float, float]:
    """Give width and height of the sheet, drawing units; raises UserError for a body or doors that are not allowed."""
    plan = _plan(body, layout)
    return plan.width, plan.height


def drawn_keys(body: Body) -> Mapping[Label, tuple[str, ...]]:
    """Give, for each place that is drawn, the keys under which it is: one for each view, spot or tag."""
    return _drawn_keys(body)


def place_keys(body: Body, label: Label) -> tuple[tuple[str, ...], tuple[str, ...]]:
    """Tell where a place is drawn.

    Parameters
    ----------
    body : Body
    label : (part, side, position)
        As a finding has them.

    Returns
    -------
    tuple of keys, tuple of keys
        Where the place is drawn (a tag, or the part that stands in for it, where the Plan has no such place; nothing
        where a side or end was not said and there is no tag for it), and where else it may be: both sides of a part
        of which nobody said which.
    """
    plan = _plan(body, Layout.STRIP)
    part, side, position = label
    drawn = _drawn_keys(body)
    sure: dict[str, None] = {}
    for anchor in plan.place(part, side, position):
        owner = next((keys for keys in drawn.values() if anchor.key in keys), None)
        found = owner or (_pieces(plan, anchor.key, drawn))
        sure.update((key, None) for key in found)
    maybe = [
        key
        for (other, at_side, at_end), keys in drawn.items()
        if other == part and _may_be(at_side, side) and _may_be(at_end, position)
        for key in keys
        if key not in sure
    ]
    return tuple(sure), tuple(maybe)


def _may_be(there: Side | Position | None, said: Side | Position | None) -> bool:
    return there is None or said is None or said in (there, Side.BOTH, Position.BOTH)


def _pieces(plan: Plan, key: str, drawn: Mapping[Label, tuple[str, ...]]) -> tuple[str, ...]:
    """Find the drawn place that a piece of it belongs to."""
    shape = plan.find_shape(key)
    return () if shape is None else drawn.get((shape.part, shape.side, shape.position), ())


@lru_cache(maxsize=64)
def _plan(body: Body, layout: Layout) -> Plan:
    return draw(body[0], doors=body[1], drive=body[2], layout=layout)


@lru_cache(maxsize=64)
def _drawing(body: Body, layout: Layout) -> str:
    return drawing(_plan(body, layout), {}, PREFIX)


@lru_cache(maxsize=256)
def _placed(body: Body, layout: Layout, pins: tuple[Pin, ...]) -> PinLayout:
    return place_pins(_plan(body, layout), pins)


@lru_cache(maxsize=64)
def _drawn_keys(body: Body) -> Mapping[Label, tuple[str, ...]]:
    plan = _plan(body, Layout.STRIP)
    keys: dict[Label, list[str]] = {}
    seen: set[tuple[str, Label]] = set()
    for shape in plan.shapes:
        label = (shape.part, shape.side, shape.position)
        if (shape.view, label) not in seen:
            seen.add((shape.view, label))
            keys.setdefault(label, []).append(shape.key)
    for spot in plan.spots:
        keys.setdefault((spot.part, spot.side, spot.position), []).append(spot.key)
    for tag in plan.tags:
        keys.setdefault((tag.part, None, None), []).append(tag.key)
    return {label: tuple(own) for label, own in keys.items()}
