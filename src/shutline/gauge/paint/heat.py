"""Paint film drawn on the Plan: each panel by a grain that grows with its film, its figure, and the scale below."""

from __future__ import annotations

from shutline.car.plan.curves import Point, Ring, within
from shutline.car.plan.figure import defs, document, drawing
from shutline.car.plan.ink import ACCENT, INK, PAPER, escaped, number
from shutline.car.plan.records import Plan, Shape
from shutline.gauge.on_plan import BY, FigureBox, band_of, band_scale
from shutline.gauge.paint.results import PaintResult, PaintSpot
from shutline.gauge.paint.tables import settings

_SCALE_HEIGHT = 74.0
_SPOT_RADIUS = 2.6
_SIDES = frozenset({"near", "off"})
"""Views in which far back and far up are across and up the paper."""


def heat_svg(
    plan: Plan, result: PaintResult, *, title: str, desc: str = "", standalone: bool = True, prefix: str = "film"
) -> str:
    """Draw paint film on the Plan as SVG 1.1.

    A panel carries the grain of its band of the scale, its thickness in µm, and how many times the car's own finish
    that is; spots whose place was told lie where they were read, on the sides of the car, filled when they are surely
    more than their panel. Where too few panels were read to know the car's own finish there are figures and no grains.

    Parameters
    ----------
    plan : Plan
    result : PaintResult
    title, desc : str
        What the figure is called and what it shows, for those who hear it read; left out, the sentences tell it.
    standalone : bool
        False leaves out the XML declaration, to stand in a page.
    prefix : str
        Put before every id.
    """
    own = result.own
    compared = own is not None and own.known
    bands = settings().heat.bands
    shading: dict[str, str] = {}
    marks: list[str] = []
    for film in result.panels:
        panel = film.panel
        keys = plan.keys_of(panel.part, panel.side, panel.position)
        if compared:
            shading.update((key, f"step_{band_of(film.ratio.figure, bands)}") for key in keys)
        shape = plan.find_shape(plan.place(panel.part, panel.side, panel.position)[0].key) if keys else None
        if shape is not None:
            times = f"{BY}{film.ratio.figure:.1f}" if compared else ""
            x, y = shape.anchor
            box = FigureBox(f"{film.film_um.figure:.0f}", times)
            marks.append(box.drawn((x, y - 0.25 if times else y - 1.25), sentence=film.sentence))
            marks.extend(
                _spot(spot, shape, thick=local >= 0.5)
                for spot, local in zip(film.spots, film.spot_local, strict=True)
                if shape.view in _SIDES and spot.along is not None and spot.up is not None
            )
    body = [
        defs({**shading, **{f"scale {i}": f"step_{i}" for i in range(1, len(bands) + 2)}}, prefix) if compared else "",
        drawing(plan, shading, prefix),
        f'<g id="{prefix}-figures" text-anchor="middle" pointer-events="none">\n' + "\n".join(marks) + "\n</g>",
        _scale(result, plan.height, prefix, compared=compared),
    ]
    told = desc or " ".join([own.sentence if own else "", *(film.sentence for film in result.panels)]).strip()
    return document(
        body,
        size=(plan.width, plan.height + _SCALE_HEIGHT),
        title=title,
        desc=told or "No paint film was read.",
        standalone=standalone,
        prefix=prefix,
    )


def _spot(spot: PaintSpot, shape: Shape, *, thick: bool) -> str:
    left, top, right, bottom = _box(shape.outline)
    # The nearside is seen with the nose to the left, the offside with the nose to the right.
    along = spot.along if shape.view == "near" else 1 - (spot.along or 0.0)
    wanted = (left + (right - left) * (along or 0.0), bottom - (bottom - top) * (spot.up or 0.0))
    x, y = _drawn_in(shape, wanted)
    fill = INK if thick else PAPER
    return (
        f'<circle cx="{number(x)}" cy="{number(y)}" r="{number(_SPOT_RADIUS)}" fill="{fill}" stroke="{INK}" '
        f'stroke-width="0.8"><title>{escaped(f"{spot.mean_um:.0f} µm")}</title></circle>'
    )


def _drawn_in(shape: Shape, wanted: Point) -> Point:
    """Bring a point that may lie beyond the shape, or on its glass, towards the middle until it lies on it."""
    ax, ay = shape.anchor
    for step in range(9, 0, -1):
        point = ax + (wanted[0] - ax) * step / 10, ay + (wanted[1] - ay) * step / 10
        if within(point, shape.outline) and not any(within(point, hole) for hole in shape.holes):
            return point
    return ax, ay


def _box(outline: Ring) -> tuple[float, float, float, float]:
    xs, ys = zip(*outline, strict=True)
    return min(xs), min(ys), max(xs), max(ys)


def _scale(result: PaintResult, top: float, prefix: str, *, compared: bool) -> str:
    own = result.own
    if own is None or not compared:
        words = "µm on each panel; too few panels were read to know this car's own finish" if own else "no paint film"
        return f'<text x="34" y="{number(top + 22)}" font-size="16">{escaped(words)}</text>'
    heading = f"µm, and times this car's own finish of {own.figure_um.figure:.0f} µm"
    bands = settings().heat.bands
    scale, (x, y) = band_scale(bands, own.figure_um.figure, "µm", heading=heading, at=(34.0, top), prefix=prefix)
    x += 34
    spot = (
        f'<circle cx="{number(x)}" cy="{number(y + 15)}" r="{_SPOT_RADIUS}" fill="{INK}" stroke="{ACCENT}" '
        f'stroke-width="0.8"/><text x="{number(x + 9)}" y="{number(y + 20)}" font-size="14">a spot with more</text>'
    )
    return f'<g id="{prefix}-scale">{scale}{spot}</g>'
