"""The views set out on the sheet: the strip in walking order, what lies above it and what hangs below."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field, replace
from functools import lru_cache
from itertools import count

from shutline.car.findings import Drive
from shutline.car.plan.bodies import Body, choose_body
from shutline.car.plan.curves import Ring, area, box
from shutline.car.plan.ends import draw_front, draw_rear
from shutline.car.plan.flaps import draw_bonnet, draw_deck, draw_roof
from shutline.car.plan.ink import LABEL_SIZE, text_width
from shutline.car.plan.insets import draw_boot, draw_cabin, draw_dash, draw_engine_bay, draw_headlining
from shutline.car.plan.overlay import Region, overlay
from shutline.car.plan.records import Layout, Plan, Shape, Spot, Tag, View
from shutline.car.plan.side import draw_side
from shutline.car.plan.sketch import Face, Label
from shutline.car.plan.underneath import draw_underside
from shutline.car.plan.wording import plan_words
from shutline.car.vocabulary import vocabulary

MARGIN = 34.0
"""White space round the sheet."""
GUTTER = 26.0
"""Between two columns of the strip."""
LANE_ABOVE = 46.0
"""Between the strip and what lies above it."""
LANE_BELOW = 84.0
"""Between the strip and what hangs below: room for the footpath and two rows of pins."""
ROW_GAP = 64.0
"""Between two rows of a folded strip."""
TAG_SIZE = 14.5
"""Of the words on the tags."""
EDGE = 13.0
"""How far the paper reaches beyond what is drawn on it."""

_MARGIN_GROUPS = ("whole", "papers")


@lru_cache(maxsize=64)
def draw(
    body: str | None = None,
    *,
    doors: int | None = None,
    drive: Drive = Drive.RHD,
    layout: Layout = Layout.STRIP,
) -> Plan:
    """Draw the Plan of a body.

    Parameters
    ----------
    body : str or None
        A name of ``data/bodies.toml``; None draws a plain saloon that is marked as a body not known.
    doors : int or None
        Side doors, a rear door counted or not; None for what is usual.
    drive : Drive
        Which side the wheel is on.
    layout : Layout
        One long strip, or folded once for a narrow screen; the shapes are the same but for where they lie.

    Raises
    ------
    UserError
        Body or doors are not among those allowed; the message names them.
    """
    numbers, leaves = choose_body(body, doors)
    sheet = _Sheet(numbers)
    columns = _columns(numbers, leaves, drive)
    rows = (columns,) if layout is Layout.STRIP else (columns[:2], columns[2:])
    top = MARGIN
    right = 0.0
    for row in rows:
        down, across = sheet.set_row(row, top)
        top = down + ROW_GAP
        right = max(right, across)
        sheet.row += 1
    sheet.name_places()
    return Plan(
        body=numbers.name,
        body_known=body is not None,
        doors=leaves,
        drive=drive,
        layout=layout,
        width=round(right + MARGIN, 2),
        height=round(top - ROW_GAP + MARGIN, 2),
        views=tuple(sheet.views),
        shapes=tuple(sheet.shapes),
        spots=tuple(sheet.spots),
        tags=tuple(sheet.tags),
        footpath=tuple(sheet.footpath),
        paper=tuple(sheet.paper),
        folds=tuple(sheet.folds),
        unsaid=plan_words()["unsaid"],
        stand_ins={part: tuple(others) for part, others in plan_words()["stand_ins"].items()},
    )


@dataclass(frozen=True, slots=True)
class _Column:
    """A face of the strip with what lies above and below it; `above` None leaves room for the tags."""

    face: Face
    above: Face | None
    below: tuple[Face, ...]
    over_x: bool = False
    """True when the face above stands at the same distance from the nose as in the face itself."""
    tags: bool = False


@lru_cache(maxsize=64)
def _columns(body: Body, doors: int, drive: Drive) -> tuple[_Column, ...]:
    near = draw_side(body, doors)
    inside = tuple(
        face for face in (draw_dash(drive), draw_cabin(body, doors, drive), draw_headlining(body)) if face is not None
    )
    return (
        _Column(draw_front(body), draw_bonnet(body), (draw_engine_bay(body, drive),)),
        _Column(near, draw_roof(body), (draw_underside(body),), over_x=True),
        _Column(draw_rear(body), draw_deck(body), (draw_boot(body),)),
        _Column(near.turned_over("off"), None, inside, tags=True),
    )


@dataclass(slots=True)
class _Sheet:
    body: Body
    views: list[View] = field(default_factory=list)
    shapes: list[Shape] = field(default_factory=list)
    spots: list[Spot] = field(default_factory=list)
    tags: list[Tag] = field(default_factory=list)
    footpath: list[Ring] = field(default_factory=list)
    paper: list[Ring] = field(default_factory=list)
    folds: list[Ring] = field(default_factory=list)
    row: int = 0

    def set_row(self, columns: Sequence[_Column], top: float) -> tuple[float, float]:
        """Set columns side by side; gives how far down and to the right they reach."""
        above = max((_height(c.above) for c in columns if c.above is not None), default=0.0)
        above = max(above, 128.0)
        ground = top + above + LANE_ABOVE + max(_height(c.face) for c in columns)
        below = ground + LANE_BELOW
        left = MARGIN
        down = ground
        starts: list[tuple[float, float]] = []
        for column in columns:
            box_left, _, box_right, _ = column.face.box()
            width = box_right - box_left
            centre = left + width / 2
            self._set(column.face, left - box_left, ground - column.face.box()[3], band=1, label_y=ground + 25)
            if column.above is not None:
                self._set_above(column, centre, left - box_left, top + above)
            if column.tags:
                # A lifting back has no lid above it: the tags have that room too.
                bare = len(columns) > 1 and columns[-2].above is None
                self._set_tags(starts[-1][0] if bare else left, left + width, top)
            down = max(down, self._set_below(column.below, left, left + width, below))
            starts.append((left, left + width))
            left += width + GUTTER
        self._lay_paper(columns, starts, (top + above + LANE_ABOVE, ground))
        self.footpath.append(((starts[0][0], ground + 20), (starts[-1][1], ground + 20)))
        return down, left - GUTTER

    def _lay_paper(
        self, columns: Sequence[_Column], starts: Sequence[tuple[float, float]], band: tuple[float, float]
    ) -> None:
        """Cut one leaf for the row: the strip with its flaps."""
        left, right = starts[0][0] - EDGE, starts[-1][1] + EDGE
        foot = max(view.label_at[1] for view in self.views) + EDGE
        strip_top, strip_foot = band[0] - EDGE, band[1] + 34
        leaves = [box(left, strip_top, right, strip_foot, 7)]
        own = {view.key: view for view in self.views}
        for column, (start, _) in zip(columns, starts, strict=True):
            if column.above is not None:
                a, b, c, _ = own[column.above.key].leaf
                leaves.append(box(a - EDGE, b - EDGE, c + EDGE, strip_top + 20, 7))
                self.folds.append(((a, strip_top), (c, strip_top)))
            hung = [own[face.key] for face in column.below]
            names = [
                view.label_at[0] + side * text_width(view.label, LABEL_SIZE) / 2 for view in hung for side in (-1, 1)
            ]
            a = min(*names, *(view.leaf[0] for view in hung))
            c = max(*names, *(view.leaf[2] for view in hung))
            # A flap that is a little broader than the strip would leave a notch: the strip grows to it.
            leaves.append(box(min(left, a - EDGE), strip_top, max(right, c + EDGE), strip_foot, 7))
            leaves.append(box(a - EDGE, strip_foot - 20, c + EDGE, foot, 7))
            self.folds.append(((a, strip_foot), (c, strip_foot)))
            if start > starts[0][0]:
                at = start - GUTTER / 2
                self.folds.append(((at, strip_top), (at, strip_foot)))
        _, outlines = overlay([Region("paper", leaf) for leaf in leaves])
        self.paper.extend(outlines)

    def _set_above(self, column: _Column, centre: float, shift: float, foot: float) -> None:
        face = column.above
        if face is None:
            return
        left, _, right, bottom = face.box()
        dx = shift if column.over_x else centre - (left + right) / 2
        self._set(face, dx, foot - bottom, band=0, label_y=foot + 20)

    def _set_below(self, faces: Sequence[Face], left: float, right: float, top: float) -> float:
        widths = [face.box()[2] - face.box()[0] for face in faces]
        gap = (right - left - sum(widths)) / max(len(faces) - 1, 1) if len(faces) > 1 else 0.0
        gap = min(gap, 40.0)
        x = left + (right - left - sum(widths) - gap * (len(faces) - 1)) / 2
        down = top
        tallest = max(_height(face) for face in faces)
        for face, width in zip(faces, widths, strict=True):
            box_left, box_top, _, _ = face.box()
            lower = (tallest - _height(face)) / 2
            self._set(face, x - box_left, top - box_top + lower, band=2, label_y=top + tallest + 22)
            x += width + gap
            down = max(down, top + tallest + 26)
        return down

    def _set(self, face: Face, dx: float, dy: float, *, band: int, label_y: float) -> None:
        dx, dy = round(dx, 2), round(dy, 2)
        left, top, right, bottom = face.box()
        label_at = (round((left + right) / 2 + dx, 2), round(label_y, 2))
        self.views.append(
            View(
                face.key,
                self._word(face.key),
                tuple(_moved(ring, dx, dy) for ring in face.outlines),
                (round(left + dx, 2), round(top + dy, 2), round(right + dx, 2), round(bottom + dy, 2)),
                label_at,
                3 * self.row + band,
                tuple(_moved(ring, dx, dy) for ring in face.ink),
            )
        )
        for label, piece, at in face.pieces:
            self.shapes.append(
                Shape(
                    key=_stem(label),
                    part=label.part,
                    side=label.side,
                    position=label.position,
                    view=face.key,
                    outline=_moved(piece.outline, dx, dy),
                    anchor=_moved((at,), dx, dy)[0],
                    holes=tuple(_moved(hole, dx, dy) for hole in piece.holes),
                )
            )
        for mark in face.marks:
            self.spots.append(
                Spot(
                    key=_stem(mark.label),
                    part=mark.label.part,
                    side=mark.label.side,
                    position=mark.label.position,
                    view=face.key,
                    anchor=_moved((mark.point,), dx, dy)[0],
                    lines=tuple(_moved(line, dx, dy) for line in mark.lines),
                )
            )

    def _set_tags(self, left: float, right: float, top: float) -> None:
        parts = [part for part in vocabulary().parts.values() if part.group in _MARGIN_GROUPS]
        x, y = left, top + 4
        group = parts[0].group
        for part in parts:
            wide = round(text_width(part.label, TAG_SIZE) + 30, 2)
            if part.group != group or (x > left and x + wide > right + EDGE):
                x, y, group = left, y + 29, part.group
            outline = _tag_outline(round(x, 2), round(y, 2), wide, 22)
            self.tags.append(Tag(part.id, part.id, part.label, (round(x + 9, 2), round(y + 11, 2)), outline))
            x += wide + 8

    def _word(self, key: str) -> str:
        words = plan_words()
        own = words["views_by_back"].get(self.body.back, {}) | words["views_by_top"].get(self.body.top, {})
        word: str = own.get(key, words["views"][key])
        return word

    def name_places(self) -> None:
        """Give every shape and spot its own key; the largest of a part has the plain one."""
        order = sorted(self.shapes, key=lambda shape: -round(abs(area(shape.outline)), 2))
        taken = {tag.key for tag in self.tags}
        names: dict[int, str] = {}
        items: tuple[Shape | Spot, ...] = (*order, *self.spots)
        for item in items:
            name = next(name for name in _names(item.key, item.view) if name not in taken)
            taken.add(name)
            names[id(item)] = name
        self.shapes = [replace(shape, key=names[id(shape)]) for shape in self.shapes]
        self.spots = [replace(spot, key=names[id(spot)]) for spot in self.spots]


def _stem(label: Label) -> str:
    return "-".join(v for v in (label.part, label.position, label.side) if v is not None)


def _names(stem: str, view: str) -> Iterator[str]:
    yield stem
    yield f"{stem}-in-{view}"
    yield from (f"{stem}-in-{view}-{i}" for i in count(2))


def _height(face: Face | None) -> float:
    if face is None:
        return 0.0
    _, top, _, bottom = face.box()
    return bottom - top


def _moved(ring: Ring, dx: float, dy: float) -> Ring:
    return tuple([(round(x + dx, 2), round(y + dy, 2)) for x, y in ring])


def _tag_outline(x: float, y: float, wide: float, tall: float) -> Ring:
    nip = tall * 0.36
    ring = (
        (x + nip, y), (x + wide, y), (x + wide, y + tall), (x + nip, y + tall), (x, y + tall - nip), (x, y + nip),
    )  # fmt: skip
    return _moved(ring, 0, 0)
