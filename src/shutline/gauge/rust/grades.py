"""What a share of rust is called in ASTM D610 and ISO 4628-3, and how the rust lies."""

from __future__ import annotations

import math
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
import numpy.typing as npt

from shutline.car.errors import BadInputError, Problem
from shutline.gauge.rust.segmenting import Segmented
from shutline.gauge.rust.settings import d610, iso_4628_3, settings

BOUNDARY_RULE = (
    "The pictures of ISO 4628-3 have areas and no bounds between them. The program's own rule: a share goes to the "
    "picture on whose side of the geometric middle of two it lies; half of the first picture's area parts Ri0 and Ri1."
)
LETTER_RULE = (
    "The program's own rule. P: most of the rust is in specks; S: most of it is in the fullest tenth of the outline; "
    "H: much of it in specks and much in the fullest tenth; G: otherwise."
)
_NAMES = {"S": "spot", "G": "general", "P": "pinpoint", "H": "hybrid"}


@dataclass(frozen=True, slots=True)
class RustGrades:
    """What a share and the ends of its interval are called; the `least` of rust and the `most` of rust.

    In D610 10 is none and 0 is over a half; in ISO 4628-3 it is the other way round.
    """

    d610: str
    d610_least: str
    d610_most: str
    iso: str
    iso_least: str
    iso_most: str
    boundary_rule: str = BOUNDARY_RULE


@dataclass(frozen=True, slots=True)
class Distribution:
    """How rust lies: D610's letter by our rule, and the shares of the rust that it was chosen by."""

    letter: str
    name: str
    in_specks: float
    in_fullest_tenth: float
    spots: int
    rule: str = LETTER_RULE


def d610_grade(share: float) -> str:
    """Give the grade of ASTM D610, Table 1: the first whose upper limit a share, 0 to 1, does not exceed."""
    _checked(share)
    return next(grade.id for grade in d610() if 100 * share <= grade.per_cent * (1 + 1e-12))


def iso_grade(share: float) -> str:
    """Give the nearest reference picture of ISO 4628-3 of a share, 0 to 1, by `BOUNDARY_RULE`."""
    _checked(share)
    rows = iso_4628_3()
    found = rows[0]
    for before, after in pairwise(rows):
        bound = math.sqrt(before.per_cent * after.per_cent) if before.per_cent else after.per_cent / 2
        if 100 * share > bound:
            found = after
    return found.id


def grades_of(share: float, low: float, high: float) -> RustGrades:
    """Give the grades of a share and of the ends of its interval; errors as for `d610_grade`."""
    return RustGrades(
        d610_grade(share), d610_grade(low), d610_grade(high), iso_grade(share), iso_grade(low), iso_grade(high)
    )


def distribution_of(found: Segmented, *, shift: float = 0.0) -> Distribution | None:
    """Choose the letter of how rust lies, all odds shifted; None where no pixel is likelier rust than not."""
    import cv2

    rules = settings().letter
    rust = ((found.odds > -shift) & found.inside).astype(np.uint8)
    total = int(rust.sum())
    if not total:
        return None
    count, _, stats, _ = cv2.connectedComponentsWithStats(rust, connectivity=8)
    areas = np.asarray(stats[1:, cv2.CC_STAT_AREA], np.float64)
    speck = math.pi / 4 * rules.speck_share**2 * float(found.inside.sum())
    in_specks = float(areas[areas <= max(speck, 4.0)].sum()) / total
    in_tenth = _fullest_tenth(rust, found.inside)
    if in_specks >= rules.pinpoint and in_tenth < rules.spot:
        letter = "P"
    elif in_specks >= rules.mixed_specks and in_tenth >= rules.mixed_spot:
        letter = "H"
    elif in_tenth >= rules.spot:
        letter = "S"
    else:
        letter = "P" if in_specks >= rules.pinpoint else "G"
    return Distribution(letter, _NAMES[letter], in_specks, in_tenth, count - 1)


def _fullest_tenth(rust: npt.NDArray[np.uint8], inside: npt.NDArray[np.bool_]) -> float:
    """Give the share of the rust in the fullest tenth of the outline, cell by cell."""
    side = max(1, math.ceil(max(rust.shape) / settings().letter.cells))
    rows, columns = (-(-length // side) for length in rust.shape)
    down, across = (np.arange(length) // side for length in rust.shape)
    number = (down[:, None] * columns + across[None, :]).ravel()
    area = np.bincount(number, weights=inside.ravel(), minlength=rows * columns)
    rusted = np.bincount(number, weights=rust.ravel(), minlength=rows * columns)
    order = np.argsort(-rusted / np.maximum(area, 1))
    # Whole cells until a tenth of the area is reached, and of the last as much as is left to it.
    so_far = np.cumsum(area[order]) / area.sum()
    within = np.clip((0.1 - (so_far - area[order] / area.sum())) / np.maximum(area[order] / area.sum(), 1e-12), 0, 1)
    return float((rusted[order] * within).sum() / rusted.sum())


def _checked(share: float) -> None:
    if not (math.isfinite(share) and 0 <= share <= 1):
        raise BadInputError(
            Problem(
                slug="rust-share",
                where="rusted share",
                found=f"{100 * share:g} %",
                allowed="0 to 100 %",
                advice="Give the share of the area that is rusted.",
            )
        )
