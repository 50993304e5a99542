"""Masks: places of pictures and films that are covered in what is published, and by whom they were found."""

from __future__ import annotations

import math
from bisect import bisect_right
from collections.abc import Sequence
from dataclasses import dataclass, replace
from enum import StrEnum

from shutline.car.changes import Change


class MaskKind(StrEnum):
    """What is to be covered."""

    MARK = "mark"
    CHASSIS = "chassis"
    FACE = "face"
    OTHER = "other"


class MaskState(StrEnum):
    """How far a mask has come: found by the program, confirmed or drawn by a person, rejected by a person."""

    PROPOSED = "proposed"
    STANDS = "stands"
    STRUCK = "struck"


@dataclass(frozen=True, slots=True)
class Box:
    """An upright box in shares of a picture's width and height, from its top left: 0 <= left < right <= 1."""

    left: float
    top: float
    right: float
    bottom: float

    def __post_init__(self) -> None:
        """Refuse a box that lies outside the picture, or has no inside."""
        edges = (self.left, self.top, self.right, self.bottom)
        if not (
            all(math.isfinite(edge) and 0.0 <= edge <= 1.0 for edge in edges)
            and self.left < self.right
            and self.top < self.bottom
        ):
            raise ValueError(f"box {edges}: left < right and top < bottom, all from 0 to 1")

    @property
    def area(self) -> float:
        """Its share of the picture."""
        return (self.right - self.left) * (self.bottom - self.top)

    def shared(self, other: Box) -> float:
        """Give the share of the picture that lies in both."""
        wide = min(self.right, other.right) - max(self.left, other.left)
        high = min(self.bottom, other.bottom) - max(self.top, other.top)
        return max(0.0, wide) * max(0.0, high)

    def likeness(self, other: Box) -> float:
        """Say how alike two boxes are: what both cover over what either does, 0 to 1."""
        either = self.area + other.area - self.shared(other)
        # Boxes so small that their areas come to nothing are alike when they are the same.
        return self.shared(other) / either if either > 0 else float(self == other)

    def joined(self, other: Box) -> Box:
        """Give the smallest box around both."""
        return Box(
            min(self.left, other.left),
            min(self.top, other.top),
            max(self.right, other.right),
            max(self.bottom, other.bottom),
        )

    def grown(self, share: float, *, aspect: float = 1.0) -> Box:
        """Give the box with each side moved out by a share of the box's shorter side, as far as the picture goes.

        Parameters
        ----------
        share : float
            >= 0.
        aspect : float
            Width of the picture over its height, so that the margin is the same number of pixels on all sides.
        """
        wide, high = (self.right - self.left) * aspect, self.bottom - self.top
        margin = share * min(wide, high)
        return Box(
            max(0.0, self.left - margin / aspect),
            max(0.0, self.top - margin),
            min(1.0, self.right + margin / aspect),
            min(1.0, self.bottom + margin),
        )

    def moved(self, right: float, down: float) -> Box:
        """Give the box moved by shares of the picture; it stops at the picture's edge and keeps its size."""
        right = min(max(right, -self.left), 1.0 - self.right)
        down = min(max(down, -self.top), 1.0 - self.bottom)
        # Rounding may carry an edge a hair over.
        return Box(
            max(0.0, self.left + right),
            max(0.0, self.top + down),
            min(1.0, self.right + right),
            min(1.0, self.bottom + down),
        )

    def between(self, other: Box, share: float) -> Box:
        """Give the box that lies a share of the way, 0 to 1, from this one to another."""
        pairs = zip(self.edges, other.edges, strict=True)
        left, top, right, bottom = (min(max(here + (there - here) * share, 0.0), 1.0) for here, there in pairs)
        return Box(left, top, right, bottom)

    @property
    def edges(self) -> tuple[float, float, float, float]:
        """Left, top, right and bottom."""
        return self.left, self.top, self.right, self.bottom

    def pixels(self, width: int, height: int) -> tuple[int, int, int, int]:
        """Give left, top, right and bottom in pixels of a picture, right and bottom not included, rounded outwards."""
        left, top = math.floor(self.left * width), math.floor(self.top * height)
        right, bottom = math.ceil(self.right * width), math.ceil(self.bottom * height)
        return min(left, width - 1), min(top, height - 1), max(right, left + 1), max(bottom, top + 1)


@dataclass(frozen=True, slots=True)
class BoxAt:
    """Where something stands at a moment: seconds from the start of a recording, 0 for a picture."""

    at_s: float
    box: Box


@dataclass(frozen=True, slots=True)
class Mask:
    """Something to be covered in one picture, in one frame of a film, or over a stretch of it.

    `source` is the id of the picture or the recording. `way` holds at least one box, in the order of time; between two
    of them the box goes evenly from one to the other. `sureness` is the program's, 0 to 1, None where a person drew or
    changed it.
    """

    source: str
    kind: MaskKind
    way: tuple[BoxAt, ...]
    state: MaskState = MaskState.PROPOSED
    sureness: float | None = None

    def __post_init__(self) -> None:
        """Refuse a way without boxes, or one that goes back in time."""
        times = [one.at_s for one in self.way]
        if not times or not all(math.isfinite(at) and at >= 0 for at in times) or sorted(set(times)) != times:
            raise ValueError(f"the times of a mask are {times}: at least one, from 0 s, each later than the last")

    @property
    def start_s(self) -> float:
        """Its first moment, seconds."""
        return self.way[0].at_s

    @property
    def end_s(self) -> float:
        """Its last moment, seconds."""
        return self.way[-1].at_s

    def at(self, at_s: float, *, slack_s: float = 0.0) -> Box | None:
        """Give the box at a moment; None before its start and after its end by more than `slack_s` seconds."""
        if not self.start_s - slack_s <= at_s <= self.end_s + slack_s:
            return None
        number = bisect_right([one.at_s for one in self.way], at_s)
        if number == 0:
            return self.way[0].box
        if number == len(self.way):
            return self.way[-1].box
        before, after = self.way[number - 1], self.way[number]
        return before.box.between(after.box, (at_s - before.at_s) / (after.at_s - before.at_s))

    def moved(self, right: float, down: float) -> Mask:
        """Give the mask with all its boxes moved by shares of the picture."""
        return replace(self, way=tuple(BoxAt(one.at_s, one.box.moved(right, down)) for one in self.way))


@dataclass(frozen=True, slots=True)
class KeptMask:
    """A mask in the store, with its history; the first of `changes` is how it came in."""

    id: str
    mask: Mask
    version: int = 1
    changes: tuple[Change, ...] = ()

    @property
    def found_by(self) -> str:
        """Who found it first: the program, or a person by name."""
        return self.changes[0].author


@dataclass(frozen=True, slots=True)
class MaskLook:
    """That the program looked for masks in a picture or a stretch of film, and what it found of each kind there.

    `finder` names the networks and settings it looked with; `looks` how many pictures or frames were looked at.
    """

    source: str
    start_s: float
    end_s: float
    finder: str
    looks: int
    found: dict[str, int]
    at: str = ""


def boxes_at(masks: Sequence[Mask], source: str, at_s: float, *, slack_s: float = 0.0) -> tuple[Box, ...]:
    """Give the boxes of all masks of a source at a moment, whatever their state."""
    found = (mask.at(at_s, slack_s=slack_s) for mask in masks if mask.source == source)
    return tuple(box for box in found if box is not None)
