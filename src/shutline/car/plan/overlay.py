"""Regions painted one over the other become pieces that cover the ground once, edge to shared edge.

The lines of all regions are brought to a grid of hundredths of a unit and split where they meet, so that the rest is
exact whole-number work: every piece is bounded by the same points as its neighbour.
"""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Hashable, Sequence
from dataclasses import dataclass
from itertools import pairwise

from shutline.car.plan.curves import Point, Ring, area, within

GRID = 100
"""Steps of the grid to one drawing unit."""
CRUMB = 5.0
"""A piece smaller than this, in square units, goes to its neighbour."""

_CELL = 10 * GRID
_STAND_OFF = 6
"""How far inside a face its label is looked up, steps of the grid."""

_Node = tuple[int, int]
_Edge = tuple[_Node, _Node]


@dataclass(frozen=True, slots=True)
class Region:
    """An outline painted with a label, only where it also lies within `clip` when one is given."""

    label: Hashable
    ring: Ring
    clip: Ring | None = None


@dataclass(frozen=True, slots=True)
class Piece:
    """A connected piece of ground under one label: its outline and its holes, in drawing units."""

    label: Hashable
    outline: Ring
    holes: tuple[Ring, ...] = ()


@dataclass(frozen=True, slots=True)
class _Cover:
    label: Hashable
    rings: tuple[tuple[_Node, ...], ...]
    box: tuple[int, int, int, int]


def overlay(regions: Sequence[Region]) -> tuple[tuple[Piece, ...], tuple[Ring, ...]]:
    """Lay regions over one another, later over earlier, and give what each still shows.

    Parameters
    ----------
    regions : sequence of Region
        In the order of painting.

    Returns
    -------
    pieces : tuple of Piece
        They share edges point for point and never overlap; together they cover what the regions cover.
    outlines : tuple of rings
        The outer lines of all that is covered, one for each separate part of the ground.
    """
    covers = tuple(_cover(region) for region in regions)
    edges = _split({edge for cover in covers for ring in cover.rings for edge in _ring_edges(ring)})
    turns = _turns(edges)
    faces = _faces(edges, turns)
    labels = _labels(faces, covers)
    while _give_crumbs_away(labels, faces):
        pass
    nothing = object()
    pieces: list[Piece] = []
    halves: dict[Hashable, list[_Edge]] = defaultdict(list)
    for half in sorted(labels):
        mine, other = labels[half], labels[half[::-1]]
        if mine is not None and mine != other:
            halves[mine].append(half)
        if mine is not None and other is None:
            halves[nothing].append(half)
    for label, own in halves.items():
        for outline, holes in _loops(own, turns):
            pieces.append(Piece(label, outline, holes))
    ground = tuple(piece.outline for piece in pieces if piece.label is nothing)
    order = {region.label: i for i, region in reversed(list(enumerate(regions)))}
    shown = sorted((p for p in pieces if p.label is not nothing), key=lambda p: (order[p.label], p.outline))
    return tuple(shown), ground


def _cover(region: Region) -> _Cover:
    rings = tuple(_to_grid(ring) for ring in (region.ring, region.clip) if ring is not None)
    xs, ys = zip(*rings[0], strict=True)
    return _Cover(region.label, rings, (min(xs), min(ys), max(xs), max(ys)))


def _to_grid(ring: Ring) -> tuple[_Node, ...]:
    nodes: list[_Node] = []
    for x, y in ring:
        node = (round(x * GRID), round(y * GRID))
        if not nodes or nodes[-1] != node:
            nodes.append(node)
    while len(nodes) > 1 and nodes[0] == nodes[-1]:
        nodes.pop()
    return tuple(nodes)


def _ring_edges(ring: Sequence[_Node]) -> list[_Edge]:
    return [(a, b) if a < b else (b, a) for a, b in zip(ring, (*ring[1:], ring[0]), strict=True) if a != b]


def _split(edges: set[_Edge]) -> set[_Edge]:
    """Split edges where they meet until none crosses another; the meeting points are brought to the grid."""
    fresh = edges
    while fresh:
        cuts = _meetings(edges, fresh)
        fresh = set()
        for edge, nodes in cuts.items():
            edges.discard(edge)
            stops = [edge[0], *sorted(nodes, key=lambda n, at=edge[0]: _square(n, at)), edge[1]]  # type: ignore[misc]
            fresh.update((a, b) if a < b else (b, a) for a, b in pairwise(stops) if a != b)
        fresh -= edges
        edges |= fresh
    return edges


def _square(a: _Node, b: _Node) -> int:
    return (a[0] - b[0]) ** 2 + (a[1] - b[1]) ** 2


def _meetings(edges: set[_Edge], fresh: set[_Edge]) -> dict[_Edge, set[_Node]]:
    """Find where fresh edges meet any other, looking only among edges that pass through the same cells."""
    cuts: dict[_Edge, set[_Node]] = defaultdict(set)
    cells: dict[tuple[int, int], list[tuple[int, int, int, int, _Edge]]] = defaultdict(list)
    for edge in fresh:
        for cell, boxed in _cells(edge):
            cells[cell].append(boxed)
    for others in cells.values():
        for i, (left, low, right, high, edge) in enumerate(others):
            for other_left, other_low, other_right, other_high, other in others[:i]:
                if left <= other_right and other_left <= right and low <= other_high and other_low <= high:
                    _meet(edge, other, cuts)
    for edge in edges - fresh:
        for cell, (left, low, right, high, _) in _cells(edge):
            for other_left, other_low, other_right, other_high, other in cells.get(cell, ()):
                if left <= other_right and other_left <= right and low <= other_high and other_low <= high:
                    _meet(edge, other, cuts)
    return cuts


def _cells(edge: _Edge) -> list[tuple[tuple[int, int], tuple[int, int, int, int, _Edge]]]:
    (ax, ay), (bx, by) = edge
    low, high = (ay, by) if ay <= by else (by, ay)
    boxed = (ax, low, bx, high, edge)
    if ax // _CELL == bx // _CELL and low // _CELL == high // _CELL:
        return [((ax // _CELL, low // _CELL), boxed)]
    columns, rows = range(ax // _CELL, bx // _CELL + 1), range(low // _CELL, high // _CELL + 1)
    return [((column, row), boxed) for column in columns for row in rows]


def _meet(one: _Edge, two: _Edge, cuts: dict[_Edge, set[_Node]]) -> None:
    a, b = one
    c, d = two
    if a in two or b in two:
        # Neighbours on a line meet where they should; only a doubled-back one lies on the other.
        shared, far, other = (a, b, d if a == c else c) if a in two else (b, a, d if b == c else c)
        if _turn(shared, far, other) == 0:
            for node, edge in ((other, one), (far, two)):
                if node not in edge and _spans(edge, node):
                    cuts[edge].add(node)
        return
    side_c, side_d = _turn(a, b, c), _turn(a, b, d)
    if (side_c > 0 and side_d > 0) or (side_c < 0 and side_d < 0):
        return
    side_a, side_b = _turn(c, d, a), _turn(c, d, b)
    if (side_a > 0 and side_b > 0) or (side_a < 0 and side_b < 0):
        return
    if side_a and side_b and side_c and side_d:
        share = side_a / (side_a - side_b)
        node = (round(a[0] + (b[0] - a[0]) * share), round(a[1] + (b[1] - a[1]) * share))
        if node not in one:
            cuts[one].add(node)
        if node not in two:
            cuts[two].add(node)
        return
    for node, side, edge in ((c, side_c, one), (d, side_d, one), (a, side_a, two), (b, side_b, two)):
        if side == 0 and node not in edge and _spans(edge, node):
            cuts[edge].add(node)


def _turn(a: _Node, b: _Node, c: _Node) -> int:
    return (b[0] - a[0]) * (c[1] - a[1]) - (b[1] - a[1]) * (c[0] - a[0])


def _spans(edge: _Edge, node: _Node) -> bool:
    (ax, ay), (bx, by) = edge
    return ax <= node[0] <= bx and min(ay, by) <= node[1] <= max(ay, by)


def _turns(edges: set[_Edge]) -> dict[_Node, list[_Node]]:
    """List the neighbours of every node by the angle at which they lie."""
    around: dict[_Node, list[_Node]] = defaultdict(list)
    for a, b in edges:
        around[a].append(b)
        around[b].append(a)
    for (x, y), nodes in around.items():
        if len(nodes) > 2:
            nodes.sort(key=lambda n, x=x, y=y: math.atan2(n[1] - y, n[0] - x))  # type: ignore[misc]
    return around


def _faces(edges: set[_Edge], turns: dict[_Node, list[_Node]]) -> list[list[_Edge]]:
    """Walk round every face, keeping it on the left: each half-edge is in one walk."""
    after = {(other, node): (node, around[i - 1]) for node, around in turns.items() for i, other in enumerate(around)}
    faces = []
    walked: set[_Edge] = set()
    for edge in sorted(edges):
        for half in (edge, edge[::-1]):
            if half in walked:
                continue
            walk = [half]
            step = after[half]
            while step != half:
                walk.append(step)
                step = after[step]
            walked.update(walk)
            faces.append(walk)
    return faces


def _labels(faces: Sequence[list[_Edge]], covers: Sequence[_Cover]) -> dict[_Edge, Hashable]:
    labels: dict[_Edge, Hashable] = {}
    for walk in faces:
        label = _label_at(_beside(walk), covers)
        for half in walk:
            labels[half] = label
    return labels


def _give_crumbs_away(labels: dict[_Edge, Hashable], faces: Sequence[list[_Edge]]) -> bool:
    """Give pieces too small to see or to touch to the neighbour they share the longest border with.

    Tells whether there were any; one that lies all alone stays.
    """
    home = {half: i for i, walk in enumerate(faces) for half in walk}
    roots = list(range(len(faces)))

    def root(i: int) -> int:
        while roots[i] != i:
            roots[i] = roots[roots[i]]
            i = roots[i]
        return i

    for half, i in home.items():
        if labels[half] == labels[half[::-1]]:
            roots[root(i)] = root(home[half[::-1]])
    members: dict[int, list[int]] = defaultdict(list)
    for i in range(len(faces)):
        members[root(i)].append(i)
    given = False
    for own in members.values():
        halves = [half for i in own for half in faces[i]]
        twice = sum(a[0] * b[1] - a[1] * b[0] for a, b in halves)
        if not 0 < twice < 2 * CRUMB * GRID * GRID or labels[halves[0]] is None:
            continue
        borders: dict[Hashable, float] = defaultdict(float)
        for half in halves:
            other = labels[half[::-1]]
            if other is not None and other != labels[half]:
                borders[other] += math.sqrt(_square(*half))
        if borders:
            heir = max(borders, key=lambda label: borders[label])
            for half in halves:
                labels[half] = heir
            given = True
    return given


def _beside(walk: Sequence[_Edge]) -> Point:
    """Give a point of the face that a walk keeps on its left.

    It stands off the middle of the longest edge, half way to whatever is across but no more than a few steps of the
    grid: a line moves by about one step when its meeting points are brought to the grid, and the point must stay on
    the right side of the line as it was drawn.
    """
    (ax, ay), (bx, by) = max(walk, key=lambda half: (_square(*half), half))
    length = math.hypot(bx - ax, by - ay)
    x, y = (ax + bx) / 2, (ay + by) / 2
    nx, ny = -(by - ay) / length, (bx - ax) / length
    room = 2.0 * _STAND_OFF
    for (cx, cy), (dx, dy) in walk:
        # Signed distances of the edge's ends from the line through (x, y) along the normal.
        side_c, side_d = (cx - x) * ny - (cy - y) * nx, (dx - x) * ny - (dy - y) * nx
        if (side_c > 0) != (side_d > 0):
            share = side_c / (side_c - side_d)
            across = (cx + (dx - cx) * share - x) * nx + (cy + (dy - cy) * share - y) * ny
            if 1e-6 < across < room:
                room = across
    return x + nx * room / 2, y + ny * room / 2


def _label_at(point: Point, covers: Sequence[_Cover]) -> Hashable:
    x, y = point
    for cover in reversed(covers):
        left, low, right, high = cover.box
        if left <= x <= right and low <= y <= high and all(within(point, ring) for ring in cover.rings):
            return cover.label
    return None


def _loops(halves: Sequence[_Edge], turns: dict[_Node, list[_Node]]) -> list[tuple[Ring, tuple[Ring, ...]]]:
    left_over = set(halves)
    outers: list[tuple[Ring, list[Ring]]] = []
    holes: list[Ring] = []
    for first in halves:
        if first not in left_over:
            continue
        loop = []
        step = first
        while step in left_over:
            left_over.discard(step)
            loop.append(step[0])
            around = turns[step[1]]
            at = around.index(step[0])
            for back in range(1, len(around) + 1):
                after = (step[1], around[at - back])
                if after in left_over or after == first:
                    step = after
                    break
        for part in _simple(loop):
            ring = _from_grid(part)
            if area(ring) > 0:
                outers.append((ring, []))
            else:
                holes.append(ring)
    for hole in holes:
        inside = ((hole[0][0] + hole[1][0]) / 2, (hole[0][1] + hole[1][1]) / 2)
        hosts = [outer for outer in outers if within(inside, outer[0])]
        if hosts:
            min(hosts, key=lambda outer: area(outer[0]))[1].append(hole)
    return [(outer, tuple(own)) for outer, own in outers]


def _simple(loop: Sequence[_Node]) -> list[list[_Node]]:
    """Cut a loop that touches itself into loops that do not."""
    parts = []
    path: list[_Node] = []
    seen: set[_Node] = set()
    for node in loop:
        if node in seen:
            cut = path.index(node)
            parts.append(path[cut:])
            seen.difference_update(path[cut + 1 :])
            del path[cut + 1 :]
        else:
            seen.add(node)
            path.append(node)
    parts.append(path)
    return [part for part in parts if len(part) > 2]


def _from_grid(nodes: Sequence[_Node]) -> Ring:
    kept = [
        node
        for before, node, after in zip((nodes[-1], *nodes[:-1]), nodes, (*nodes[1:], nodes[0]), strict=True)
        if _turn(before, node, after) != 0
    ]
    return tuple((x / GRID, y / GRID) for x, y in kept)
