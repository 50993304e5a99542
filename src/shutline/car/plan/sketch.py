"""One view while it is being drawn: regions painted over one another, spots and fine lines, heights counted upwards."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import NamedTuple

from shutline.car.findings import Position, Side
from shutline.car.plan.curves import Point, Ring, flipped, inner_point, mirrored
from shutline.car.plan.overlay import Piece, Region, overlay

NEAR, OFF = Side.NEAR, Side.OFF
FRONT, REAR = Position.FRONT, Position.REAR


class Label(NamedTuple):
    """What a region shows."""

    part: str
    side: Side | None = None
    position: Position | None = None


@dataclass(frozen=True, slots=True)
class Mark:
    """A small thing on a view, and the lines it is drawn with; a closed line repeats its first point."""

    label: Label
    point: Point
    lines: tuple[Ring, ...] = ()


@dataclass(frozen=True, slots=True)
class Face:
    """A finished view in its own coordinates, y down."""

    key: str
    pieces: tuple[tuple[Label, Piece, Point], ...]
    outlines: tuple[Ring, ...]
    marks: tuple[Mark, ...]
    ink: tuple[Ring, ...]

    def box(self) -> tuple[float, float, float, float]:
        """Give left, top, right and bottom of the outlines."""
        xs, ys = zip(*(point for ring in self.outlines for point in ring), strict=True)
        return min(xs), min(ys), max(xs), max(ys)

    def turned_over(self, key: str) -> Face:
        """Give the same seen in a mirror: near becomes off, and the nose points the other way."""
        left, _, right, _ = self.box()
        axis = round(left + right, 2) / 2
        pieces = tuple(
            (
                _other(label),
                Piece(
                    _other(label), _tidy(mirrored(p.outline, axis)), tuple(_tidy(mirrored(h, axis)) for h in p.holes)
                ),
                (2 * axis - at[0], at[1]),
            )
            for label, p, at in self.pieces
        )
        marks = tuple(
            Mark(_other(m.label), (2 * axis - m.point[0], m.point[1]), tuple(mirrored(ring, axis) for ring in m.lines))
            for m in self.marks
        )
        return Face(
            key,
            pieces,
            tuple(_tidy(mirrored(ring, axis)) for ring in self.outlines),
            marks,
            tuple(mirrored(ring, axis) for ring in self.ink),
        )


@dataclass(slots=True)
class Sketch:
    """A view being drawn: x to the right, y up."""

    key: str
    regions: list[Region] = field(default_factory=list)
    marks: list[Mark] = field(default_factory=list)
    ink: list[Ring] = field(default_factory=list)

    def paint(
        self,
        part: str,
        ring: Ring,
        *,
        side: Side | None = None,
        position: Position | None = None,
        clip: Ring | None = None,
    ) -> Ring:
        """Paint a region over what is there, only inside `clip` when given; gives the ring back."""
        self.regions.append(Region(Label(part, side, position), ring, clip))
        return ring

    def spot(
        self,
        part: str,
        point: Point,
        *lines: Ring,
        side: Side | None = None,
        position: Position | None = None,
    ) -> None:
        """Set a small thing down at a point."""
        self.marks.append(Mark(Label(part, side, position), point, lines))

    def line(self, *lines: Ring) -> None:
        """Draw fine lines that bound nothing."""
        self.ink.extend(lines)

    def finish(self) -> Face:
        """Lay the regions over one another and turn the view so that y runs down."""
        pieces, outlines = overlay(self.regions)
        turned = []
        for piece in pieces:
            label = piece.label
            if not isinstance(label, Label):
                raise TypeError(label)
            outline = _tidy(flipped(piece.outline, 0))
            holes = tuple(_tidy(flipped(hole, 0)) for hole in piece.holes)
            turned.append((label, Piece(label, outline, holes), inner_point(outline, holes)))
        return Face(
            self.key,
            tuple(turned),
            tuple(_tidy(flipped(ring, 0)) for ring in outlines),
            tuple(
                Mark(m.label, (m.point[0], -m.point[1]), tuple(flipped(ring, 0) for ring in m.lines))
                for m in self.marks
            ),
            tuple(flipped(ring, 0) for ring in self.ink),
        )


def closed(ring: Ring) -> Ring:
    """Repeat the first point at the end, for a mark that is drawn as a closed line."""
    return (*ring, ring[0])


def _other(label: Label) -> Label:
    swap = {Side.NEAR: Side.OFF, Side.OFF: Side.NEAR}
    return label if label.side is None else label._replace(side=swap[label.side])


def _tidy(ring: Ring) -> Ring:
    return tuple((round(x, 2) + 0.0, round(y, 2) + 0.0) for x, y in ring)
