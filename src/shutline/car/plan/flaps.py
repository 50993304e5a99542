"""What lies above the strip: bonnet, roof and boot lid or load bed, each peeled up from the face below it."""

from __future__ import annotations

from shutline.car.plan.bodies import Body
from shutline.car.plan.curves import box, oval, soft, trail
from shutline.car.plan.sketch import NEAR, OFF, Face, Sketch, closed


def draw_bonnet(body: Body) -> Face:
    """Draw the bonnet from above, its nose at the bottom, above the front."""
    sketch = Sketch("over_front")
    half = body.width / 2
    broad, slim = half * 0.8, half * 0.62
    long = max(body.cowl_x - 10, 46)
    sketch.paint(
        "bonnet",
        soft(
            (
                (half - slim, 0, 16),
                (half, -4, 30),
                (half + slim, 0, 16),
                (half + broad, long, 0),
                (half - broad, long, 0),
            )
        ),
    )
    sketch.paint(
        "scuttle",
        soft(
            (
                (half - broad, long, 0),
                (half + broad, long, 0),
                (half + broad - 3, long + 9, 4),
                (half, long + 12, 40),
                (half - broad + 3, long + 9, 4),
            )
        ),
    )
    sketch.line(
        ((half, 6), (half, long - 8)),
        trail(((half - slim * 0.62, 8, 0), (half - slim * 0.7, long * 0.6, 20), (half - broad * 0.66, long - 8, 0))),
        trail(((half + slim * 0.62, 8, 0), (half + slim * 0.7, long * 0.6, 20), (half + broad * 0.66, long - 8, 0))),
        *(
            ((x, long + 3.2), (x + 10, long + 3.2), (x + 10, long + 5.6), (x, long + 5.6), (x, long + 3.2))
            for x in (half - 28, half - 14, half + 4, half + 18)
        ),
    )
    return sketch.finish()


def draw_roof(body: Body) -> Face:
    """Draw the roof from above, its front to the left, its near edge at the bottom, above the near side."""
    sketch = Sketch("over_near")
    start, end = body.roof_x, body.roof_end_x
    wide = body.width - 12 - 2 * body.tumblehome
    if body.top != "fixed":
        _hood(sketch, body)
        return sketch.finish()
    sketch.paint(
        "roof",
        soft(
            (
                (start - 5, 0, 9), (end + 5, 0, 9), (end + 1, wide / 2, 60),
                (end + 5, wide, 9), (start - 5, wide, 9), (start - 10, wide / 2, 60),
            )
        ),
    )  # fmt: skip
    sketch.paint("gutter", box(start - 2, -1.5, end + 2, 3.2, 2), side=NEAR)
    sketch.paint("gutter", box(start - 2, wide - 3.2, end + 2, wide + 1.5, 2), side=OFF)
    long = end - start
    if body.back != "bed" and body.rear_glass != "none":
        reach = min(78, long * 0.5)
        sketch.paint("sunroof", box(start + 14, wide * 0.2, start + 14 + reach, wide * 0.8, 8))
    if long > 180:
        for share in (0.62, 0.76, 0.9):
            x = start + long * share
            sketch.line(((x, 14), (x, wide - 14)))
    foot = (start + 8, wide - 9)
    sketch.spot("aerial", foot, closed(oval(foot, 2.2)), (foot, (foot[0] + 44, foot[1] - 2.5)))
    return sketch.finish()


def _hood(sketch: Sketch, body: Body) -> None:
    start, end = body.roof_x - 8, body.deck_x
    wide = body.width - 12 - 2 * body.tumblehome
    sketch.paint(
        "hood",
        soft(
            (
                (start, 0, 7), (end - 30, 0, 12), (end, wide * 0.16, 16), (end, wide * 0.84, 16),
                (end - 30, wide, 12), (start, wide, 7), (start - 5, wide / 2, 50),
            )
        ),
    )  # fmt: skip
    for share in (0.3, 0.56, 0.78):
        x = start + (end - start) * share
        sketch.line(trail(((x, 5, 0), (x + 3, wide / 2, 40), (x, wide - 5, 0))))
    foot = (start + 4, wide + 7)
    sketch.spot(
        "aerial",
        (start + 9, wide - 6),
        closed(oval((start + 9, wide - 6), 2.2)),
        ((start + 9, wide - 6), (foot[0] + 44, wide - 8)),
    )


def draw_deck(body: Body) -> Face | None:
    """Draw the boot lid or the load bed from above, its tail at the bottom, above the rear; None for a lifting back."""
    half = body.width / 2
    sketch = Sketch("over_rear")
    long = max(body.length - body.deck_x - 4, 38)
    if body.back == "boot":
        broad = half * 0.72
        sketch.paint(
            "boot_lid",
            soft(
                (
                    (half - broad, 0, 14), (half, -3, 30), (half + broad, 0, 14),
                    (half + broad + 3, long, 8), (half, long + 4, 40), (half - broad - 3, long, 8),
                )
            ),
        )  # fmt: skip
        sketch.line(trail(((half - broad * 0.72, 9, 0), (half, 6, 40), (half + broad * 0.72, 9, 0))))
        handle = (half, 12)
        sketch.line(closed(box(handle[0] - 9, handle[1] - 1.5, handle[0] + 9, handle[1] + 1.5, 1.5)))
        return sketch.finish()
    if body.back == "bed":
        sketch.paint("rear_wing", box(4, 0, 14, long, 2), side=NEAR)
        sketch.paint("rear_wing", box(body.width - 14, 0, body.width - 4, long, 2), side=OFF)
        sketch.paint("boot_floor", box(14, 0, body.width - 14, long))
        sketch.line(*(((x, 6), (x, long - 6)) for x in range(26, int(body.width) - 20, 12)))
        return sketch.finish()
    return None
