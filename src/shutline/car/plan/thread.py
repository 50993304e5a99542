"""The thread: from each stretch of the film a ribbon runs to the place on the Plan that was being spoken of.

In the figure of both, the thread goes down behind the paper and comes out at its place as a stitch.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from shutline.car.places import Visit
from shutline.car.plan.curves import Point
from shutline.car.plan.figure import check_shading, defs, document, drawing, pin_marks, shading_key
from shutline.car.plan.ink import ACCENT, FINE_INK, INK, NAME_FONT, PAPER, PAPER_EDGE, escaped, number, text_width
from shutline.car.plan.pins import Pin, place_pins
from shutline.car.plan.records import Anchor, Plan
from shutline.car.plan.wording import plan_words, spoken_name

_AXIS_Y = 40.0
_FALL = 210.0
"""From the time axis to the paper, drawing units."""
_THICK = 1.5
FALL = _AXIS_Y + _FALL
"""How far above the sheet of a Plan the thread begins, its times included, drawing units."""
_RAIL_STEP = 30.0
_TEXT = 16.0
_STEPS_S = (10, 15, 30, 60, 120, 300, 600, 900, 1800, 3600, 7200, 14400)


@dataclass(frozen=True, slots=True)
class _Ribbon:
    visit: Visit
    anchor: Anchor
    left: float
    right: float


def thread_svg(
    plan: Plan,
    visits: Sequence[Visit],
    length_s: float,
    *,
    title: str,
    desc: str,
    standalone: bool = True,
    prefix: str = "thread",
) -> str:
    """Write the thread by itself: time above, the views of the Plan as rails below.

    Parameters
    ----------
    plan : Plan
        Its views are where the threads end: each at the same distance from the left as in the Plan.
    visits : sequence of Visit
        Where the speaker is; what reaches beyond the film is cut.
    length_s : float
        Length of the film, seconds, above 0; when it is less than the end of the last visit, that end is taken.
    title, desc, standalone, prefix
        As for `plan_svg`.
    """
    length_s = _whole_length(length_s, visits)
    bands = sorted({view.band for view in plan.views} | {tag_band(plan)})
    rails = {band: _AXIS_Y + _FALL + 14 + i * _RAIL_STEP for i, band in enumerate(bands)}
    ribbons = _ribbons(plan, visits, length_s)
    ends = {ribbon: (ribbon.anchor.point[0], rails[_band(plan, ribbon.anchor)]) for ribbon in ribbons}
    parts = [
        _axis(plan, length_s),
        _bundle(ribbons, ends, prefix, land=FALL),
        _rails(plan, rails),
        _stitches(set(ends.values())),
    ]
    foot = max(rails.values()) + _RAIL_STEP
    return document(parts, size=(plan.width, foot), title=title, desc=desc, standalone=standalone, prefix=prefix)


def unrolled_svg(
    plan: Plan,
    visits: Sequence[Visit],
    length_s: float,
    *,
    pins: Sequence[Pin] = (),
    shading: Mapping[str, str] | None = None,
    title: str,
    desc: str,
    standalone: bool = True,
    prefix: str = "unrolled",
) -> str:
    """Write the Plan with the thread above it.

    Parameters
    ----------
    plan, visits, length_s
        As for `thread_svg`.
    pins, shading, title, desc, standalone, prefix
        As for `plan_svg`.

    Raises
    ------
    UserError
        A shading is not known, or the Plan has no such shape or tag.
    """
    length_s = _whole_length(length_s, visits)
    shading = shading or {}
    check_shading(plan, shading)
    down = FALL
    ribbons = _ribbons(plan, visits, length_s)
    ends = {ribbon: (ribbon.anchor.point[0], ribbon.anchor.point[1] + down) for ribbon in ribbons}
    layout = place_pins(plan, pins)
    foot = layout.foot
    inner = [
        drawing(plan, shading, prefix),
        _stitches({ribbon.anchor.point for ribbon in ribbons}),
        pin_marks(layout, prefix),
    ]
    if shading:
        inner.append(shading_key(shading, prefix, at=(34.0, foot + 6)))
        foot += 40.0
    parts = [
        defs(shading, prefix),
        _axis(plan, length_s),
        _bundle(ribbons, ends, prefix, land=down + 8),
        f'<g transform="translate(0 {number(down)})">\n' + "\n".join(part for part in inner if part) + "\n</g>",
    ]
    return document(parts, size=(plan.width, foot + down), title=title, desc=desc, standalone=standalone, prefix=prefix)


def fallen_thread(
    plan: Plan, visits: Sequence[Visit], length_s: float, *, prefix: str, reach: float = 0.0, text_size: float = _TEXT
) -> str:
    """Write the time axis and the thread as they come down onto a Plan whose sheet begins at y 0.

    Parameters
    ----------
    plan, visits, length_s, prefix
        As for `unrolled_svg`.
    reach : float
        How far the time axis reaches out to the left of the sheet, drawing units: over what stands beside the Plan.
    text_size : float
        Of the times, drawing units.

    Returns
    -------
    str
        A group that reaches `FALL` above the sheet; to be drawn before the Plan, which hides the lower ends. It tells
        where the time axis begins and ends and how long it is, for a page that shows the present moment on it.
    """
    length_s = _whole_length(length_s, visits)
    ribbons = _ribbons(plan, visits, length_s, reach)
    ends = {ribbon: (ribbon.anchor.point[0], ribbon.anchor.point[1] + FALL) for ribbon in ribbons}
    axis = _axis(plan, length_s, reach, text_size)
    return (
        f'<g transform="translate(0 {number(-FALL)})" data-left="{number(34.0 - reach)}" '
        f'data-right="{number(plan.width - 34.0)}" data-length="{number(length_s)}">\n'
        f"{axis}\n{_bundle(ribbons, ends, prefix, land=FALL + 8)}\n</g>"
    )


def stitches(plan: Plan, visits: Sequence[Visit]) -> str:
    """Write the points where the thread comes out at its places."""
    return _stitches({anchor.point for v in visits for anchor in plan.place(v.part, v.side, v.position)})


def _whole_length(length_s: float, visits: Sequence[Visit]) -> float:
    ends = [visit.end_s for visit in visits if math.isfinite(visit.end_s)]
    length_s = length_s if math.isfinite(length_s) else 0.0
    return max([length_s, *ends, 1.0])


def tag_band(plan: Plan) -> int:
    """Give the band that the tags hang in: that of what lies above the strip, in the last row."""
    return max((view.band for view in plan.views if view.band % 3 == 0), default=0)


def _band(plan: Plan, anchor: Anchor) -> int:
    return tag_band(plan) if anchor.view == "tags" else plan.view(anchor.view).band


def _time_x(plan: Plan, at_s: float, length_s: float, reach: float) -> float:
    left, right = 34.0 - reach, plan.width - 34.0
    return left + (right - left) * min(max(at_s / length_s, 0.0), 1.0)


def _ribbons(plan: Plan, visits: Sequence[Visit], length_s: float, reach: float = 0.0) -> list[_Ribbon]:
    ribbons: list[_Ribbon] = []
    for visit in sorted(visits, key=lambda v: (v.start_s, v.end_s, v.part)):
        left = _time_x(plan, visit.start_s, length_s, reach)
        right = max(_time_x(plan, visit.end_s, length_s, reach), left + 1.6)
        ribbons.extend(
            _Ribbon(visit, anchor, left, right) for anchor in plan.place(visit.part, visit.side, visit.position)
        )
    return ribbons


def _bundle(ribbons: Sequence[_Ribbon], ends: Mapping[_Ribbon, Point], prefix: str, *, land: float) -> str:
    paths = []
    for i, ribbon in enumerate(ribbons):
        x, y = ends[ribbon]
        top = _AXIS_Y + 3
        n = number
        a, b = ribbon.left + 0.3, max(ribbon.right - 0.3, ribbon.left + 1.3)
        middle = (a + b) / 2
        # The ends of the moment are gathered first; the thread then goes half its way across by half way down.
        knot, half = top + 24, _THICK / 2
        bend = knot + (land - knot) * 0.52
        left, right = middle - half, middle + half
        line = (
            f"M{n(a)} {n(top)}C{n(a)} {n(top + 14)} {n(left)} {n(top + 9)} {n(left)} {n(knot)}"
            f"C{n(left)} {n(bend)} {n(x - half)} {n(bend)} {n(x - half)} {n(land)}V{n(y)}H{n(x + half)}V{n(land)}"
            f"C{n(x + half)} {n(bend)} {n(right)} {n(bend)} {n(right)} {n(knot)}"
            f"C{n(right)} {n(top + 9)} {n(b)} {n(top + 14)} {n(b)} {n(top)}z"
        )
        visit = ribbon.visit
        name = f"{_moment(visit.start_s)} {spoken_name(visit.part, visit.side, visit.position)}"
        paths.append(
            f'<path id="{prefix}-visit-{i + 1}" data-part="{visit.part}" data-start="{n(visit.start_s)}" '
            f'data-end="{n(visit.end_s)}" d="{line}"><title>{escaped(name)}</title></path>'
        )
    return (
        f'<g id="{prefix}-thread" fill="{ACCENT}" fill-opacity="0.8">\n' + "\n".join(paths) + "\n</g>" if paths else ""
    )


def _stitches(points: set[Point]) -> str:
    marks = "".join(f'<circle cx="{number(x)}" cy="{number(y)}" r="3.1"/>' for x, y in sorted(points))
    return f'<g fill="{ACCENT}" stroke="{PAPER}" stroke-width="1" pointer-events="none">{marks}</g>' if marks else ""


def _axis(plan: Plan, length_s: float, reach: float = 0.0, text_size: float = _TEXT) -> str:
    left, right = 34.0 - reach, plan.width - 34.0
    room = text_width(_moment(length_s), text_size) + 30
    step = next((s for s in _STEPS_S if (right - left) * s / length_s >= room), _STEPS_S[-1])
    ticks, names = [], []
    at = 0
    while at <= length_s:
        x = _time_x(plan, at, length_s, reach)
        ticks.append(f"M{number(x)} {number(_AXIS_Y)}v-9")
        names.append(f'<text x="{number(x)}" y="{number(_AXIS_Y - 15)}">{_moment(at)}</text>')
        at += step
    minute = step / 60
    fine = 60 if minute >= 2 and length_s / 60 < 120 else step / 2
    at_fine = 0.0
    while at_fine <= length_s:
        ticks.append(f"M{number(_time_x(plan, at_fine, length_s, reach))} {number(_AXIS_Y)}v-4.5")
        at_fine += fine
    return (
        f'<g pointer-events="none"><path fill="none" stroke="{INK}" stroke-width="1" '
        f'd="M{number(left)} {number(_AXIS_Y)}H{number(right)}{"".join(ticks)}"/>'
        f'<g font-size="{number(text_size)}" text-anchor="middle" fill="{INK}">{"".join(names)}</g></g>'
    )


def _moment(seconds: float) -> str:
    whole = math.floor(seconds)
    minutes, rest = divmod(whole, 60)
    hours, minutes_left = divmod(minutes, 60)
    return f"{hours}:{minutes_left:02d}:{rest:02d}" if hours else f"{minutes}:{rest:02d}"


def _rails(plan: Plan, rails: Mapping[int, float]) -> str:
    bars = []
    places = [(view.band, view.leaf[0], view.leaf[2], view.label) for view in plan.views]
    if plan.tags:
        xs = [x for tag in plan.tags for x, _ in tag.outline]
        places.append((tag_band(plan), min(xs), max(xs), plan_words()["views"]["tags"]))
    for band, left, right, label in places:
        y = rails[band]
        bars.append(
            f'<path stroke="{PAPER_EDGE}" stroke-width="1.4" d="M{number(left)} {number(y)}H{number(right)}"/>'
            f'<text x="{number((left + right) / 2)}" y="{number(y + 17)}">{escaped(label)}</text>'
        )
    return (
        f'<g font-family="{NAME_FONT}" font-size="15" font-style="italic" text-anchor="middle" fill="{FINE_INK}" '
        'pointer-events="none">' + "".join(bars) + "</g>"
    )
