"""The near side of the car, nose to the left; the off side is the same in a mirror."""

from __future__ import annotations

from dataclasses import dataclass

from shutline.car.plan.bodies import Body
from shutline.car.plan.curves import Point, Ring, box, oval, soft, trail
from shutline.car.plan.sketch import FRONT, NEAR, REAR, Face, Sketch, closed

_FAR = 480.0
"""Beyond the end of any car: half-planes are painted as tall boxes that a clip brings to size."""


@dataclass(frozen=True, slots=True)
class _Doors:
    """Where the doors begin and end: `middle` is None with one door a side."""

    front: float
    middle: float | None
    rear: float

    @property
    def first_end(self) -> float:
        return self.rear if self.middle is None else self.middle


def draw_side(body: Body, doors: int) -> Face:
    """Draw the near side."""
    sketch = Sketch("near")
    openings = _openings(body, doors)
    tub = _tub_outline(body)
    if body.top == "open":
        _open_top(sketch, body, openings)
    else:
        _greenhouse(sketch, body, openings)
    _tub(sketch, body, openings, tub)
    _wheels(sketch, body, tub)
    _small_things(sketch, body, openings)
    return sketch.finish()


def _openings(body: Body, doors: int) -> _Doors:
    arch = body.tyre_radius + 6
    front = max(body.cowl_x + 4, body.front_overhang + arch + 5)
    limit = body.rear_axle_x - arch - 5
    if doors == 2:
        return _Doors(front, None, min(limit, front + 124, body.roof_end_x - 10))
    rear = body.rear_axle_x - 4
    if body.back in {"boot", "bed"}:
        rear = min(rear, body.deck_x - 6 - body.rear_post * 0.9)
    return _Doors(front, front + (rear - front) * 0.54, rear)


def _tub_outline(body: Body) -> Ring:
    end = body.length
    upright = body.back in {"flat", "hatch", "bed"}
    tail_in = 1 if upright else 4
    square_nose = body.nose == "square"
    return soft(
        (
            (7, body.clearance + 5, 5),
            (1.5, body.clearance + 22, 8),
            (2 if square_nose else 4, body.nose_height, 5 if square_nose else 13),
            (body.cowl_x * 0.45, (body.nose_height + body.cowl_height) / 2 + 3.5, 40),
            (body.cowl_x, body.cowl_height, 12),
            ((body.cowl_x + body.deck_x) / 2, body.waist_height, 60),
            (body.deck_x, body.deck_height, 8),
            ((body.deck_x + end) / 2, (body.deck_height + body.tail_height) / 2 + 2, 30),
            (end - tail_in, body.tail_height, 7 if upright else 12),
            (end - 0.5, body.clearance + 26, 10),
            (end - 8, body.clearance + 7, 6),
            (body.rear_axle_x, body.clearance, 10),
            (body.front_overhang, body.clearance, 10),
        )
    )


def _tub(sketch: Sketch, body: Body, doors: _Doors, tub: Ring) -> None:
    sill_top = body.clearance + 12
    crown = 5.5
    sketch.paint("rear_wing", tub, side=NEAR)
    back = body.back
    if back == "boot":
        lid = (
            (body.deck_x + 2, _FAR),
            (body.deck_x + 2, body.deck_height - crown),
            (body.length - 4, body.tail_height - 7),
        )
        sketch.paint("boot_lid", (*lid, (_FAR, body.tail_height - 7), (_FAR, _FAR)), clip=tub)
    elif back in {"hatch", "flat", "bed"}:
        at = body.length - (8 if back == "hatch" else 5)
        sketch.paint("tailgate", box(at, body.clearance + 34, _FAR, body.deck_height + 9), clip=tub)
    sketch.paint("front_wing", _slab(-50, doors.front + 20), side=NEAR, clip=tub)
    bonnet = (
        (-20, _FAR),
        (-20, body.nose_height - 8),
        (4, body.nose_height - 8),
        (body.cowl_x * 0.45, (body.nose_height + body.cowl_height) / 2 - 2.5),
        (body.cowl_x - 2, body.cowl_height - crown),
        (body.cowl_x - 2, _FAR),
    )
    sketch.paint("bonnet", bonnet, clip=tub)
    # The rear leaf goes under the front one, so that they share the front one's shut line.
    if doors.middle is not None:
        leaf = _leaf(doors.middle - 9, doors.rear, sill_top)
        sketch.paint("door", leaf, side=NEAR, position=REAR, clip=tub)
    sketch.paint("door", _leaf(doors.front, doors.first_end, sill_top), side=NEAR, position=FRONT, clip=tub)
    sketch.paint(
        "sill",
        box(body.front_overhang, -10, body.rear_axle_x, sill_top),
        side=NEAR,
        clip=tub,
    )
    low_front, low_rear = body.clearance + 19, body.clearance + 22
    sketch.paint("valance", box(-20, -10, body.front_overhang - 20, low_front), side=NEAR, position=FRONT, clip=tub)
    sketch.paint("valance", box(body.rear_axle_x + 20, -10, _FAR, low_rear), side=NEAR, position=REAR, clip=tub)
    sketch.paint("headlight", oval((5.5, body.nose_height - 13), 5, 8.5), side=NEAR)
    lamp = body.tail_height - 8
    sketch.paint("rear_light", box(body.length - 9, lamp - 17, body.length + 0.4, lamp, 2.5), side=NEAR)
    sketch.paint(
        "bumper", soft(((-6, low_front, 5), (30, low_front + 1, 4), (30, low_front + 9, 4), (-6, low_front + 10, 5))),
        side=NEAR, position=FRONT,
    )  # fmt: skip
    end = body.length
    sketch.paint(
        "bumper",
        soft(
            (
                (end + 6, low_rear, 5), (end + 6, low_rear + 10, 5),
                (end - 34, low_rear + 9, 4), (end - 34, low_rear + 1, 4),
            )
        ),
        side=NEAR, position=REAR,
    )  # fmt: skip


def _slab(left: float, right: float) -> Ring:
    return box(left, -_FAR, right, _FAR)


def _leaf(left: float, right: float, floor: float) -> Ring:
    """Give a door below the waist: its shut lines lean a little and turn in at the foot."""
    return soft(((left + 1.5, floor, 7), (right - 1.5, floor, 7), (right + 0.5, _FAR, 0), (left - 0.5, _FAR, 0)))


def _wheels(sketch: Sketch, body: Body, tub: Ring) -> None:
    radius = body.tyre_radius
    for position, x in ((FRONT, body.front_overhang), (REAR, body.rear_axle_x)):
        hub = (x, radius)
        sketch.paint("arch", oval(hub, radius + 8.5), side=NEAR, position=position, clip=tub)
        sketch.paint("inner_arch", oval(hub, radius + 4.5), side=NEAR, position=position, clip=tub)
        sketch.paint("tyre", oval(hub, radius), side=NEAR, position=position)
        sketch.paint("wheel", oval(hub, radius * 0.66), side=NEAR, position=position)
        sketch.paint("wheel_trim", oval(hub, radius * 0.36), side=NEAR, position=position)
        sketch.line(closed(oval(hub, radius * 0.55)), closed(oval(hub, radius * 0.11)))


def _glass_line(body: Body) -> tuple[Point, ...]:
    """Give the top of the greenhouse from the foot of the windscreen over the roof to the deck."""
    drop = 3.5 if body.top == "fixed" else 6
    boxy = body.corners == "square"
    ease = 14 if boxy else max(12, min(26, 0.24 * (body.roof_end_x - body.roof_x)))
    return trail(
        (
            (body.cowl_x, body.cowl_height - 1, 0),
            (body.roof_x, body.height - drop, ease if not boxy else 12),
            ((body.roof_x + body.roof_end_x) / 2, body.height + (0.5 if boxy else 2.5), 60),
            (body.roof_end_x, body.height - drop, ease),
            (body.deck_x, body.deck_height - 1, 0),
        )
    )


def _lowered(line: tuple[Point, ...], by: float, middle: float) -> tuple[Point, ...]:
    """Bring a line in by about `by`, towards a point below its middle."""
    top = max(y for _, y in line)
    low = line[0][1]
    return tuple(
        (x + by * 0.55 * (1 if x < middle else -1) * ((y - low) / (top - low)), y - by * ((y - low) / (top - low)))
        for x, y in line
    )


def _greenhouse(sketch: Sketch, body: Body, doors: _Doors) -> None:
    over = _glass_line(body)
    middle = (body.roof_x + body.roof_end_x) / 2
    foot = body.waist_height - 14
    house = (*over, (body.deck_x, foot), (body.cowl_x, foot))
    soft_top = body.top == "hood"
    sketch.paint("hood" if soft_top else "roof", house, side=None)
    under = _lowered(over, 5, middle)
    if not soft_top:
        sketch.paint("gutter", (*under, (body.deck_x, foot), (body.cowl_x, foot)), side=NEAR)
        under = _lowered(over, 7.5, middle)
    daylight = (*under, (body.deck_x, foot), (body.cowl_x, foot))
    if not soft_top:
        sketch.paint("c_post", daylight, side=NEAR)
        lean_in = _rear_lean(body, doors)
        if doors.middle is not None:
            frame = _frame(doors.middle - 9, doors.rear, lean_in, body)
            sketch.paint("door", frame, side=NEAR, position=REAR, clip=daylight)
            sketch.paint("door", _slab(body.cowl_x - 20, doors.middle), side=NEAR, position=FRONT, clip=daylight)
        else:
            frame = _frame(body.cowl_x - 20, doors.rear, lean_in, body)
            sketch.paint("door", frame, side=NEAR, position=FRONT, clip=daylight)
        if body.rear_glass == "none":
            sketch.paint("rear_wing", _slab(doors.rear, body.deck_x - 12), side=NEAR, clip=daylight)
    post = doors.first_end
    sketch.paint("b_post", _slab(post - 2.5, post + 2.5), side=NEAR, clip=daylight)
    width = 6.5
    lean = (body.roof_x - body.cowl_x) / (body.height - body.cowl_height)
    sketch.paint("a_post", _lean(body, width, lean), side=NEAR, clip=daylight)
    _panes(sketch, body, doors, _lowered(over, 11 if not soft_top else 9, middle), lean)


def _rear_lean(body: Body, doors: _Doors) -> float:
    """Tell how far the rear edge of the last door's frame leans forward from the waist to the roof."""
    return max(0.0, doors.rear - (body.roof_end_x - 6))


def _frame(left: float, right: float, lean_in: float, body: Body) -> Ring:
    """Give the window frame of a door: from `left` to `right` at the waist, leaning in towards the roof."""
    low, high = body.waist_height - 2, body.height
    return ((left, low - 40), (right, low - 40), (right, low), (right - lean_in, high), (left, high))


def _lean(body: Body, width: float, lean: float) -> Ring:
    """Give the half-plane before a line that stands `width` behind the windscreen."""
    foot, top = body.cowl_height - 60, body.height + 60
    x_foot = body.cowl_x + width - 60 * lean
    x_top = body.cowl_x + width + (top - body.cowl_height) * lean
    return ((x_foot - _FAR, foot), (x_foot, foot), (x_top, top), (x_top - _FAR, top))


def _panes(sketch: Sketch, body: Body, doors: _Doors, line: tuple[Point, ...], lean: float) -> None:
    """Cut the side windows out of the greenhouse."""
    sill = body.waist_height + 3
    rise = body.height - sill
    tail = body.deck_x - body.roof_end_x
    front = body.cowl_x + 9 + lean * 3
    post = doors.first_end
    stop = body.roof_end_x - body.rear_post * 0.45 + tail * 0.45
    stop_lean = -tail / max(rise, 1) * 0.8
    frame_lean = -_rear_lean(body, doors) / (body.height - body.waist_height)
    blind = body.rear_glass == "none" or body.top == "hood"
    if doors.middle is None:
        ends = [(front, lean, post - 3.5, frame_lean)]
        last = post
    else:
        ends = [(front, lean, post - 3.5, 0.0), (post + 3.5, 0.0, doors.rear - 4, frame_lean)]
        last = doors.rear
    if not blind and stop - last > 24:
        ends.append((last + 3.5, frame_lean, stop - body.rear_post * 0.5, stop_lean))
    top = max(y for _, y in line)
    ceiling = ((-_FAR, -_FAR), (line[0][0], -_FAR), *line, (line[-1][0], -_FAR))[1:]
    for left, left_lean, right, right_lean in ends:
        pane = soft(
            (
                (left, sill, 3),
                (right, sill, 4),
                (right + right_lean * (top - sill), top + 3, 4),
                (left + left_lean * (top - sill), top + 3, 4),
            )
        )
        sketch.paint("side_glass", pane, side=NEAR, clip=ceiling)


def _open_top(sketch: Sketch, body: Body, doors: _Doors) -> None:
    """Draw a windscreen standing alone, a quarter light, and the hood folded behind the seats."""
    lean = body.screen_run / (body.height - body.cowl_height)
    foot = body.waist_height - 12
    top = body.height
    x, run = body.cowl_x, body.screen_run
    hump = soft(
        (
            (doors.rear - 8, foot, 0),
            (doors.rear - 8, body.waist_height + 7, 6),
            (doors.rear + 16, body.waist_height + 11, 14),
            (body.deck_x + 6, body.deck_height, 10),
            (body.deck_x + 6, foot, 0),
        )
    )
    sketch.paint("hood", hump)
    sketch.line(
        trail(
            (
                (doors.rear - 4, body.waist_height + 3, 0),
                (doors.rear + 14, body.waist_height + 7, 8),
                (body.deck_x - 6, body.deck_height + 1, 0),
            )
        )
    )
    post = soft(
        (
            (x, foot, 0),
            (x, body.cowl_height, 4),
            (x + run, top, 2),
            (x + run + 3.5, top - 1, 2),
            (x + 7 + lean * 2, foot, 0),
        )
    )
    glass = soft(((x + 5, body.waist_height - 4, 0), (x + run + 2.5, top - 6, 3), (x + 30, body.waist_height - 4, 3)))
    sketch.paint("side_glass", glass, side=NEAR)
    sketch.paint("a_post", post, side=NEAR)
    head = oval((doors.rear - 18, body.waist_height + 3), 7.5, 15)
    sketch.paint("seat", head, side=NEAR, position=FRONT)


def _small_things(sketch: Sketch, body: Body, doors: _Doors) -> None:
    waist, sill_top = body.waist_height, body.clearance + 12
    mirror = (doors.front + 9, waist + 2)
    sketch.paint("door_mirror", oval((mirror[0], mirror[1] + 2.5), 6, 4.2), side=NEAR)
    handle_y = waist - 14
    for end, position in ((doors.first_end, FRONT), (doors.rear, REAR)):
        if position is REAR and doors.middle is None:
            continue
        x = end - 12
        sketch.spot("door_handle", (x, handle_y), closed(box(x - 6, handle_y - 1.4, x + 6, handle_y + 1.4, 1.4)),
                    side=NEAR, position=position)  # fmt: skip
    y = waist - 7
    left, right = body.front_overhang - 8, body.rear_axle_x + 24
    sketch.spot(
        "coachline", ((doors.front + doors.first_end) / 2 - 18, y), ((left, y - 1.5), (right, y - 1.5)), side=NEAR
    )
    trim_y = sill_top + (waist - sill_top) * 0.42
    stop = body.tyre_radius + 13
    sketch.spot(
        "bright_trim",
        ((doors.front + doors.first_end) / 2 + 16, trim_y),
        closed(box(body.front_overhang + stop, trim_y - 0.8, body.rear_axle_x - stop, trim_y + 0.8)),
        side=NEAR,
    )
    sketch.spot("door_seal", (doors.first_end - 3.5, sill_top + 20), side=NEAR)
    filler = (min(body.rear_axle_x + body.tyre_radius + 20, body.length - 20), body.deck_height - 20)
    sketch.spot("fuel_filler", filler, closed(oval(filler, 5.2)), closed(oval(filler, 3)))
