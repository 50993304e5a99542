"""The underside, seen from below with the nose to the left and the near edge at the top, hanging from the near side."""

from __future__ import annotations

from shutline.car.findings import Side
from shutline.car.plan.bodies import Body
from shutline.car.plan.curves import Ring, box, flipped, oval, soft, trail
from shutline.car.plan.sketch import FRONT, NEAR, OFF, REAR, Face, Sketch, closed


def draw_underside(body: Body) -> Face:
    """Draw the underside: y counts up from the off edge to the near edge."""
    sketch = Sketch("underside")
    long, wide = body.length, body.width - 8
    half = wide / 2
    front, rear = body.front_overhang, body.rear_axle_x
    arch = body.tyre_radius + 6
    ground = soft(
        (
            (4, 12, 22), (front, 1, 30), (rear, 1, 30), (long - 3, 10, 20),
            (long - 3, wide - 10, 20), (rear, wide - 1, 30), (front, wide - 1, 30), (4, wide - 12, 22),
        )
    )  # fmt: skip
    sketch.paint("underseal", ground)
    floor_from, floor_to = front + arch + 4, rear - arch - 2
    for side, low, high in ((OFF, 14.0, half - 11), (NEAR, half + 11, wide - 14)):
        sketch.paint("floor", box(floor_from, low, floor_to, high, 5), side=side)
        ribs = 3
        for i in range(1, ribs + 1):
            x = floor_from + (floor_to - floor_from) * i / (ribs + 1)
            sketch.line(((x, low + 7), (x, high - 6)))
    sketch.paint("boot_floor", box(rear + 30, 26, long - 12, wide - 22, 8))
    tank = box(rear + 36, half - 2, long - 17, wide - 30, 8)
    sketch.paint("fuel_tank", tank)
    sketch.line(((rear + 42, half + 10), (long - 23, half + 10)))
    _sills(sketch, ground, floor_from - 2, floor_to + 2, wide)
    _rails(sketch, body, wide)
    _front_end(sketch, front, half)
    _rear_end(sketch, rear, half, wide)
    _pipe(sketch, body, half)
    for position, x in ((FRONT, front), (REAR, rear)):
        for side, y in ((OFF, 1.0), (NEAR, wide - 1.0)):
            _corner(sketch, x, y, body.tyre_radius, side=side, front=position is FRONT)
    for side, low in ((OFF, 6.0), (NEAR, wide - 6.0)):
        for x in (floor_from + 16, floor_to - 16):
            sketch.spot("jacking_point", (x, low), closed(box(x - 4, low - 2.5, x + 4, low + 2.5, 1)), side=side)
    lever = ((front + rear) / 2 + 22, half)
    cable = trail(((lever[0] - 20, half + 3, 0), (lever[0] + 34, half + 3, 20), (rear - 8, half + 26, 0)))
    sketch.spot("handbrake", (lever[0] + 10, half + 3), cable)
    tray = (front - 4, half + 34)
    sketch.spot(
        "battery_tray", (tray[0] - 34, tray[1]), closed(box(tray[0] - 44, tray[1] - 7, tray[0] - 24, tray[1] + 7, 1.5))
    )
    return sketch.finish()


def _sills(sketch: Sketch, ground: Ring, left: float, right: float, wide: float) -> None:
    for side, ring in ((OFF, box(left, -9, right, 12)), (NEAR, box(left, wide - 12, right, wide + 9))):
        sketch.paint("sill", ring, side=side, clip=ground)


def _rails(sketch: Sketch, body: Body, wide: float) -> None:
    front, rear = body.front_overhang, body.rear_axle_x
    half = wide / 2
    low = soft(
        (
            (14, half - 36, 2), (front + 30, half - 36, 12), (front + 66, half - 32, 12), (rear - 40, half - 32, 12),
            (rear, half - 42, 12), (body.length - 12, half - 42, 2), (body.length - 12, half - 50, 2),
            (rear, half - 50, 12), (rear - 40, half - 40, 12), (front + 66, half - 40, 12), (front + 30, half - 44, 12),
            (14, half - 44, 2),
        )
    )  # fmt: skip
    sketch.paint("chassis", low, side=OFF)
    sketch.paint("chassis", flipped(low, half), side=NEAR)


def _front_end(sketch: Sketch, front: float, half: float) -> None:
    frame = soft(
        (
            (front - 15, half - 40, 5), (front + 15, half - 40, 5), (front + 15, half - 20, 8),
            (front + 9, half - 12, 8), (front + 9, half + 12, 8), (front + 15, half + 20, 8),
            (front + 15, half + 40, 5), (front - 15, half + 40, 5),
        )
    )  # fmt: skip
    sketch.paint("subframe", frame, position=FRONT)
    sketch.paint("engine", box(front - 10, half - 16, front + 32, half + 16, 8))
    sketch.paint(
        "gearbox",
        soft(
            (
                (front + 32, half - 12, 3),
                (front + 84, half - 8, 8),
                (front + 84, half + 8, 8),
                (front + 32, half + 12, 3),
            )
        ),
    )
    sketch.paint("clutch", box(front + 26, half - 14, front + 38, half + 14, 3))
    sketch.paint("steering", box(front - 24, half - 50, front - 17, half + 50, 3))
    sketch.line(((front - 4, half - 8), (front + 20, half - 8)), ((front - 4, half + 8), (front + 20, half + 8)))


def _rear_end(sketch: Sketch, rear: float, half: float, wide: float) -> None:
    sketch.paint("subframe", box(rear - 24, half - 38, rear - 15, half + 38, 3), position=REAR)
    shaft = box(rear - 200, half - 3.2, rear - 10, half + 3.2)
    axle = soft(
        (
            (rear - 5, 20, 2), (rear + 5, 20, 2), (rear + 5, half - 16, 8), (rear + 13, half - 9, 8),
            (rear + 13, half + 9, 8),
            (rear + 5, half + 16, 8), (rear + 5, wide - 20, 2), (rear - 5, wide - 20, 2), (rear - 5, half + 16, 8),
            (rear - 13, half + 9, 8), (rear - 13, half - 9, 8), (rear - 5, half - 16, 8),
        )
    )  # fmt: skip
    start = min(point[0] for point in shaft)
    regions = [region for region in sketch.regions if getattr(region.label, "part", "") == "gearbox"]
    start = max(start, max(x for x, _ in regions[0].ring) - 2)
    sketch.paint("axle", box(start, half - 3.2, rear - 10, half + 3.2))
    sketch.paint("axle", axle)
    sketch.line(closed(oval((rear, half), 8)))


def _pipe(sketch: Sketch, body: Body, half: float) -> None:
    front, rear = body.front_overhang, body.rear_axle_x
    y = half - 20
    line = (
        (front + 4, half - 13),
        (front + 36, y),
        (rear - 30, y),
        (rear - 12, y - 6),
        (rear + 26, y - 6),
        (body.length + 3, y - 6),
    )
    upper = [(x, py + 2.2, 7.0) for x, py in line]
    lower = [(x, py - 2.2, 7.0) for x, py in reversed(line)]
    sketch.paint("exhaust", soft((*upper, *lower)))
    box_from = (front + rear) / 2 - 4
    sketch.paint("exhaust", box(box_from, y - 7.5, box_from + 62, y + 7.5, 6))
    sketch.paint("exhaust", box(rear + 40, y - 13, rear + 68, y + 2, 5))
    sketch.line(((box_from + 9, y - 7), (box_from + 9, y + 7)), ((box_from + 53, y - 7), (box_from + 53, y + 7)))


def _corner(sketch: Sketch, x: float, edge: float, radius: float, *, side: Side, front: bool) -> None:
    position = FRONT if front else REAR
    inward = 1 if side is OFF else -1
    tread = sorted((edge, edge + inward * 19))
    drum = sorted((edge + inward * 19, edge + inward * 27))
    arm = sorted((edge + inward * 27, edge + inward * 44))
    sketch.paint(
        "inner_arch", box(x - radius - 5, tread[0] - 1, x + radius + 5, tread[1] + 1, 4), side=side, position=position
    )
    if front:
        wishbone = (
            (x - 17, arm[0 if inward < 0 else 1], 3),
            (x + 17, arm[0 if inward < 0 else 1], 3),
            (x + 5, arm[1 if inward < 0 else 0], 3),
            (x - 5, arm[1 if inward < 0 else 0], 3),
        )
        sketch.paint("suspension", soft(wishbone), side=side, position=position)
    else:
        sketch.paint("suspension", box(x - 46, drum[0] + 1.5, x + 40, drum[1] - 1.5, 2), side=side, position=position)
    sketch.paint("brakes", box(x - 11, drum[0], x + 11, drum[1], 2), side=side, position=position)
    sketch.paint("tyre", box(x - radius, tread[0], x + radius, tread[1], 6), side=side, position=position)
    for d in (5.0, 9.5, 14.0):
        sketch.line(((x - radius + 4, tread[0] + d), (x + radius - 4, tread[0] + d)))
