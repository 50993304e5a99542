"""The insets: engine bay, boot, dashboard, cabin and headlining."""

from __future__ import annotations

from shutline.car.findings import Drive, Side
from shutline.car.plan.bodies import Body
from shutline.car.plan.curves import Ring, box, mirrored, oval, soft, trail
from shutline.car.plan.sketch import FRONT, NEAR, OFF, REAR, Face, Sketch, closed

_CARD = 21.0
"""How high a door card stands when it is laid flat."""


def draw_engine_bay(body: Body, drive: Drive) -> Face:
    """Draw the engine bay as somebody leaning over the front sees it: bulkhead at the top, near side on the right."""
    sketch = Sketch("engine_bay")
    half = body.width / 2 - 6
    tall = 118.0
    ground = soft(((half - 62, 0, 14), (half + 62, 0, 14), (half + 70, tall, 10), (half - 70, tall, 10)))
    sketch.paint("engine_bay", ground)
    wing = soft(
        (
            (half - 90, -8, 0),
            (half - 46, -8, 0),
            (half - 50, 40, 14),
            (half - 46, 80, 14),
            (half - 52, 130, 0),
            (half - 90, 130, 0),
        )
    )
    sketch.paint("inner_wing", wing, side=OFF, clip=ground)
    sketch.paint("inner_wing", mirrored(wing, half), side=NEAR, clip=ground)
    sketch.paint(
        "bulkhead",
        soft(
            (
                (half - 90, tall - 18, 0),
                (half - 20, tall - 18, 8),
                (half - 14, tall - 24, 8),
                (half + 14, tall - 24, 8),
                (half + 20, tall - 18, 8),
                (half + 90, tall - 18, 0),
                (half + 90, tall + 9, 0),
                (half - 90, tall + 9, 0),
            )
        ),
        clip=ground,
    )
    sketch.paint("cooling", box(half - 36, 5, half + 36, 17, 3))
    sketch.line(*(((half - 32 + i * 6.4, 7.5), (half - 32 + i * 6.4, 14.5)) for i in range(11)))
    sketch.paint("engine", soft(((half - 20, 26, 5), (half + 14, 26, 5), (half + 14, 92, 5), (half - 20, 92, 5))))
    sketch.paint("engine", box(half - 14, 31, half + 5, 87, 5))
    sketch.line(
        closed(box(half - 14, 31, half + 5, 87, 5)), *(closed(oval((half - 4.5, 40 + i * 13), 2.6)) for i in range(4))
    )
    sketch.line(closed(oval((half - 3, 23), 7, 4)))
    sketch.paint("charging", box(half - 33, 26, half - 21, 46, 3))
    sketch.paint("starting", box(half - 30, 70, half - 21, 92, 3))
    sketch.paint("carburettor", box(half + 15, 42, half + 28, 56, 3))
    sketch.paint("carburettor", box(half + 15, 62, half + 28, 76, 3))
    sketch.paint("air_cleaner", box(half + 27, 36, half + 40, 82, 5))
    sketch.paint("oil_pressure", oval((half - 26, 58), 5.5))
    battery = box(half - 46, 82, half - 25, 99, 2) if drive is Drive.LHD else box(half + 24, 86, half + 46, 101, 2)
    sketch.paint("battery", battery)
    left = min(x for x, _ in battery)
    top = max(y for _, y in battery)
    sketch.line(closed(oval((left + 5, top - 6), 2)), closed(oval((left + 16, top - 6), 2)))
    driver = 1 if drive is Drive.LHD else -1
    servo = (half + driver * 34, tall - 16)
    sketch.line(closed(oval(servo, 8)))
    loom = trail(((half + 40, 20, 0), (half + 45, 60, 14), (half + 42, tall - 15, 14), (half - 40, tall - 13, 0)))
    sketch.spot("wiring", (half + 43.5, 30), loom)
    sketch.spot("chassis_plate", (half, tall - 10), closed(box(half - 11, tall - 14, half + 11, tall - 6, 0.8)))
    sketch.spot("choke", (half + 21.5, 59), ((half + 21.5, 56), (half + 21.5, 62)))
    sketch.spot("idle", (half + 21.5, 49), closed(oval((half + 21.5, 49), 2.4)))
    sketch.spot("motor", (half - 17, 60))
    return sketch.finish()


def draw_boot(body: Body) -> Face:
    """Draw the boot space as somebody standing behind the car sees it, the near side on the left."""
    sketch = Sketch("boot_space")
    half = body.width / 2 - 6
    tall = 104.0
    ground = soft(((half - 66, 0, 10), (half + 66, 0, 10), (half + 60, tall, 16), (half - 60, tall, 16)))
    sketch.paint("boot", ground)
    sketch.paint("parcel_shelf", box(-40, tall - 17, body.width + 40, tall + 20), clip=ground)
    hub = (half + 22, 44)
    sketch.paint("spare_wheel", oval(hub, 29))
    sketch.line(closed(oval(hub, 19)), closed(oval(hub, 10.5)))
    sketch.paint("tool_kit", box(half - 50, 14, half - 18, 32, 5))
    sketch.line(((half - 46, 25), (half - 22, 25)), closed(box(half - 38, 32, half - 30, 35.5, 1.5)))
    sketch.line(
        trail(((half - 54, 62, 0), (half - 40, 70, 8), (half - 14, 70, 0))),
        trail(((half - 57, 8, 0), (half - 56, 50, 10), (half - 52, tall - 19, 0))),
    )
    return sketch.finish()


def draw_dash(drive: Drive) -> Face:
    """Draw the dashboard as seen from the seats, the near side on the left."""
    sketch = Sketch("dash")
    wide, low, top = 144.0, 30.0, 74.0
    mid = wide / 2
    sketch.paint("carpet", soft(((5, -19, 9), (wide - 5, -19, 9), (wide - 2, low + 10, 0), (2, low + 10, 0))))
    sketch.paint(
        "dash",
        soft(
            (
                (0, low, 6),
                (mid - 19, low - 2, 6),
                (mid - 18, 6, 5),
                (mid + 18, 6, 5),
                (mid + 19, low - 2, 6),
                (wide, low, 6),
                (wide - 3, top, 12),
                (mid, top + 5, 60),
                (3, top, 12),
            )
        ),
    )
    sketch.paint(
        "wood_trim",
        soft(
            (
                (9, low + 13.5, 4),
                (wide - 9, low + 13.5, 4),
                (wide - 11, top - 9, 8),
                (mid, top - 6, 50),
                (11, top - 9, 8),
            )
        ),
    )
    driver = 107.0
    dial_y = low + 26.5
    cluster = soft(
        (
            (driver - 27, dial_y - 12.5, 8),
            (driver + 27, dial_y - 12.5, 8),
            (driver + 25, dial_y + 14, 11),
            (driver - 25, dial_y + 14, 11),
        )
    )
    sketch.paint("instruments", cluster)
    for x in (driver - 12.5, driver + 12.5):
        sketch.line(
            closed(oval((x, dial_y + 0.5), 10)),
            closed(oval((x, dial_y + 0.5), 8)),
            ((x, dial_y + 0.5), (x - 4, dial_y + 6)),
        )
    sketch.paint("heater", box(mid - 16, 9, mid + 16, 19, 2.5))
    sketch.line(((mid - 12, 14), (mid + 12, 14)), closed(oval((mid - 5, 14), 1.8)))
    sketch.paint("stereo", box(mid - 16, 22, mid + 16, 34, 2.5))
    sketch.line(
        closed(oval((mid - 11, 28), 2.4)),
        closed(oval((mid + 11, 28), 2.4)),
        closed(box(mid - 6, 25.5, mid + 6, 30.5, 1)),
    )
    sketch.paint("switch", box(mid - 15, 37, mid + 15, 42.5, 2.5))
    sketch.line(*(((mid - 10 + i * 5, 38), (mid - 10 + i * 5, 41.4)) for i in range(5)))
    sketch.line(trail(((14, low + 4, 0), (14, low + 10, 3), (54, low + 10, 3), (54, low + 4, 0))))
    lever = (mid, -14.0)
    sketch.paint(
        "gear_lever",
        soft(
            (
                (lever[0] - 2.4, lever[1], 1),
                (lever[0] + 2.4, lever[1], 1),
                (lever[0] + 2, 0.5, 0),
                (lever[0] - 2, 0.5, 0),
            )
        ),
    )
    sketch.paint("gear_lever", oval((mid, 0.5), 5.2))
    wheel = (driver, low + 12)
    rim, inner = oval(wheel, 27), oval(wheel, 23.4)
    # A ring as one outline: out along the rim, in at its first point, back round the inside.
    sketch.paint("steering_wheel", (*rim, rim[0], inner[0], *reversed(inner[1:]), inner[0]))
    spokes = (_spoke(wheel, 24.5, 0), _spoke(wheel, 24.5, 180), _spoke(wheel, 24.5, 270))
    for spoke in spokes:
        sketch.paint("steering_wheel", spoke)
    sketch.paint("steering_wheel", oval(wheel, 6.5))
    for i, x in enumerate((driver - 20, driver - 4, driver + 12)):
        tall = 15 if i == 2 else 10
        sketch.paint("pedals", box(x - 4.4, -12, x + 4.4, -12 + tall, 2))
        sketch.line(*(((x - 2.6, -9 + d), (x + 2.6, -9 + d)) for d in range(0, tall - 4, 2)))
    face = sketch.finish()
    return face if drive is Drive.RHD else _wheel_left(face)


def _spoke(hub: tuple[float, float], reach: float, angle_deg: int) -> Ring:
    x, y = hub
    if angle_deg == 270:
        return box(x - 2.5, y - reach, x + 2.5, y)
    return box(
        min(x, x + reach * (1 if angle_deg == 0 else -1)),
        y - 2.2,
        max(x, x + reach * (1 if angle_deg == 0 else -1)),
        y + 2.2,
    )


def _wheel_left(face: Face) -> Face:
    """Turn the dashboard over for a wheel on the left; nothing on it has a side of its own."""
    return face.turned_over(face.key)


def draw_cabin(body: Body, doors: int, drive: Drive) -> Face:
    """Draw the cabin from above, its front to the left and its off side at the top, the door cards laid out flat."""
    sketch = Sketch("cabin")
    rows = 2 if doors == 4 or body.rear_seat == "bench" else 1
    long = 152.0 if rows == 2 else 100.0
    wide = 104.0
    ground = soft(((0, 0, 12), (long, 0, 14), (long, wide, 14), (0, wide, 12)))
    sketch.paint("carpet", ground)
    for side, low in ((NEAR, -_CARD), (OFF, wide)):
        first = 76.0 if rows == 2 and doors == 4 else min(94.0, long - 8)
        _card(sketch, 6, first, low, side)
        if doors == 4:
            _card(sketch, first + 1.5, long - 6, low, side)
    sketch.line(closed(box(8, wide / 2 - 8, long * 0.62, wide / 2 + 8, 5)))
    for side, y in ((NEAR, 26.0), (OFF, 78.0)):
        _seat(sketch, 29, y, side)
    if rows == 2:
        for side, low, high in ((NEAR, 7.0, wide / 2), (OFF, wide / 2, wide - 7.0)):
            sketch.paint(
                "seat",
                soft(
                    (
                        (97, low, 7),
                        (141, low, 7),
                        (141, high, 0 if side is NEAR else 7),
                        (97, high, 0 if side is NEAR else 7),
                    )
                ),
                side=side,
                position=REAR,
            )
            sketch.spot(
                "seat_belt",
                (121, (low + high) / 2 + (9 if side is OFF else -9)),
                ((137, (low + high) / 2 + (14 if side is OFF else -14)), (105, (low + high) / 2)),
                side=side,
                position=REAR,
            )
        sketch.line(trail(((129, 9, 0), (127, wide / 2, 20), (129, wide - 9, 0))))
    lever = (62.0, wide / 2)
    sketch.spot("handbrake", lever, closed(box(lever[0] - 12, lever[1] - 1.5, lever[0] + 10, lever[1] + 1.5, 1.5)))
    y = 78.0 if drive is Drive.RHD else 26.0
    sketch.line(closed(oval((20, y), 4.5, 13)), trail(((6, y, 0), (15.5, y, 0))))
    return sketch.finish()


def _card(sketch: Sketch, left: float, right: float, low: float, side: Side) -> None:
    tall = _CARD
    sketch.paint("door_card", box(left, low, right, low + tall, 4), side=side)
    middle = low + tall / 2
    pull = (left + right) / 2
    sketch.line(closed(box(pull - 2, middle - 2.2, right - 7, middle + 2.2, 2)))
    winder = (left + (right - left) * 0.28, middle)
    sketch.spot(
        "window_winder",
        winder,
        closed(oval(winder, 2.6)),
        (winder, (winder[0] + 7, winder[1] + 4)),
        side=side,
    )


def _seat(sketch: Sketch, left: float, y: float, side: Side) -> None:
    sketch.paint(
        "seat",
        soft(
            (
                (left, y - 19, 8),
                (left + 44, y - 19, 4),
                (left + 57, y - 17, 7),
                (left + 57, y + 17, 7),
                (left + 44, y + 19, 4),
                (left, y + 19, 8),
            )
        ),
        side=side,
        position=FRONT,
    )
    sketch.line(
        ((left + 41, y - 19), (left + 41, y + 19)), *(((left + 5, y + d), (left + 36, y + d)) for d in (-8, 0, 8))
    )
    out = -1 if side is NEAR else 1
    sketch.spot(
        "seat_belt",
        (left + 50, y + out * 12),
        ((left + 54, y + out * 15), (left + 38, y - out * 6), (left + 30, y - out * 17)),
        side=side,
        position=FRONT,
    )


def draw_headlining(body: Body) -> Face | None:
    """Draw the headlining as somebody lying on the seats sees it; None for a car whose soft top has none."""
    if body.top != "fixed":
        return None
    sketch = Sketch("headlining")
    sketch.paint("headlining", soft(((0, 0, 12), (50, 0, 12), (50, 104, 12), (0, 104, 12))))
    sketch.line(
        *(((x, 7), (x, 97)) for x in (20.0, 31.0, 42.0)), closed(box(4, 10, 12, 47, 3)), closed(box(4, 57, 12, 94, 3))
    )
    return sketch.finish()
