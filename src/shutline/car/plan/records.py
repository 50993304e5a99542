"""The Plan as a value: views, named shapes, spots, tags, and the places they give."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from enum import StrEnum
from functools import cached_property

from shutline.car.findings import Drive, Position, Side
from shutline.car.plan.curves import Point, Ring, area
from shutline.car.vocabulary import Part, vocabulary


class Layout(StrEnum):
    """How the strip lies on the sheet."""

    STRIP = "strip"
    """One long strip: for paper and a desk."""
    FOLDED = "folded"
    """Folded once behind the rear corner into two rows, for a narrow screen."""


@dataclass(frozen=True, slots=True)
class Shape:
    """A part, or what one view shows of it, as a named area.

    Parameters
    ----------
    key : str
        Unique in its Plan; stays the same for the same part, side and position on every body that has it.
    part : str
        Id of the vocabulary.
    side : Side or None
        `Side.NEAR` or `Side.OFF`; None on the middle line.
    position : Position or None
        `Position.FRONT` or `Position.REAR`; None for a part that occurs at one end only.
    view : str
        Key of the `View` it lies in.
    outline : tuple of (x, y)
        Flattened, drawing units, y down; not repeating its first point.
    holes : tuple of rings
        Areas inside the outline that belong to other shapes.
    anchor : (x, y)
        A point well inside.
    """

    key: str
    part: str
    side: Side | None
    position: Position | None
    view: str
    outline: Ring
    anchor: Point
    holes: tuple[Ring, ...] = ()


@dataclass(frozen=True, slots=True)
class Spot:
    """A small thing that lies on a shape: a point, and how it is drawn (`lines` may be empty)."""

    key: str
    part: str
    side: Side | None
    position: Position | None
    view: str
    anchor: Point
    lines: tuple[Ring, ...] = ()


@dataclass(frozen=True, slots=True)
class Tag:
    """A label in the margin for what has no one place on the car: the paintwork as a whole, the papers."""

    key: str
    part: str
    text: str
    anchor: Point
    outline: Ring


@dataclass(frozen=True, slots=True)
class View:
    """One face of the car: its outer lines (shapes cover them once), its leaf of paper, its inner ink."""

    key: str
    label: str
    outlines: tuple[Ring, ...]
    leaf: tuple[float, float, float, float]
    """Left, top, right and bottom of the paper it lies on."""
    label_at: Point
    band: int = 1
    """0 above the strip, 1 in it, 2 below it; 3 more for the second row of a folded strip."""
    ink: tuple[Ring, ...] = ()
    """Fine open lines: creases, ribs, seams."""


@dataclass(frozen=True, slots=True)
class Anchor:
    """A place of the Plan that a pin or a thread may go to.

    `key` names the shape, spot or tag; `exact` is False where the Plan has no such place, or more than one and nobody
    said which, and the nearest thing to it is given.
    """

    point: Point
    key: str
    view: str
    exact: bool


@dataclass(frozen=True)
class Plan:
    """The car unrolled: `width` by `height` drawing units, y down; 1 unit is 1 cm of the car."""

    body: str
    body_known: bool
    doors: int
    drive: Drive
    layout: Layout
    width: float
    height: float
    views: tuple[View, ...]
    shapes: tuple[Shape, ...]
    spots: tuple[Spot, ...]
    tags: tuple[Tag, ...]
    footpath: tuple[Ring, ...]
    """The line that somebody walks, front to rear and round again, one piece for each row of the strip."""
    paper: tuple[Ring, ...] = ()
    """Outlines of the paper that the strip and its flaps are drawn on."""
    folds: tuple[Ring, ...] = ()
    """Where the paper would be folded round the car."""
    unsaid: Mapping[str, str] = field(repr=False, hash=False, default_factory=dict)
    """Where a part goes of which nobody said which side or end: by part or by group, a tag or a view."""
    stand_ins: Mapping[str, tuple[str, ...]] = field(repr=False, hash=False, default_factory=dict)

    def view(self, key: str) -> View:
        """Give a view by its key; raises KeyError for one that this body does not have."""
        return self._views[key]

    def shape(self, key: str) -> Shape:
        """Give a shape by its key; raises KeyError for an unknown one."""
        return self._shapes[key]

    def find_shape(self, key: str) -> Shape | None:
        """Give a shape by its key, None for a spot, a tag or an unknown key."""
        return self._shapes.get(key)

    def place(self, part: str, side: Side | None = None, position: Position | None = None) -> tuple[Anchor, ...]:
        """Find where on the Plan a part is.

        Parameters
        ----------
        part : str
            Id of the vocabulary.
        side : Side or None
            `Side.BOTH` gives both places; None on a sided part gives the name of a view, or a tag, not exact: the
            Plan never takes a side that nobody spoke of.
        position : Position or None
            Likewise, for front and rear.

        Returns
        -------
        tuple of Anchor
            At least one; more for ``both``. A part that this body does not have is sent to what stands in for it.

        Raises
        ------
        KeyError
            `part` is not in the vocabulary.
        """
        asked = vocabulary().parts[part]
        sides = (Side.NEAR, Side.OFF) if side is Side.BOTH else (side,)
        positions = (Position.FRONT, Position.REAR) if position is Position.BOTH else (position,)
        anchors: dict[str, Anchor] = {}
        for one_position in positions:
            for one_side in sides:
                anchor = self._one_place(asked, one_side, one_position)
                anchors.setdefault(anchor.key, anchor)
        return tuple(anchors.values())

    def keys_of(self, part: str, side: Side | None = None, position: Position | None = None) -> tuple[str, ...]:
        """Give the keys of all shapes and tags that show a place, for shading: in every view, and every piece.

        Only what was asked for: a stand-in, or a side that nobody spoke of, gives the tag it goes to or nothing.

        Raises
        ------
        KeyError
            `part` is not in the vocabulary.
        """
        keys: dict[str, None] = {}
        for anchor in self.place(part, side, position):
            if anchor.exact:
                own = next((p for p in self._by_part.get(part, ()) if p.key == anchor.key), None)
                keys.update((s.key, None) for s in self.shapes if own and _label(s) == _label(own))
            if anchor.view == "tags":
                keys[anchor.key] = None
        return tuple(keys)

    def _one_place(self, asked: Part, side: Side | None, position: Position | None) -> Anchor:
        for name in (asked.id, *self.stand_ins.get(asked.id, ())):
            found = self._by_part.get(name, ())
            if not found:
                continue
            fits = [p for p in found if _misfit(p.side, side) < 2 and _misfit(p.position, position) < 2] or found
            if name == asked.id:
                unsaid_side = asked.sided and side is None and len({p.side for p in fits}) > 1
                unsaid_end = asked.ended and position is None and len({p.position for p in fits}) > 1
                if unsaid_side or unsaid_end:
                    return self._unsaid_place(asked, side, position)
            best = min(fits, key=lambda p: (_misfit(p.side, side), _misfit(p.position, position)))
            return Anchor(best.anchor, best.key, best.view, exact=name == asked.id and fits is not found)
        tag = self._tags.get(asked.id)
        return self._tag_place("car" if tag is None else asked.id, exact=tag is not None)

    def _unsaid_place(self, asked: Part, side: Side | None, position: Position | None) -> Anchor:
        """Give the name of the view, or the tag, that says no more than is known."""
        tag = self.unsaid.get(asked.id) or self.unsaid.get(asked.group, "car")
        view = self._views.get(tag if tag in self._views else side or position or "")
        if view is None or asked.group == "inside":
            return self._tag_place(tag if tag in self._tags else "car", exact=False)
        return Anchor((view.label_at[0], round(view.label_at[1] - 22, 2)), f"name-{view.key}", view.key, exact=False)

    def _tag_place(self, part: str, *, exact: bool) -> Anchor:
        tag = self._tags[part]
        return Anchor(tag.anchor, tag.key, "tags", exact=exact)

    @cached_property
    def _tags(self) -> dict[str, Tag]:
        return {tag.part: tag for tag in self.tags}

    @cached_property
    def _views(self) -> dict[str, View]:
        return {view.key: view for view in self.views}

    @cached_property
    def _shapes(self) -> dict[str, Shape]:
        return {shape.key: shape for shape in self.shapes}

    @cached_property
    def _by_part(self) -> dict[str, list[Shape | Spot]]:
        """List the places of each part, the one that shows it best first."""
        places: dict[str, list[Shape | Spot]] = {}
        found: tuple[Shape | Spot, ...] = (*self.shapes, *self.spots)
        for item in found:
            places.setdefault(item.part, []).append(item)
        for items in places.values():
            items.sort(key=lambda item: -round(abs(area(item.outline)), 2) if isinstance(item, Shape) else 0.0)
        return places


def _label(item: Shape | Spot) -> tuple[str, Side | None, Position | None]:
    return item.part, item.side, item.position


def _misfit(has: Side | Position | None, asked: Side | Position | None) -> int:
    """Weigh a place against what was asked: 0 the very one, 1 it does not tell or was not asked, 2 the other one."""
    if has == asked:
        return 0
    return 1 if has is None or asked is None else 2
