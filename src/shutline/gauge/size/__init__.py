"""Sizes off a photograph in which the marker card lies: lengths and areas in its plane, with their uncertainty.

Takes pixels and picked places; gives millimetres and square centimetres, or refuses where the card is bent. It draws
the card to scale. No input or output.
"""

from shutline.gauge.size.card import Card, card_svg, cards
from shutline.gauge.size.detect import FoundCard, find_card
from shutline.gauge.size.measure import Size, area_of, length_of
from shutline.gauge.size.plane import Plane, Ruler, plane_of
from shutline.gauge.size.told import sizes_told

__all__ = [
    "Card",
    "FoundCard",
    "Plane",
    "Ruler",
    "Size",
    "area_of",
    "card_svg",
    "cards",
    "find_card",
    "length_of",
    "plane_of",
    "sizes_told",
]
