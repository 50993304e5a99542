"""The front and the rear of the car, as somebody standing before them sees them."""

from __future__ import annotations

from shutline.car.findings import Position, Side
from shutline.car.plan.bodies import Body
from shutline.car.plan.curves import Ring, box, mirrored, oval, soft
from shutline.car.plan.sketch import FRONT, NEAR, OFF, REAR, Face, Sketch, closed

_FAR = 480.0


def draw_front(body: Body) -> Face:
    """Draw the front: the near side of the car is on the right."""
    sketch = Sketch("front")
    middle = body.width / 2
    left, right = OFF, NEAR
    _tyres(sketch, body, FRONT, left, right)
    _upper(sketch, body, "a_post", left, right)
    screen = _house(body, side_in=9, top_in=8, foot=body.cowl_height - 1)
    sketch.paint("screen_seal", screen, position=FRONT)
    sketch.paint("windscreen", _house(body, side_in=12, top_in=11, foot=body.cowl_height + 2))
    tub = _tub(body, body.cowl_height)
    _halves(sketch, tub, "front_wing", left, right)
    low = body.clearance + 19
    top, nose = body.cowl_height, body.nose_height
    broad, slim = middle * 0.74, middle * 0.56
    sketch.paint(
        "bonnet",
        soft(
            (
                (middle - broad, _FAR, 0),
                (middle - broad, top, 0),
                (middle - slim, nose - 3, 14),
                (middle + slim, nose - 3, 14),
                (middle + broad, top, 0),
                (middle + broad, _FAR, 0),
            )
        ),
        clip=tub,
    )
    sketch.paint("scuttle", box(middle - broad - 2, top - 4, middle + broad + 2, _FAR), clip=tub)
    panel_top = nose - 4
    sketch.paint(
        "front_panel",
        soft(
            (
                (middle - slim, low, 0),
                (middle + slim, low, 0),
                (middle + slim, panel_top, 8),
                (middle - slim, panel_top, 8),
            )
        ),
        clip=tub,
    )
    grille = _grille(body, low + 12, panel_top - 5)
    sketch.paint("grille", grille)
    _bars(sketch, grille)
    lamp_y = (low + 12 + nose - 4) / 2 + 2
    lamp = min(10.5, (nose - low - 14) / 2.3)
    for side, sign in ((left, -1), (right, 1)):
        x = middle + sign * (middle - lamp - 8)
        sketch.paint("headlight", oval((x, lamp_y), lamp), side=side)
        sketch.line(closed(oval((x, lamp_y), lamp * 0.78)))
        sketch.paint("spotlight", oval((middle + sign * middle * 0.36, low + 12), 6), side=side)
    sketch.paint(
        "valance",
        soft(((14, -20, 0), (body.width - 14, -20, 0), (body.width - 14, low, 0), (14, low, 0))),
        position=FRONT,
        clip=tub,
    )
    for side, sign in ((left, -1), (right, 1)):
        wink = (middle + sign * (middle - 24), low - 6)
        sketch.paint(
            "indicator", box(wink[0] - 6.5, wink[1] - 3, wink[0] + 6.5, wink[1] + 3, 2.5), side=side, position=FRONT
        )
    _bumper(sketch, body, low, FRONT)
    _plate(sketch, middle, low - 3, FRONT)
    _mirrors(sketch, body, left, right)
    badge = (middle, nose + 1.5)
    sketch.spot("badge", badge, closed(oval(badge, 4, 3)))
    for side, sign in ((left, -1), (right, 1)):
        foot = (middle + sign * 30, top - 1)
        sketch.spot("wiper", (foot[0] - 10, top + 6), ((foot[0], foot[1]), (foot[0] - 26, top + 11)), side=side)
    return sketch.finish()


def draw_rear(body: Body) -> Face:
    """Draw the rear: the near side of the car is on the left."""
    sketch = Sketch("rear")
    middle = body.width / 2
    left, right = NEAR, OFF
    _tyres(sketch, body, REAR, left, right)
    lifts = body.back in {"hatch", "flat"}
    deck = body.deck_height
    low = body.clearance + 22
    tub = _tub(body, deck)
    in_by = {"boot": 16, "bed": 13}.get(body.back, 13) if body.top != "hood" else 26
    foot = deck + 5 if lifts else deck - 1
    seal = _house(body, side_in=in_by - 3, top_in=12, foot=foot)
    pane = _house(body, side_in=in_by, top_in=15, foot=foot + 3)
    if body.top == "open":
        hood = ((20, deck - 20, 0), (20, deck + 9, 9), (middle, deck + 13, 40), (body.width - 20, deck + 9, 9))
        sketch.paint("hood", soft((*hood, (body.width - 20, deck - 20, 0))))
    else:
        _upper(sketch, body, "c_post", left, right)
    if body.top != "open" and not lifts:
        sketch.paint("screen_seal", seal, position=REAR)
        sketch.paint("rear_screen", pane)
    _halves(sketch, tub, "rear_wing", left, right)
    broad = middle * 0.72
    if lifts:
        top = body.height - 8
        sketch.paint(
            "tailgate",
            soft(
                (
                    (middle - broad, low + 10, 6),
                    (middle + broad, low + 10, 6),
                    (middle + broad, deck, 10),
                    (middle + broad - body.tumblehome * 0.8, top, 9),
                    (middle - broad + body.tumblehome * 0.8, top, 9),
                    (middle - broad, deck, 10),
                )
            ),
        )
    elif body.back == "bed":
        sketch.paint("tailgate", box(9, low + 10, body.width - 9, deck - 1, 2.5))
        sketch.line(((16, low + 20), (body.width - 16, low + 20)), ((16, deck - 9), (body.width - 16, deck - 9)))
    else:
        sketch.paint(
            "boot_lid",
            soft(
                (
                    (middle - broad, low + 12, 7),
                    (middle + broad, low + 12, 7),
                    (middle + broad, _FAR, 0),
                    (middle - broad, _FAR, 0),
                )
            ),
            clip=tub,
        )
    if lifts:
        sketch.paint("screen_seal", seal, position=REAR)
        sketch.paint("rear_screen", pane)
    sketch.paint("valance", box(12, -20, body.width - 12, low), position=REAR, clip=tub)
    _bumper(sketch, body, low, REAR)
    lamp_top = min(body.tail_height - 5, low + 42)
    for side, sign in ((left, -1), (right, 1)):
        x = middle + sign * (middle - 12)
        sketch.paint("rear_light", box(x - 6, low + 13, x + 6, lamp_top - 10, 4), side=side)
        sketch.paint("indicator", box(x - 6, lamp_top - 10, x + 6, lamp_top, 4), side=side, position=REAR)
    if body.spare == "tail":
        hub = (middle + 12, deck + 2)
        sketch.paint("spare_wheel", oval(hub, body.tyre_radius * 0.86))
        sketch.line(closed(oval(hub, body.tyre_radius * 0.55)), closed(oval(hub, body.tyre_radius * 0.3)))
    if body.rear_glass == "none":
        sketch.line(((middle, low + 10), (middle, body.height - 8)))
    _plate(sketch, middle, low + (24 if body.back == "boot" else 19), REAR)
    pipe = (middle + middle * 0.5, body.clearance + 1)
    sketch.line(closed(oval(pipe, 3.4)))
    return sketch.finish()


def _tyres(sketch: Sketch, body: Body, position: Position, left: Side, right: Side) -> None:
    for side, x in ((left, 7.0), (right, body.width - 7.0 - 19.0)):
        sketch.paint("tyre", box(x, 0, x + 19, body.clearance + 24, 5), side=side, position=position)
        sketch.line(*(((x + d, 2.5), (x + d, body.clearance + 3)) for d in (5, 9.5, 14)))


def _tub(body: Body, top: float) -> Ring:
    wide, low, half = body.width, body.clearance + 3, body.width / 2
    shoulder = body.waist_height
    return soft(
        (
            (11, low, 9),
            (wide - 11, low, 9),
            (wide, low + (shoulder - low) * 0.45, 22),
            (wide - 5, shoulder - 1, 9),
            (wide - 24, top + 0.5, 16),
            (half, top + 1.5, 30),
            (24, top + 0.5, 16),
            (5, shoulder - 1, 9),
            (0, low + (shoulder - low) * 0.45, 22),
        )
    )


def _halves(sketch: Sketch, ring: Ring, part: str, left: Side, right: Side) -> None:
    """Paint what lies within a ring as one part on either side of the middle line."""
    middle = (min(x for x, _ in ring) + max(x for x, _ in ring)) / 2
    sketch.paint(part, box(-_FAR, -_FAR, middle, _FAR), side=left, clip=ring)
    sketch.paint(part, box(middle, -_FAR, _FAR, _FAR), side=right, clip=ring)


def _house(body: Body, *, side_in: float, top_in: float, foot: float) -> Ring:
    wide, half = body.width, body.width / 2
    ease = 10 if body.corners == "square" else 18
    top = body.height - top_in
    slope = body.tumblehome / (body.height - body.waist_height)
    at_foot = 6 + side_in - (body.waist_height - foot) * slope
    at_top = 6 + side_in + (top - body.waist_height) * slope
    return soft(
        (
            (at_foot, foot, 3),
            (wide - at_foot, foot, 3),
            (wide - at_top, top - 2, ease),
            (half, top + 2 * (top_in < 6), 50),
            (at_top, top - 2, ease),
        )
    )


def _upper(sketch: Sketch, body: Body, post: str, left: Side, right: Side) -> None:
    foot = body.waist_height - 20
    if body.top == "open":
        outer = _house(body, side_in=3, top_in=0, foot=foot)
        _halves(sketch, outer, post, left, right)
        sketch.paint("screen_seal", box(-_FAR, body.height - 14, _FAR, _FAR), position=FRONT, clip=outer)
        return
    outer = _house(body, side_in=0, top_in=0, foot=foot)
    whole = "hood" if body.top == "hood" else "roof"
    sketch.paint(whole, outer)
    if whole == "hood" and post == "c_post":
        sketch.line(((body.width * 0.2, body.height - 9), (body.width * 0.8, body.height - 9)))
        return
    under = box(-_FAR, -_FAR, _FAR, body.height - 11)
    half = body.width / 2
    for side, a, b in ((left, -_FAR, half), (right, half, _FAR)):
        ring = soft(((a, -_FAR, 0), (b, -_FAR, 0), (b, under[2][1], 0), (a, under[2][1], 0)))
        sketch.paint(post, ring, side=side, clip=outer)


def _grille(body: Body, low: float, top: float) -> Ring:
    middle = body.width / 2
    reach = middle * 0.44
    if body.grille == "oval":
        return oval((middle, (low + top) / 2), reach * 0.92, (top - low) / 2 + 1)
    if body.grille == "slats":
        return box(middle - reach * 0.92, low, middle + reach * 0.92, top, 2)
    if body.grille == "wide":
        return box(middle - reach, low + 4, middle + reach, top - 2, 3)
    return soft(
        (
            (middle - reach * 0.86, low, 7),
            (middle + reach * 0.86, low, 7),
            (middle + reach, top, 7),
            (middle - reach, top, 7),
        )
    )


def _bars(sketch: Sketch, grille: Ring) -> None:
    xs, ys = [p[0] for p in grille], [p[1] for p in grille]
    left, right, low, top = min(xs), max(xs), min(ys), max(ys)
    for i in range(1, 5):
        y = low + (top - low) * i / 5
        inset = 4 + 5 * abs(i - 2.5) / 2.5
        sketch.line(((left + inset, y), (right - inset, y)))


def _bumper(sketch: Sketch, body: Body, low: float, position: Position) -> None:
    ring = soft(
        (
            (-2, low + 1, 5),
            (body.width / 2, low - 0.5, 40),
            (body.width + 2, low + 1, 5),
            (body.width + 2, low + 10, 5),
            (body.width / 2, low + 9.5, 40),
            (-2, low + 10, 5),
        )
    )
    sketch.paint("bumper", ring, position=position)


def _plate(sketch: Sketch, middle: float, top: float, position: Position) -> None:
    sketch.paint("number_plate", box(middle - 26, top - 11, middle + 26, top, 1.2), position=position)


def _mirrors(sketch: Sketch, body: Body, left: Side, right: Side) -> None:
    ring = oval((2, body.waist_height + 4.5), 7.5, 4.6)
    sketch.paint("door_mirror", ring, side=left)
    sketch.paint("door_mirror", mirrored(ring, body.width / 2), side=right)
