"""Rust by area: how much of an outline on a photograph is rusted, and what the coating standards call as much.

Takes pixels and an outline; gives a share with the doubt of its own segmentation, the grade of ASTM D610, the nearest
picture of ISO 4628-3, and keeps blisters rated by eye. It does not say how deep rust goes. No input or output.
"""

from shutline.gauge.rust.blisters import Blisters, blister_svg, rated
from shutline.gauge.rust.grades import Distribution, RustGrades, d610_grade, grades_of, iso_grade
from shutline.gauge.rust.segmenting import Segmented, segment
from shutline.gauge.rust.settings import settings, words
from shutline.gauge.rust.share import RustShare, likely, rust_of, rust_within
from shutline.gauge.rust.told import rust_told

__all__ = [
    "Blisters",
    "Distribution",
    "RustGrades",
    "RustShare",
    "Segmented",
    "blister_svg",
    "d610_grade",
    "grades_of",
    "iso_grade",
    "likely",
    "rated",
    "rust_of",
    "rust_told",
    "rust_within",
    "segment",
    "settings",
    "words",
]
