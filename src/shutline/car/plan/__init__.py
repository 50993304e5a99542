"""The Plan: the car unrolled into one drawing whose shapes are its parts.

Takes a body, a count of doors and the side of the wheel; gives named shapes, the places of parts, and the drawing as
SVG with pins, shading and the thread. May not read a recording or a store, and knows nothing of findings but their
place.
"""

from shutline.car.plan.figure import plan_svg
from shutline.car.plan.pins import Pin, PinForm
from shutline.car.plan.records import Anchor, Layout, Plan, Shape, Spot, Tag, View
from shutline.car.plan.sheet import draw
from shutline.car.plan.thread import thread_svg, unrolled_svg
from shutline.car.plan.wording import spoken_name

__all__ = [
    "Anchor",
    "Layout",
    "Pin",
    "PinForm",
    "Plan",
    "Shape",
    "Spot",
    "Tag",
    "View",
    "draw",
    "plan_svg",
    "spoken_name",
    "thread_svg",
    "unrolled_svg",
]
