"""The colour of two panels where they meet: from patches of a photograph, or keyed from a spectrophotometer.

Takes pixels with outlines, or L*a*b*; gives CIEDE2000 with an interval that covers the panels' own texture, and says
when shading or scatter would make as much. It never says that a panel was painted. No input or output.
"""

from shutline.gauge.colour.across import ColourDifference, Told, across_in_photograph, across_keyed, across_patches
from shutline.gauge.colour.balance import AS_TAKEN, Balance, by_chart, by_grey_card
from shutline.gauge.colour.chart import Chart, ChartField, outlines_of, read_chart
from shutline.gauge.colour.cie1976 import delta_e_1976
from shutline.gauge.colour.patches import Patch, read_patch
from shutline.gauge.colour.sharma2005 import delta_e_2000
from shutline.gauge.colour.srgb import lab_of_signs
from shutline.gauge.colour.told import colours_told

__all__ = [
    "AS_TAKEN",
    "Balance",
    "Chart",
    "ChartField",
    "ColourDifference",
    "Patch",
    "Told",
    "across_in_photograph",
    "across_keyed",
    "across_patches",
    "by_chart",
    "by_grey_card",
    "colours_told",
    "delta_e_1976",
    "delta_e_2000",
    "lab_of_signs",
    "outlines_of",
    "read_chart",
    "read_patch",
]
