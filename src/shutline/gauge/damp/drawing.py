"""Damp drawn on the Plan's views of the inside: each place with its figure, each part by the grain of its wettest."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

from shutline.car.plan.curves import Point, Ring, within
from shutline.car.plan.figure import SHADINGS, defs, document, drawing
from shutline.car.plan.ink import ACCENT, FINE_INK, FINE_LINE, INK, PAPER, escaped, number, ring_path
from shutline.car.plan.records import Plan, Shape
from shutline.gauge.damp.results import DampMeter, Dampness, DampResult
from shutline.gauge.damp.tables import settings
from shutline.gauge.on_plan import BY, FigureBox, band_of, band_scale
from shutline.gauge.readings.quantities import quantity

_WIDTH = 860.0
"""Of the drawing: narrower than the Plan, so that the figures can be read on paper."""
_EDGE, _LABEL = 14.0, 14.0
_MARGIN = 4.0
_NOSE_LEFT = frozenset({"cabin", "headlining", "underside"})
"""Views that lie with the nose to the left and the nearside below; the others have the front above, nearside left."""
_ALONG = {"front": 0.12, "rear": 0.72}
_ACROSS = {"off": 0.1, "near": 0.9}


def damp_svg(
    plan: Plan, result: DampResult, *, title: str, desc: str = "", standalone: bool = True, prefix: str = "damp"
) -> str:
    """Draw damp on the inside of the Plan as SVG 1.1; empty where no place that was read is on it.

    Of several meters the one that read the most places is drawn, for their figures do not compare. A part carries the
    grain of what it reads, or a piece about each place where it was told where on the part that is; each place has a
    dot, its figure, and how many times the car's driest places that is. Where too few places were read to know those
    there are figures alone.

    Parameters
    ----------
    plan : Plan
    result : DampResult
    title, desc : str
        What the figure is called and what it shows, for those who hear it read; left out, the sentences tell it.
    standalone : bool
        False leaves out the XML declaration, to stand in a page.
    prefix : str
        Put before every id.
    """
    meter = max(result.meters, key=lambda one: len(one.places), default=None)
    drawn = [] if meter is None else list(_drawn(plan, meter))
    if meter is None or not drawn:
        return ""
    views = set(settings().drawing.views)
    inside = replace(
        plan,
        body_known=True,
        views=tuple(view for view in plan.views if view.key in views),
        shapes=tuple(shape for shape in plan.shapes if shape.view in views),
        spots=tuple(spot for spot in plan.spots if spot.view in views),
        tags=(),
        folds=(),
        footpath=(),
    )
    left, top, right, low = _box_of(inside)
    scale = _WIDTH / (right - left)
    high = (low - top) * scale
    shading = _shading(inside, drawn) if meter.known else {}
    grains = {f"scale {i}": f"step_{i}" for i in range(1, len(settings().drawing.bands) + 2)} if meter.known else {}
    pieces = "\n".join(_pieces(drawn, prefix)) if meter.known else ""
    points = [((one.point[0] - left) * scale, (one.point[1] - top) * scale) for one in drawn]
    marks = _marks([one.place for one in drawn], points, compared=meter.known, edges=(_WIDTH, high))
    told, foot = _scale(meter, result, high, prefix, enlarged=scale)
    body = [
        defs({**shading, **grains}, prefix),
        (
            f'<svg x="0" y="0" width="{number(_WIDTH)}" height="{number(high)}" '
            f'viewBox="{number(left)} {number(top)} {number(right - left)} {number(low - top)}">\n'
            f"{drawing(inside, shading, prefix)}\n{pieces}\n</svg>"
        ),
        f'<g id="{prefix}-figures" text-anchor="middle" pointer-events="none">\n' + "\n".join(marks) + "\n</g>",
        told,
    ]
    words = desc or " ".join([meter.sentence, *(one.sentence for one in meter.places)])
    return document(body, size=(_WIDTH, foot), title=title, desc=words, standalone=standalone, prefix=prefix)


@dataclass(frozen=True, slots=True)
class _Drawn:
    """A place with the shape it lies on and the point it was read at; `told` where somebody said where on the part."""

    place: Dampness
    shape: Shape
    point: Point
    told: bool

    @property
    def grain(self) -> str:
        """The shading of its band."""
        return f"step_{band_of(self.place.ratio.figure, settings().drawing.bands)}"


def _drawn(plan: Plan, meter: DampMeter) -> Iterator[_Drawn]:
    """Give the places that the drawn views have a shape for, each with its point as far as that was told."""
    rules = settings().drawing
    for one in meter.places:
        place = one.place
        for part in (rules.shown_on.get(place.part, place.part), place.part):
            shapes = [
                plan.find_shape(anchor.key) for anchor in plan.place(part, place.side, place.position) if anchor.exact
            ]
            own = next((shape for shape in shapes if shape is not None and shape.view in rules.views), None)
            if own is None:
                continue
            # A side that the part drawn does not have says where on it: of a floor, drawn as carpet.
            side = [place.side.value] if place.side is not None and own.side is None else []
            end = [place.position.value] if place.position is not None and own.position is None else []
            point = _point(own, [*place.words.split(), *side, *end])
            yield _Drawn(one, own, own.anchor if point is None else point, told=point is not None)
            break


def _point(shape: Shape, words: Sequence[str]) -> Point | None:
    """Give where on a shape words such as ``near front`` are; None where they say nothing."""
    along = next((_ALONG[word] for word in words if word in _ALONG), None)
    across = next((_ACROSS[word] for word in words if word in _ACROSS), None)
    if along is None and across is None:
        return None
    left, top, right, low = _bounds([shape.outline])
    if shape.view in _NOSE_LEFT:
        x, y = along, across
    else:
        x, y = None if across is None else 1 - across, along
    ax, ay = shape.anchor
    wanted = left + (0.5 if x is None else x) * (right - left), top + (0.5 if y is None else y) * (low - top)
    # Words are coarser than the drawing: what falls beside the part is brought onto it.
    for step in range(10, 0, -1):
        point = ax + (wanted[0] - ax) * step / 10, ay + (wanted[1] - ay) * step / 10
        if within(point, shape.outline):
            return point
    return ax, ay


def _shading(plan: Plan, drawn: Sequence[_Drawn]) -> dict[str, str]:
    """Give each part that was read as a whole the grain of its wettest figure, in the views that are drawn."""
    most: dict[str, _Drawn] = {}
    for one in drawn:
        if one.told:
            continue
        for shape in plan.shapes:
            if (shape.part, shape.side, shape.position) == (one.shape.part, one.shape.side, one.shape.position):
                before = most.get(shape.key)
                if before is None or before.place.ratio.figure < one.place.ratio.figure:
                    most[shape.key] = one
    return {key: one.grain for key, one in most.items()}


def _pieces(drawn: Sequence[_Drawn], prefix: str) -> Iterator[str]:
    """Write the grain about each place of which it was told where on its part it is, cut off at the part's edge."""
    for number_, one in enumerate(drawn, 1):
        if not one.told:
            continue
        x, y = one.point
        name = f"{prefix}-about-{number_}"
        edge = ring_path((one.shape.outline, *one.shape.holes))
        yield (
            f'<clipPath id="{name}"><path clip-rule="evenodd" d="{edge}"/></clipPath>'
            f'<circle clip-path="url(#{name})" cx="{number(x)}" cy="{number(y)}" '
            f'r="{number(settings().drawing.about)}" fill="url(#{prefix}-{SHADINGS[one.grain][1]})" '
            f'stroke="{FINE_INK}" stroke-width="{FINE_LINE}" stroke-dasharray="2 2"/>'
        )


def _marks(
    places: Sequence[Dampness], points: Sequence[Point], *, compared: bool, edges: tuple[float, float]
) -> list[str]:
    """Write a dot for each place and its figures beside it, none of them over another."""
    taken: list[tuple[float, float, float, float]] = [(x - 3, y - 3, x + 3, y + 3) for x, y in points]
    dots, boxes = [], []
    for one, (x, y) in zip(places, points, strict=True):
        box = FigureBox(f"{one.mean:.0f}", f"{BY}{one.ratio.figure:.1f}" if compared else "")
        wide, high = box.size
        middle = _free((x, y), (wide + _MARGIN, high + _MARGIN), taken, edges)
        taken.append((middle[0] - wide / 2, middle[1] - high / 2, middle[0] + wide / 2, middle[1] + high / 2))
        dots.append(
            f'<path stroke="{INK}" stroke-width="0.8" d="M{number(x)} {number(y)}L{number(middle[0])} '
            f'{number(middle[1])}"/><circle cx="{number(x)}" cy="{number(y)}" r="2.6" '
            f'fill="{INK if one.told == "damper" else PAPER}" stroke="{INK}" stroke-width="0.8"/>'
        )
        boxes.append(box.drawn(middle, sentence=one.sentence))
    return dots + boxes


def _free(
    about: Point,
    size: tuple[float, float],
    taken: Sequence[tuple[float, float, float, float]],
    edges: tuple[float, float],
) -> Point:
    """Give the nearest middle beside a point where a box of this size lies over nothing that is there."""
    wide, high = size
    for ring in range(1, 12):
        for across, down in ((0, -1), (0, 1), (1, 0), (-1, 0), (1, -1), (-1, -1), (1, 1), (-1, 1)):
            x = about[0] + across * (wide / 2 + 4) * (1 + 0.5 * (ring - 1))
            y = about[1] + down * (high / 2 + 4) * (1 + 0.5 * (ring - 1))
            left, top, right, low = x - wide / 2, y - high / 2, x + wide / 2, y + high / 2
            if left < 0 or top < 0 or right > edges[0] or low > edges[1]:
                continue
            if not any(left < r and right > a and top < b and low > t for a, t, r, b in taken):
                return x, y
    return about


def _scale(meter: DampMeter, result: DampResult, top: float, prefix: str, *, enlarged: float) -> tuple[str, float]:
    """Write what the figures are and the scale of the grains; and where it ends."""
    unit = next((one.label for one in quantity("moisture").units if one.id == meter.unit), meter.unit)
    others = len(result.meters) - 1
    more = (
        ""
        if not others
        else "; another meter is not drawn"
        if others == 1
        else f"; {others} other meters are not drawn"
    )
    if not meter.known:
        words = f"{unit} at each place; too few places were read to know this car's driest ones{more}"
        return f'<text x="34" y="{number(top + 22)}" font-size="16">{escaped(words)}</text>', top + 36
    own = meter.ground.figure
    shown = unit if meter.unit == "%" else ""
    heading = f"{unit}, and times this car's driest places of {own:.0f}{f' {shown}' if shown else ''}{more}"
    scale, (x, y) = band_scale(
        settings().drawing.bands,
        own,
        shown,
        heading=heading,
        at=(34.0, top + 8),
        prefix=prefix,
        enlarged=enlarged,
        width=_WIDTH - 20,
    )
    dot = (
        f'<circle cx="{number(x + 34)}" cy="{number(y + 15)}" r="2.6" fill="{INK}" stroke="{ACCENT}" '
        f'stroke-width="0.8"/><text x="{number(x + 43)}" y="{number(y + 20)}" font-size="14">surely damper</text>'
    )
    return f'<g id="{prefix}-scale">{scale}{dot}</g>', y + 48


def _box_of(plan: Plan) -> tuple[float, float, float, float]:
    """Give the edges about the views, their names below them included."""
    left, top, right, low = _bounds([ring for view in plan.views for ring in view.outlines])
    names = [view.label_at for view in plan.views]
    return (
        min(left, *(x - 50 for x, _ in names)) - _EDGE,
        top - _EDGE,
        max(right, *(x + 50 for x, _ in names)) + _EDGE,
        max(low, *(y + _LABEL for _, y in names)) + _EDGE / 2,
    )


def _bounds(rings: Sequence[Ring]) -> tuple[float, float, float, float]:
    xs, ys = zip(*(point for ring in rings for point in ring), strict=True)
    return min(xs), min(ys), max(xs), max(ys)
