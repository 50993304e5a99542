"""Damp inside one car: moisture readings in; out which places read wetter than its driest, and how surely.

Figures of one meter on one scale are held against each other, never against a figure that ships. It gives sentences,
findings to propose and what stands at odds with what was said. No input or output but the data beside it.
"""

from shutline.gauge.damp.compare import compare_damp
from shutline.gauge.damp.drawing import damp_svg
from shutline.gauge.damp.results import DampMeter, Dampness, DampPlace, DampResult
from shutline.gauge.damp.said import DampAgainst, against, footings_of, proposals

__all__ = [
    "DampAgainst",
    "DampMeter",
    "DampPlace",
    "DampResult",
    "Dampness",
    "against",
    "compare_damp",
    "damp_svg",
    "footings_of",
    "proposals",
]
