"""The marker card: where its markers and its ruler stand, and the card drawn to scale."""

from __future__ import annotations

import tomllib
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from importlib.resources import files
from typing import Any
from xml.sax.saxutils import escape

import numpy as np
import numpy.typing as npt

Array = npt.NDArray[np.float64]
MODULES = 6
"""Squares along a marker's side, its black frame with them."""


@dataclass(frozen=True, slots=True)
class Card:
    """A card, millimetres from its left top corner, x to the right and y down.

    `markers` are the number, left and top of each; all have sides of `marker_mm`. The ruler runs to the right from
    `ruler_at` for `ruler_mm`.
    """

    id: str
    label: str
    width_mm: float
    height_mm: float
    marker_mm: float
    markers: tuple[tuple[int, float, float], ...]
    ruler_mm: float
    ruler_at: tuple[float, float]

    def corners(self, number: int) -> Array:
        """Give the corners of a marker, shape (4, 2), mm: left top, and on by the clock; raises KeyError."""
        left, top = {each: (x, y) for each, x, y in self.markers}[number]
        side = self.marker_mm
        return np.array(((left, top), (left + side, top), (left + side, top + side), (left, top + side)), np.float64)


@cache
def cards() -> Mapping[str, Card]:
    """Give the cards that there are by their ids; raises ValueError where two share a marker or one sticks out."""
    raw: dict[str, dict[str, Any]] = tomllib.loads(
        files("shutline.gauge.size").joinpath("data/cards.toml").read_text(encoding="utf-8")
    )
    found: dict[str, Card] = {}
    seen: set[int] = set()
    for name, entry in raw.items():
        card = Card(
            id=name,
            **{
                **entry,
                "markers": tuple(tuple(each) for each in entry["markers"]),
                "ruler_at": tuple(entry["ruler_at"]),
            },
        )
        for number, left, top in card.markers:
            room = card.width_mm - card.marker_mm, card.height_mm - card.marker_mm
            if number in seen or not (0 < left < room[0] and 0 < top < room[1]):
                raise ValueError(f"cards.toml, {name}: marker {number} is on another card too, or sticks out")
            seen.add(number)
        found[name] = card
    return found


def pattern(number: int) -> npt.NDArray[np.bool_]:
    """Give the squares of a marker, shape (6, 6), True where black."""
    return np.asarray(_dictionary().generateImageMarker(number, MODULES), np.uint8) < 128


def card_svg(card: Card, *, note: str = "") -> str:
    """Draw a card: one unit is a millimetre, so that it is to scale at its own width and height.

    Parameters
    ----------
    card : Card
    note : str
        A line below the ruler.
    """
    wide, high = f"{card.width_mm:g}", f"{card.height_mm:g}"
    cut = f'width="{card.width_mm - 0.3:g}" height="{card.height_mm - 0.3:g}"'
    parts = [
        f'<svg xmlns="http://www.w3.org/2000/svg" width="{wide}mm" height="{high}mm" viewBox="0 0 {wide} {high}">',
        f'<rect width="{wide}" height="{high}" fill="#fff"/>',
        f'<rect x="0.15" y="0.15" {cut} fill="none" stroke="#999" stroke-width="0.3" stroke-dasharray="2 2"/>',
    ]
    for number, left, top in card.markers:
        parts.append(_marker(number, left, top, card.marker_mm))
    parts += _ruler(card)
    left, top = card.ruler_at
    said = f"{card.label}: this line must be {card.ruler_mm:g} mm long"
    parts.append(_text(left, top - 2.2, said, 2.9))
    if note:
        parts.append(_text(left, top + 8.6, note, 2.5))
    parts.append("</svg>")
    return "\n".join(parts)


def _marker(number: int, left: float, top: float, side: float) -> str:
    """Draw a marker: its frame's black square whole, its white squares over it, so that no seam shows."""
    step = side / MODULES
    whole = f"M{left:g} {top:g}h{side:g}v{side:g}h{-side:g}z"
    rows = []
    for row, squares in enumerate(pattern(number)):
        at = 0
        while at < MODULES:
            end = at
            while end < MODULES and not squares[end]:
                end += 1
            if end > at:
                wide = (end - at) * step
                rows.append(f"M{left + at * step:.4f} {top + row * step:.4f}h{wide:.4f}v{step:.4f}h{-wide:.4f}z")
            at = max(end, at + 1)
    return f'<path d="{whole}" fill="#000"/><path d="{"".join(rows)}" fill="#fff" shape-rendering="crispEdges"/>'


def _ruler(card: Card) -> list[str]:
    left, top = card.ruler_at
    lines = [f"M{left:g} {top:g}h{card.ruler_mm:g}"]
    numbers = []
    for mm in range(int(card.ruler_mm) + 1):
        tall = 4.0 if mm % 10 == 0 else 3.0 if mm % 5 == 0 else 1.8
        lines.append(f"M{left + mm:g} {top:g}v{tall:g}")
        if mm % 10 == 0:
            numbers.append(_text(left + mm + 0.5, top + 5.6, str(mm), 2.2))
    return [f'<path d="{"".join(lines)}" fill="none" stroke="#000" stroke-width="0.15"/>', *numbers]


def _text(x: float, y: float, text: str, size: float) -> str:
    return (
        f'<text x="{x:g}" y="{y:g}" font-family="Shutline Sans, sans-serif" font-size="{size:g}">{escape(text)}</text>'
    )


@cache
def _dictionary() -> Any:
    import cv2

    return cv2.aruco.getPredefinedDictionary(cv2.aruco.DICT_4X4_50)
