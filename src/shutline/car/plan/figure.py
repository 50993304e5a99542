"""The Plan written as SVG: paper, shapes, shading, pins and the key below them."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from functools import lru_cache

from shutline.car.errors import Problem, UserError
from shutline.car.plan.curves import Ring
from shutline.car.plan.ink import (
    ACCENT,
    BOLD_LINE,
    FINE_INK,
    FINE_LINE,
    FONT,
    GROUND,
    INK,
    LABEL_SIZE,
    LINE,
    NAME_FONT,
    PAPER,
    PAPER_EDGE,
    TONES,
    escaped,
    line_path,
    number,
    ring_path,
    text_width,
)
from shutline.car.plan.pins import RADIUS, Pin, PinForm, PinLayout, place_pins
from shutline.car.plan.records import Plan, Shape, Spot, Tag, View
from shutline.car.plan.wording import plan_words, spoken_name

_KEY_HEIGHT = 40.0
# Writing the lines is nearly all of the work, and they are the same however the Plan is shaded.
_outline = lru_cache(maxsize=4096)(ring_path)
_ink = lru_cache(maxsize=512)(line_path)

SHADINGS: Mapping[str, tuple[str, str]] = {row["id"]: (row["word"], row["pattern"]) for row in plan_words()["shadings"]}
"""Word and pattern of each shading."""


def plan_svg(
    plan: Plan,
    *,
    pins: Sequence[Pin] = (),
    shading: Mapping[str, str] | None = None,
    title: str,
    desc: str,
    standalone: bool = True,
    prefix: str = "plan",
) -> str:
    """Write the Plan as SVG 1.1.

    Parameters
    ----------
    plan : Plan
    pins : sequence of Pin
        Numbers to set beside their places.
    shading : mapping
        From the key of a shape, spot or tag to the id of a shading of ``data/plan.toml``: ``said``, ``seen``,
        ``measured``, ``written``, ``silent``, ``in_passing``, ``left_out``, ``step_1`` to ``step_5``. A key with their
        words is drawn below.
    title, desc : str
        What the figure is called, and what it shows, for those who hear it read.
    standalone : bool
        True writes a file by itself; False leaves out the XML declaration, to stand in a page.
    prefix : str
        Put before every id, so that two figures may stand in one page.

    Raises
    ------
    UserError
        A shading is not known, or the Plan has no such shape, spot or tag.
    """
    shading = shading or {}
    check_shading(plan, shading)
    layout = place_pins(plan, pins)
    body = [defs(shading, prefix), drawing(plan, shading, prefix), pin_marks(layout, prefix)]
    foot = layout.foot
    if shading:
        body.append(shading_key(shading, prefix, at=(34.0, foot + 6)))
        foot += _KEY_HEIGHT
    return document(body, size=(plan.width, foot), title=title, desc=desc, standalone=standalone, prefix=prefix)


def document(
    body: Sequence[str], *, size: tuple[float, float], title: str, desc: str, standalone: bool, prefix: str
) -> str:
    """Close a drawing in its root, with its name and what it shows."""
    width, height = number(size[0]), number(size[1])
    head = '<?xml version="1.0" encoding="UTF-8"?>\n' if standalone else ""
    return (
        f'{head}<svg xmlns="http://www.w3.org/2000/svg" xmlns:xlink="http://www.w3.org/1999/xlink" version="1.1" '
        f'viewBox="0 0 {width} {height}" '
        f'width="{width}" height="{height}" role="img" aria-labelledby="{prefix}-title {prefix}-desc" '
        f'font-family="{FONT}" fill="{INK}">\n'
        f'<title id="{prefix}-title">{escaped(title)}</title>\n<desc id="{prefix}-desc">{escaped(desc)}</desc>\n'
        f'<rect width="{width}" height="{height}" fill="{GROUND}"/>\n'
        + "\n".join(part for part in body if part)
        + "\n</svg>\n"
    )


def drawing(plan: Plan, shading: Mapping[str, str], prefix: str) -> str:
    """Write paper, shapes, spots, tags and names."""
    parts = [_paper(plan, prefix)]
    for view in plan.views:
        shapes = _shapes(plan, view, shading, prefix)
        ink = _ink(view.ink)
        spots = "\n".join(_spot(s, shading, prefix) for s in plan.spots if s.view == view.key)
        parts.append(
            f'<g id="{prefix}-view-{view.key}" data-view="{view.key}">\n'
            f'<g stroke="{INK}" stroke-width="{LINE}" stroke-linejoin="round" fill="{TONES["plain"]}" '
            f'fill-rule="evenodd">\n{shapes}\n</g>\n'
            f'<path fill="none" pointer-events="none" stroke="{FINE_INK}" stroke-width="{FINE_LINE}" '
            f'stroke-linecap="round" d="{ink}"/>\n'
            + (f'<g fill-opacity="0" stroke="{INK}" stroke-width="{FINE_LINE}">\n{spots}\n</g>\n' if spots else "")
            + "</g>"
        )
    parts.append(_tags(plan.tags, shading, prefix))
    parts.append(_names(plan))
    return "\n".join(parts)


def _paper(plan: Plan, prefix: str) -> str:
    feet = []
    for path in plan.footpath:
        (left, y), (right, _) = path[0], path[-1]
        for start, side in ((4.0, -2.6), (19.0, 2.6)):
            feet.append(f"M{number(left + start)} {number(y + side)}H{number(right)}")
    return (
        f'<g id="{prefix}-paper" pointer-events="none" fill="none" stroke="{PAPER_EDGE}">\n'
        f'<path fill="{PAPER}" d="{ring_path(plan.paper)}"/>\n'
        f'<path stroke-dasharray="5 4" d="{line_path(plan.folds)}"/>\n'
        f'<path stroke-width="3.6" stroke-linecap="round" stroke-dasharray="5.5 24.5" d="{"".join(feet)}"/>\n</g>'
    )


def _shapes(plan: Plan, view: View, shading: Mapping[str, str], prefix: str) -> str:
    """Write one path for each part in a view, however many pieces of it show.

    The part with the longest line is written first, as the whole view: the others are painted over it and leave just
    what is its own, and the figure is a quarter smaller. The same line, drawn broad beneath, is the bold outer line.
    """
    pieces: dict[tuple[object, ...], list[Shape]] = {}
    for shape in plan.shapes:
        if shape.view == view.key:
            pieces.setdefault((shape.part, shape.side, shape.position), []).append(shape)
    rings = {label: [ring for s in own for ring in (s.outline, *s.holes)] for label, own in pieces.items()}
    ground = max(pieces, key=lambda label: sum(map(len, rings[label])))
    key = f"{prefix}-{pieces[ground][0].key}"
    written = [f'<use xlink:href="#{key}" stroke-width="{number(2 * BOLD_LINE)}" pointer-events="none"/>']
    written.append(_path(pieces[ground], view.outlines, shading, prefix))
    written.extend(_path(own, rings[label], shading, prefix) for label, own in pieces.items() if label != ground)
    return "\n".join(written)


def _path(own: Sequence[Shape], rings: Sequence[Ring], shading: Mapping[str, str], prefix: str) -> str:
    return (
        f'<path id="{prefix}-{own[0].key}"{_data(own[0])}{_fill(own, shading, prefix)} d="{_outline(tuple(rings))}">'
        f"<title>{escaped(_named(own[0]))}</title></path>"
    )


def _spot(spot: Spot, shading: Mapping[str, str], prefix: str) -> str:
    x, y = spot.anchor
    drawn = f'<path d="{line_path(spot.lines)}"/>' if spot.lines else ""
    shade = shading.get(spot.key)
    # Too small to be seen through a pattern: a disc of it beside the lines.
    disc = (
        ' r="6" stroke="none"'
        if shade is None
        else f' r="9" fill-opacity="1" fill="url(#{prefix}-{SHADINGS[shade][1]})"'
    )
    return (
        f'<g id="{prefix}-{spot.key}"{_data(spot)}><title>{escaped(_named(spot))}</title>{drawn}'
        f'<circle cx="{number(x)}" cy="{number(y)}"{disc}/></g>'
    )


def _named(item: Shape | Spot) -> str:
    return spoken_name(item.part, item.side, item.position)


def _data(item: Shape | Spot) -> str:
    side = f' data-side="{item.side}"' if item.side else ""
    position = f' data-position="{item.position}"' if item.position else ""
    return f' data-part="{item.part}"{side}{position}'


def _fill(pieces: Sequence[Shape], shading: Mapping[str, str], prefix: str) -> str:
    shade = next((shading[piece.key] for piece in pieces if piece.key in shading), None)
    if shade is not None:
        return f' fill="url(#{prefix}-{SHADINGS[shade][1]})"'
    tone = plan_words()["tones"].get(pieces[0].part, "plain")
    return "" if tone == "plain" else f' fill="{TONES[tone]}"'


def _tags(tags: Sequence[Tag], shading: Mapping[str, str], prefix: str) -> str:
    drawn = []
    for tag in tags:
        left = min(x for x, _ in tag.outline)
        x, y = tag.anchor
        shade = shading.get(tag.key)
        fill = f' fill="url(#{prefix}-{SHADINGS[shade][1]})"' if shade else ""
        drawn.append(
            f'<g id="{prefix}-{tag.key}" data-part="{tag.part}"><title>{escaped(tag.text)}</title>'
            f'<path{fill} d="{ring_path((tag.outline,))}"/>{_label_ground(tag, left) if shade else ""}'
            f'<circle cx="{number(x)}" cy="{number(y)}" r="2.6" fill="{GROUND}"/>'
            f'<text x="{number(left + 19)}" y="{number(y + 4.6)}" font-size="14" stroke="none" fill="{INK}">'
            f"{escaped(tag.text)}</text></g>"
        )
    return (
        f'<g id="{prefix}-tags" fill="{PAPER}" stroke="{FINE_INK}" stroke-width="{FINE_LINE}">\n'
        + "\n".join(drawn)
        + "\n</g>"
    )


def _label_ground(tag: Tag, left: float) -> str:
    """Clear the ground behind the words of a shaded tag."""
    top, wide = min(y for _, y in tag.outline), max(x for x, _ in tag.outline) - left - 24
    return f'<rect x="{number(left + 15)}" y="{number(top + 2)}" width="{number(wide)}" height="18" stroke="none"/>'


def _names(plan: Plan) -> str:
    names = []
    for view in plan.views:
        x, y = view.label_at
        wide = text_width(view.label, LABEL_SIZE) + 12
        names.append(
            f'<rect x="{number(x - wide / 2)}" y="{number(y - 14)}" width="{number(wide)}" height="19" fill="{PAPER}"/>'
            f'<text x="{number(x)}" y="{number(y)}">{escaped(view.label)}</text>'
        )
    note = ""
    if not plan.body_known:
        text = plan_words()["unknown_body"]["note"]
        note = (
            f'\n<text x="{number(plan.width - 34)}" y="{number(plan.height - 10)}" text-anchor="end" font-size="16" '
            f'fill="{FINE_INK}">{escaped(text)}</text>'
        )
    return (
        f'<g font-family="{NAME_FONT}" font-size="{number(LABEL_SIZE)}" font-style="italic" text-anchor="middle" '
        f'fill="{FINE_INK}" pointer-events="none">\n' + "\n".join(names) + f"\n</g>{note}"
    )


def pin_marks(layout: PinLayout, prefix: str) -> str:
    """Write the pins and their lines."""
    if not layout.places:
        return ""
    lines = "".join(
        f"M{number(leader.start[0])} {number(leader.start[1])}L{number(leader.end[0])} {number(leader.end[1])}"
        for leader in layout.leaders
    )
    dots = "".join(
        f'<circle cx="{number(x)}" cy="{number(y)}" r="2.4"/>'
        for x, y in sorted({leader.end for leader in layout.leaders})
    )
    marks = []
    seen: dict[int, int] = {}
    for place in layout.places:
        pin = place.pin
        seen[pin.number] = seen.get(pin.number, 0) + 1
        again = f"-{seen[pin.number]}" if seen[pin.number] > 1 else ""
        x, y = number(place.at[0]), number(place.at[1])
        size = 15 if pin.number < 100 else 12.5
        words = pin.title or spoken_name(pin.part, pin.side, pin.position)
        mark = (
            f'<g id="{prefix}-pin-{pin.number}{again}" data-pin="{pin.number}" data-form="{pin.form}">'
            f"<title>{escaped(words)}</title>"
            f'<circle cx="{x}" cy="{y}" r="{number(RADIUS - 0.8)}"{_PIN_LOOKS[pin.form]}/>'
            f'<text x="{x}" y="{number(place.at[1] + size * 0.345)}" font-size="{number(size)}"'
            f"{_PIN_TEXT[pin.form]}>{pin.number}</text></g>"
        )
        marks.append(f'<a xlink:href="{escaped(pin.link)}">{mark}</a>' if pin.link else mark)
    return (
        f'<g id="{prefix}-leaders" pointer-events="none"><path fill="none" stroke="{INK}" stroke-width="0.8" '
        f'd="{lines}"/>{dots}</g>\n'
        f'<g id="{prefix}-pins" text-anchor="middle" font-weight="600">\n' + "\n".join(marks) + "\n</g>"
    )


_PIN_LOOKS = {
    PinForm.BAD: f' fill="{INK}" stroke="{INK}" stroke-width="1.6"',
    PinForm.GOOD: f' fill="{PAPER}" stroke="{INK}" stroke-width="1.6"',
    PinForm.UNSURE: f' fill="{PAPER}" stroke="{INK}" stroke-width="1.8" stroke-dasharray="5 4.19"',
}
_PIN_TEXT = {PinForm.BAD: f' fill="{PAPER}"', PinForm.GOOD: "", PinForm.UNSURE: ""}


def check_shading(plan: Plan, shading: Mapping[str, str]) -> None:
    """Refuse shadings that are not known, and places that the Plan has not; raises UserError."""
    keys = {item.key for items in (plan.shapes, plan.spots, plan.tags) for item in items}
    for key, shade in shading.items():
        if key not in keys:
            allowed = "allowed: keys of the shapes, spots and tags of this Plan"
            advice = "Take the keys from the Plan of the same body and doors."
            raise UserError(Problem("unknown-place", "shading", repr(key), allowed, advice))
        if shade not in SHADINGS:
            allowed = f"allowed: {', '.join(SHADINGS)}"
            raise UserError(
                Problem("unknown-shading", f"shading of {key}", repr(shade), allowed, "Choose one of these.")
            )


def defs(shading: Mapping[str, str], prefix: str) -> str:
    """Write the patterns in use."""
    used = sorted({SHADINGS[shade][1] for shade in shading.values()})
    patterns = "".join(_pattern(name, prefix) for name in used)
    return f"<defs>{patterns}</defs>" if patterns else ""


def swatch(shade: str) -> str:
    """Draw the pattern of a shading by itself, 34 by 18, as SVG: for a key that stands beside the Plan in words.

    Raises
    ------
    KeyError
        There is no such shading.
    """
    pattern = SHADINGS[shade][1]
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 34 18" width="34" height="18" aria-hidden="true">'
        f"<defs>{_pattern(pattern, 'key')}</defs>"
        f'<rect x=".5" y=".5" width="33" height="17" fill="url(#key-{pattern})" stroke="{INK}" stroke-width="{LINE}"/>'
        "</svg>"
    )


def _pattern(name: str, prefix: str) -> str:
    size, mark = _PATTERNS[name]
    return (
        f'<pattern id="{prefix}-{name}" width="{number(size)}" height="{number(size)}" patternUnits="userSpaceOnUse">'
        f'<rect width="{number(size)}" height="{number(size)}" fill="{PAPER}"/>{mark}</pattern>'
    )


_PEN = f'stroke="{ACCENT}" stroke-width="0.8" fill="none"'
_PATTERNS: dict[str, tuple[float, str]] = {
    "slant": (8.0, f'<path {_PEN} d="M-2 2L2-2M0 8L8 0M6 10L10 6"/>'),
    "dots": (8.0, f'<circle cx="2" cy="2" r="1.1" fill="{ACCENT}"/><circle cx="6" cy="6" r="1.1" fill="{ACCENT}"/>'),
    "grid": (7.0, f'<path {_PEN} d="M0 3.5H7M3.5 0V7"/>'),
    "rules": (5.0, f'<path {_PEN} d="M0 2.5H5"/>'),
    # What is silent must be plain to see among all that is not.
    "crosses": (9.0, f'<path stroke="{INK}" stroke-width="1.5" fill="none" d="M2 2L7 7M7 2L2 7"/>'),
    "dashes": (10.0, f'<path {_PEN} d="M1 2.5H5M6 7.5H10"/>'),
    "rings": (9.0, f'<circle {_PEN} cx="4.5" cy="4.5" r="2.2"/>'),
    **{
        f"grain_{i}": (6.0, f'<circle cx="3" cy="3" r="{number(0.35 + 0.45 * i)}" fill="{ACCENT}"/>')
        for i in range(1, 6)
    },
}


def shading_key(shading: Mapping[str, str], prefix: str, *, at: tuple[float, float]) -> str:
    """Write the words for the shadings in use."""
    x, y = at
    parts = []
    for shade in (row for row in SHADINGS if row in set(shading.values())):
        word, pattern = SHADINGS[shade]
        parts.append(
            f'<rect x="{number(x)}" y="{number(y)}" width="34" height="18" fill="url(#{prefix}-{pattern})" '
            f'stroke="{INK}" stroke-width="{LINE}"/>'
            f'<text x="{number(x + 41)}" y="{number(y + 14.5)}" font-size="16">{escaped(word)}</text>'
        )
        x += 41 + text_width(word, 16) + 26
    return f'<g id="{prefix}-key">' + "".join(parts) + "</g>"
