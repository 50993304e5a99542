"""The car unrolled, painted: every shape of the Plan with its surface, the ground before it and the yard behind."""

from __future__ import annotations

import numpy as np

from demo import finish, rooms
from demo.finish import BLUE, chrome, glass, paint_flat, paint_upright, times
from demo.flaws import draw_flaw
from demo.lettering import letters
from demo.outline import Box, Ring, area, bounds, metres, union
from demo.paint import Canvas, Colour, Field, Point, box, colour, ellipse
from demo.script import Script
from shutline.car.plan import Plan, Shape, View

STRIP = ("front", "near", "rear", "off")
ABOVE = ("over_front", "over_near", "over_rear")

_BODY = frozenset(
    {"front_wing", "rear_wing", "door", "bonnet", "boot_lid", "roof", "sill", "front_panel", "a_post", "b_post",
     "c_post", "scuttle", "arch", "valance", "sunroof", "tailgate"}
)  # fmt: skip
_BRIGHT = frozenset({"bumper", "door_mirror", "gutter", "badge", "bright_trim", "door_handle"})
_LAID_LATER = {"gutter": 1, "screen_seal": 1, "side_glass": 2, "windscreen": 2, "rear_screen": 2, "grille": 2,
               "bumper": 4, "number_plate": 5, "door_mirror": 5}  # fmt: skip
_GLASS = frozenset({"windscreen", "rear_screen", "side_glass"})


class World:
    """What the camera looks at; `paint` lays it on a canvas of any place and fineness."""

    def __init__(self, plan: Plan, script: Script) -> None:
        self.plan = plan
        self.script = script
        self.boxes = {view.key: bounds([p for ring in view.outlines for p in metres(ring)]) for view in plan.views}
        self.ground_y = self.boxes["near"][3]
        self.flaw_at = {name: self._flaw_place(name) for name in script.flaws}

    def shape_box(self, part: str, side: str | None, position: str | None, view: str | None = None) -> Box:
        """Give the box of a part's largest shape, in metres; a spot or tag gives a box round its point."""
        found = [
            s
            for s in self.plan.shapes
            if s.part == part
            and (side is None or s.side is None or s.side == side)
            and (position is None or s.position is None or s.position == position)
            and (view is None or s.view == view)
        ]
        if found:
            boxes = [bounds(metres(s.outline)) for s in found]
            return max(boxes, key=lambda b: (b[2] - b[0]) * (b[3] - b[1]))
        spots = [s for s in self.plan.spots if s.part == part and (view is None or s.view == view)]
        if spots:
            x, y = spots[0].anchor[0] / 100, spots[0].anchor[1] / 100
            return x - 0.1, y - 0.1, x + 0.1, y + 0.1
        return self.boxes[view] if view is not None else self.boxes["front"]

    def union_box(self, part: str, view: str, position: str | None = None) -> Box:
        """Give the box round all shapes of a part in a view, metres."""
        shapes = [s for s in self.plan.shapes if s.view == view and (position is None or s.position == position)]
        return union(shapes, part)

    def _flaw_place(self, name: str) -> Point:
        flaw = self.script.flaws[name]
        x0, y0, x1, y1 = self.shape_box(flaw.part, flaw.side, flaw.position, flaw.room)
        return x0 + (x1 - x0) * flaw.at[0], y0 + (y1 - y0) * flaw.at[1]

    def paint(self, canvas: Canvas, *, wiped: bool = False) -> Canvas:
        """Paint all that reaches into the canvas. `wiped` is after somebody drew a finger through the dust."""
        canvas.cover[:] = 0.0
        self._ground(canvas)
        for view in self.plan.views:
            rooms.draw_surround(canvas, view.key, self.boxes[view.key])
        for view in self.plan.views:
            if view.key == "underside" or not _meets(canvas, self.boxes[view.key], 0.6):
                continue
            if view.key in STRIP:
                self._stand(canvas, view)
            elif view.key in ABOVE:
                self._from_above(canvas, view)
            else:
                rooms.draw_room(canvas, self.plan, view, self.boxes[view.key], self.script)
        for name, flaw in self.script.flaws.items():
            x, y = self.flaw_at[name]
            if _meets(canvas, (x, y, x, y), flaw.size_m * 2):
                draw_flaw(
                    canvas, flaw, (x, y), self._within(flaw.part, flaw.side, flaw.position, flaw.room), wiped=wiped
                )
        return canvas

    def _within(self, part: str, side: str | None, position: str | None, view: str | None) -> Ring | None:
        shapes = [
            s
            for s in self.plan.shapes
            if s.part == part
            and (side is None or s.side in (None, side))
            and (position is None or s.position in (None, position))
            and (view is None or s.view == view)
        ]
        if not shapes:
            return None
        largest = max(shapes, key=lambda s: area(bounds(metres(s.outline))))
        return metres(largest.outline)

    def _ground(self, canvas: Canvas) -> None:
        wide = self.plan.width / 100
        y = self.ground_y
        canvas.fill(
            [(-1, y - 0.06), (wide + 1, y - 0.06), (wide + 1, y + 0.68), (-1, y + 0.68)],
            colour("#a39a8c"), foot=colour("#857b6d"), soft_m=0.035, grain=0.035, grain_m=0.05, seed=5,
        )  # fmt: skip
        canvas.fill(
            [(-1, y + 0.62), (wide + 1, y + 0.62), (wide + 1, 9), (-1, 9)],
            colour("#4a443d"),
            foot=colour("#26231f"),
            soft_m=0.10,
        )
        rng = np.random.default_rng(77)
        for _ in range(170):
            x, d, r = rng.uniform(0, wide), rng.uniform(0.05, 0.6), rng.uniform(0.006, 0.02)
            tone = rng.uniform(0.40, 0.62)
            spot = (tone, tone * 0.96, tone * 0.90)
            if _meets(canvas, (x, y + d, x, y + d), 0.1):
                canvas.fill(ellipse(x, y + d, r * 1.6, r * 0.6), spot, round_m=0.004, alpha=0.8)

    def _stand(self, canvas: Canvas, view: View) -> None:
        x0, _, x1, y1 = self.boxes[view.key]
        middle, half = (x0 + x1) / 2, (x1 - x0) / 2
        canvas.fill(ellipse(middle, y1 + 0.015, half * 1.02, 0.075), (0.08, 0.07, 0.065), alpha=0.80, soft_m=0.045)
        inset = 0.5 if view.key in ("near", "off") else 0.14
        under = [
            (x0 + inset * 0.6, y1 - 0.27),
            (x1 - inset * 0.6, y1 - 0.27),
            (x1 - inset * 1.1, y1 - 0.03),
            (x0 + inset * 1.1, y1 - 0.03),
        ]
        canvas.fill(under, (0.030, 0.029, 0.029), foot=(0.07, 0.065, 0.06), soft_m=0.02)
        side_on = view.key in ("near", "off")
        field = paint_upright(self.ground_y, wide=None if side_on else (x0, x1))
        shapes = [s for s in self.plan.shapes if s.view == view.key]
        for shape in sorted(shapes, key=_order):
            self._surface(canvas, shape, field)
        for shape in shapes:
            if shape.part == "wheel" and side_on:
                bx = bounds(metres(shape.outline))
                tyre = next(s for s in shapes if s.part == "tyre" and s.position == shape.position)
                tx = bounds(metres(tyre.outline))
                finish.wheel(canvas, ((bx[0] + bx[2]) / 2, (bx[1] + bx[3]) / 2), (tx[2] - tx[0]) / 2)
            if shape.part == "headlight" and not side_on:
                bx = bounds(metres(shape.outline))
                finish.headlamp(canvas, ((bx[0] + bx[2]) / 2, (bx[1] + bx[3]) / 2), (bx[2] - bx[0]) / 2)
            if shape.part == "number_plate":
                _number_plate(canvas, bounds(metres(shape.outline)), self.script.car["mark"], front=view.key == "front")
        self._small(canvas, view)
        if view.key == "rear":
            x, y = self.pipe()
            canvas.tube([(x, y - 0.01), (x, y + 0.002)], 0.062, (0.42, 0.40, 0.38), shine=0.3)
            canvas.fill(ellipse(x, y, 0.032), (0.50, 0.48, 0.46), round_m=0.004, depth=0.9)
            canvas.fill(ellipse(x, y, 0.025), (0.02, 0.02, 0.02))
            canvas.fill(ellipse(x, y + 0.012, 0.018, 0.008), (0.10, 0.09, 0.08), soft_m=0.004)

    def pipe(self) -> Point:
        """Where the tail pipe ends in the rear view, metres."""
        x0, _, x1, y1 = self.boxes["rear"]
        return x0 + (x1 - x0) * 0.745, y1 - 0.205

    def _surface(self, canvas: Canvas, shape: Shape, field: Field) -> None:  # noqa: PLR0912  one branch for each surface
        ring, holes = metres(shape.outline), [metres(h) for h in shape.holes]
        at = bounds(ring)
        if not _meets(canvas, at, 0.1):
            return
        part = shape.part
        if part in _BODY:
            canvas.fill(ring, field, holes=holes, round_m=0.012, depth=0.35, shine=0.10, gloss=0.55)
            if part == "arch":
                canvas.stroke(ring, 0.004, times(BLUE, 1.9), alpha=0.5, closed=True)
            else:
                canvas.stroke(ring, 0.0065, (0.015, 0.02, 0.035), alpha=0.85, closed=True)
                canvas.stroke(
                    [(x + 0.004, y + 0.003) for x, y in ring], 0.0022, (0.55, 0.62, 0.75), alpha=0.30, closed=True
                )
        elif part in _BRIGHT:
            canvas.fill(ring, chrome(at[1], at[3]), holes=holes, round_m=0.008, depth=0.35, shine=0.25, gloss=0.8)
            canvas.stroke(ring, 0.003, (0.06, 0.06, 0.07), alpha=0.7, closed=True)
        elif part in _GLASS:
            canvas.fill(ring, glass(at), holes=holes, gloss=0.7)
            self._seen_through(canvas, ring, at)
            canvas.stroke(ring, 0.012, (0.04, 0.04, 0.045), closed=True)
            canvas.stroke(ring, 0.003, (0.75, 0.78, 0.82), alpha=0.6, closed=True)
        elif part == "screen_seal":
            canvas.fill(ring, (0.05, 0.05, 0.055), holes=holes, round_m=0.006, depth=0.7, shine=0.15)
        elif part == "inner_arch":
            canvas.fill(ring, (0.022, 0.022, 0.022), foot=(0.05, 0.045, 0.04), holes=holes)
        elif part == "tyre":
            canvas.fill(ring, (0.10, 0.10, 0.105), holes=holes, round_m=0.02, depth=0.7)
            for u in (0.25, 0.5, 0.75):
                x = at[0] + (at[2] - at[0]) * u
                if at[2] - at[0] < 0.3:
                    canvas.stroke([(x, at[1] + 0.01), (x, at[3] - 0.01)], 0.008, (0.035, 0.035, 0.035))
        elif part == "grille":
            _grille(canvas, ring, at)
        elif part == "indicator":
            canvas.fill(ring, colour("#d9862b"), foot=colour("#8e4a10"), round_m=0.008, depth=0.5, shine=0.5, gloss=0.4)
            canvas.stroke(ring, 0.004, (0.75, 0.78, 0.80), closed=True)
        elif part == "rear_light":
            canvas.fill(ring, colour("#b3161c"), foot=colour("#6d070d"), round_m=0.008, depth=0.5, shine=0.6, gloss=0.4)
            for i in range(1, 6):
                y = at[1] + (at[3] - at[1]) * i / 6
                canvas.stroke([(at[0] + 0.008, y), (at[2] - 0.008, y)], 0.0018, (0.35, 0.02, 0.03), alpha=0.6)
            canvas.stroke(ring, 0.005, (0.75, 0.78, 0.80), closed=True)
        elif part == "spotlight":
            canvas.fill(ring, chrome(at[1], at[3]), holes=holes, round_m=0.008, depth=0.6, shine=0.3)
            canvas.fill(
                [
                    (
                        (x - at[0]) * 0.76 + at[0] + (at[2] - at[0]) * 0.12,
                        (y - at[1]) * 0.76 + at[1] + (at[3] - at[1]) * 0.12,
                    )
                    for x, y in ring
                ],
                (0.80, 0.82, 0.74),
                foot=(0.55, 0.57, 0.52),
                round_m=0.01,
                depth=-0.3,
            )
        elif part == "headlight":
            canvas.fill(ring, chrome(at[1], at[3]), holes=holes, round_m=0.008, depth=0.4, gloss=0.5)
        elif part in ("wheel", "wheel_trim", "number_plate"):
            canvas.fill(ring, (0.4, 0.41, 0.43), holes=holes)
        else:
            canvas.fill(ring, field, holes=holes, gloss=0.4)

    def _seen_through(self, canvas: Canvas, ring: Ring, at: Box) -> None:
        """Hint at seats, wheel and the far windows behind the glass."""
        x0, y0, x1, y1 = at
        far = [
            (x0 + (x1 - x0) * u, y0 + (y1 - y0) * v) for u, v in ((0.12, 0.26), (0.9, 0.24), (0.94, 0.62), (0.06, 0.64))
        ]
        canvas.fill(far, (0.52, 0.56, 0.55), alpha=0.26, soft_m=0.010, inside=ring)
        for u in (0.30, 0.74):
            x = x0 + (x1 - x0) * u
            top = y0 + (y1 - y0) * 0.52
            canvas.fill(
                box(x - 0.085, top, x + 0.085, y1 + 0.1, corner=0.06),
                (0.17, 0.11, 0.085),
                alpha=0.75,
                soft_m=0.006,
                inside=ring,
            )

    def _small(self, canvas: Canvas, view: View) -> None:
        for spot in self.plan.spots:
            if spot.view != view.key or (spot.part == "fuel_filler" and view.key == "off"):
                continue
            for line in spot.lines:
                ring = metres(line)
                at = bounds(ring)
                if spot.part in ("door_handle", "bright_trim"):
                    canvas.shade([(x, y + 0.008) for x, y in ring], -0.5, soft_m=0.006)
                    canvas.fill(ring, chrome(at[1], at[3]), round_m=0.004, depth=0.5, shine=0.5, gloss=0.5)
                elif spot.part == "coachline":
                    canvas.stroke(ring, 0.004, (0.80, 0.74, 0.58), alpha=0.8)
                elif spot.part == "fuel_filler":
                    canvas.fill(ring, (0.10, 0.15, 0.29), foot=(0.06, 0.10, 0.2), round_m=0.008, depth=0.6, shine=0.2)
                    canvas.stroke(ring, 0.004, (0.02, 0.02, 0.04), closed=True, alpha=0.8)
                elif spot.part == "badge":
                    canvas.fill(ring, (0.72, 0.12, 0.12), foot=(0.45, 0.05, 0.06), round_m=0.006, depth=0.7, shine=0.6)
                    canvas.stroke(ring, 0.004, (0.85, 0.87, 0.9), closed=True)
                elif spot.part == "wiper":
                    canvas.stroke(ring, 0.011, (0.05, 0.05, 0.055))
                    canvas.stroke(ring, 0.004, (0.5, 0.52, 0.55))
                elif spot.part == "aerial":
                    canvas.stroke(ring, 0.005, (0.7, 0.72, 0.75))

    def _from_above(self, canvas: Canvas, view: View) -> None:
        """Bonnet, roof or boot lid looked down on, with what lies round it so that no edge of the world shows."""
        x0, y0, x1, y1 = self.boxes[view.key]
        lean = 0.08 if view.key == "over_near" else 0.0
        wide = 0.22
        outer = (x0 - wide, y0 - 0.26, x1 + wide, y1 + 0.16)
        wings = box(*outer, corner=0.14)
        canvas.fill(wings, (0.30, 0.29, 0.27), soft_m=0.03)
        canvas.fill(
            box(x0 - wide * 0.72, y0 - 0.2, x1 + wide * 0.72, y1 + 0.07, corner=0.12),
            paint_flat(outer, base=times(BLUE, 0.8), lean=lean),
            round_m=0.05,
            depth=0.8,
            soft_m=0.006,
            gloss=0.5,
        )
        pane = box(x0 - 0.06, y0 - 0.24, x1 + 0.06, y0 + 0.01, corner=0.05)
        if view.key != "over_near":
            canvas.fill(pane, glass(bounds(pane)), round_m=0.01, gloss=0.7)
            canvas.stroke(pane, 0.014, (0.04, 0.04, 0.045), closed=True)
        else:
            for y in (y0 - 0.21, y1 + 0.02):
                strip = box(x0 - 0.05, y, x1 + 0.05, y + 0.14, corner=0.03)
                canvas.fill(strip, glass(bounds(strip)), gloss=0.7)
        field = paint_flat((x0, y0, x1, y1), lean=lean)
        for shape in sorted((s for s in self.plan.shapes if s.view == view.key), key=_order):
            if shape.part == "sunroof":
                continue
            ring = metres(shape.outline)
            if shape.part == "gutter":
                at = bounds(ring)
                canvas.fill(ring, chrome(at[1], at[3]), round_m=0.006, depth=0.5, gloss=0.5)
                continue
            canvas.shade([(x, y + 0.012) for x, y in ring], -0.5, soft_m=0.012)
            canvas.fill(ring, field, round_m=0.03, depth=0.45, shine=0.12, gloss=0.6)
            canvas.stroke(ring, 0.007, (0.015, 0.02, 0.035), alpha=0.9, closed=True)
        for line in view.ink:
            ring = metres(line)
            canvas.stroke(ring, 0.007, times(BLUE, 0.45), alpha=0.55, soft_m=0.004)
            canvas.stroke(
                [(x - 0.006, y - 0.003) for x, y in ring], 0.005, (0.72, 0.79, 0.88), alpha=0.30, soft_m=0.003
            )
        self._small(canvas, view)


def _order(shape: Shape) -> int:
    """Later ones are laid over earlier ones."""
    return _LAID_LATER.get(shape.part, 0)


def _meets(canvas: Canvas, at: Box, margin: float) -> bool:
    h, w = canvas.rgb.shape[:2]
    x0, y0 = canvas.origin
    x1, y1 = x0 + w / canvas.px_per_m, y0 + h / canvas.px_per_m
    return at[0] - margin < x1 and at[2] + margin > x0 and at[1] - margin < y1 and at[3] + margin > y0


def _grille(canvas: Canvas, ring: Ring, at: Box) -> None:
    x0, y0, x1, y1 = at
    canvas.fill(ring, (0.02, 0.02, 0.022), round_m=0.006, depth=0.3)
    bars: Colour = (0.78, 0.81, 0.85)
    for i in range(1, 9):
        y = y0 + (y1 - y0) * i / 9
        canvas.fill(box(x0 + 0.012, y - 0.0042, x1 - 0.012, y + 0.0042), bars, foot=(0.25, 0.26, 0.28), inside=ring)
    for i in range(1, 6):
        x = x0 + (x1 - x0) * i / 6
        canvas.fill(box(x - 0.004, y0, x + 0.004, y1), (0.62, 0.65, 0.69), foot=(0.3, 0.31, 0.33), inside=ring)
    canvas.stroke(ring, 0.013, (0.16, 0.17, 0.18), closed=True)
    canvas.stroke(ring, 0.009, (0.82, 0.85, 0.89), closed=True)
    canvas.stroke([(x + 0.001, y + 0.002) for x, y in ring], 0.003, (0.35, 0.37, 0.4), closed=True)


def _number_plate(canvas: Canvas, at: Box, mark: str, *, front: bool) -> None:
    x0, y0, x1, y1 = at
    ground = (0.93, 0.93, 0.90) if front else (0.93, 0.76, 0.16)
    canvas.fill(box(*at, corner=0.008), ground, foot=times(ground, 0.86), round_m=0.004, depth=0.5, gloss=0.2)
    canvas.stroke(box(*at, corner=0.008), 0.003, (0.1, 0.1, 0.1), closed=True)
    letters(canvas, mark, ((x0 + x1) / 2, (y0 + y1) / 2), (y1 - y0) * 0.66, (0.05, 0.05, 0.05), wide_m=(x1 - x0) * 0.9)
