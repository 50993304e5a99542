"""White balance from a grey card, or from the fields of a chart whose colours are known."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from shutline.car.errors import BadInputError, Problem
from shutline.gauge.colour.patches import Picture, Point, read_patch
from shutline.gauge.colour.settings import settings
from shutline.gauge.colour.sharma2005 import Array, delta_e_2000
from shutline.gauge.colour.srgb import lab_of_light, light_of_lab, signs_of

Lab = tuple[float, float, float]
"""L*, a*, b* under D65."""


@dataclass(frozen=True, slots=True)
class Balance:
    """What brings the light of a picture to what it would be under D65.

    `matrix` is of three rows, multiplied from the left to linear red, green, blue. `way` says by what: ``none``,
    ``grey card`` or ``chart``; `left` is the mean CIEDE2000 that a chart's fields keep when each is foretold by the
    others, None where there is none to tell.
    """

    matrix: tuple[tuple[float, float, float], ...]
    way: str
    left: float | None = None

    def applied(self, light: Array) -> Array:
        """Give light balanced; shape (..., 3)."""
        return np.asarray(light @ np.asarray(self.matrix).T)


AS_TAKEN = Balance(((1.0, 0.0, 0.0), (0.0, 1.0, 0.0), (0.0, 0.0, 1.0)), "none")
"""No balance: the colours as the camera set them."""


def by_grey_card(picture: Picture, outline: Sequence[Point], *, lab: Lab | None = None) -> Balance:
    """Balance by a grey card in the picture.

    Parameters
    ----------
    picture : ndarray
        Shape (height, width, 3), uint8, sRGB, upright.
    outline : sequence of point
        A piece of the card, three corners or more, pixels.
    lab : tuple of float, optional
        What the card is known to be; a neutral grey of 18 % when left out.

    Raises
    ------
    BadInputError
        Slug ``card-refused``: too dark or too bright, or lit unevenly; ``patch-refused`` as for `read_patch`.
    """
    tuning = settings().balance
    known = lab or (tuning.grey_card_lightness, 0.0, 0.0)
    patch = read_patch(picture, outline, name="grey card")
    light = patch.light.mean(axis=0)
    value = 255 * signs_of(light)
    if value.min() < tuning.darkest or value.max() > tuning.brightest:
        raise _refused(
            "grey card",
            f"channels of {value.min():.0f} to {value.max():.0f}",
            f"{tuning.darkest:.0f} to {tuning.brightest:.0f}, of 0 to 255",
            "Expose so that the card is neither black nor burnt out.",
        )
    uneven = _uneven(patch.light, patch.places)
    if uneven > tuning.most_uneven:
        raise _refused(
            "grey card",
            f"L* differs by {uneven:.1f} from one end to the other",
            f"up to {tuning.most_uneven:.0f}",
            "Hold the card flat in the light that falls on the panels.",
        )
    gains = light_of_lab(known) / light
    rows = tuple(tuple(float(each) for each in row) for row in np.diag(gains))
    return Balance(rows, "grey card")  # type: ignore[arg-type]


def by_chart(picture: Picture, fields: Sequence[tuple[Sequence[Point], Lab]]) -> Balance:
    """Balance by the fields of a chart, each outlined and of known colour.

    A printed chart must have been measured: what a printer makes of a colour is not known otherwise. A matrix is fitted
    in light, by least squares over the fields' own brightness; it does not undo a camera's tone curve.

    Parameters
    ----------
    picture : ndarray
        Shape (height, width, 3), uint8, sRGB, upright.
    fields : sequence of tuple
        The outline of each field, pixels, and its L*a*b*.

    Raises
    ------
    BadInputError
        Slug ``card-refused``: too few fields, fields of one hue only, or the fields do not agree.
    """
    tuning = settings().balance
    if len(fields) < tuning.least_fields:
        raise _refused(
            "chart",
            f"{len(fields)} fields",
            f"{tuning.least_fields} fields or more of known colour",
            "Outline more of its fields, or use a grey card.",
        )
    seen = np.array(
        [
            read_patch(picture, outline, name=f"field {at + 1}").light.mean(axis=0)
            for at, (outline, _) in enumerate(fields)
        ]
    )
    known = np.array([lab for _, lab in fields], np.float64)
    light = light_of_lab(known)
    weight = 1 / np.maximum(np.cbrt(np.maximum(light, 1e-4).mean(axis=1)) ** 2, 0.02)
    if np.linalg.cond(seen * weight[:, None]) > 200:
        raise _refused(
            "chart",
            "fields of one hue only",
            "fields that differ in red, green and blue",
            "Outline fields of several colours, or use a grey card.",
        )
    matrix = _fitted(seen, light, weight)
    foretold = np.empty_like(light)
    for at in range(len(fields)):
        others = np.arange(len(fields)) != at
        foretold[at] = _fitted(seen[others], light[others], weight[others]) @ seen[at]
    left = float(np.mean(delta_e_2000(lab_of_light(foretold), known)))
    if left > tuning.chart_leaves:
        raise _refused(
            "chart",
            f"its fields foretell one another with a mean CIEDE2000 of {left:.1f}",
            f"up to {tuning.chart_leaves:.0f}",
            "See that each field has its own colour, and that the chart lies flat in one light.",
        )
    rows = tuple(tuple(float(each) for each in row) for row in matrix)
    return Balance(rows, "chart", left)  # type: ignore[arg-type]


def _fitted(seen: Array, light: Array, weight: Array) -> Array:
    found, *_ = np.linalg.lstsq(seen * weight[:, None], light * weight[:, None], rcond=None)
    return np.asarray(found.T)


def _uneven(light: Array, places: Array) -> float:
    """Give by how much L* differs over a patch from end to end, by a plane laid through its tiles."""
    lightness = lab_of_light(light)[:, 0]
    ground = np.column_stack((np.ones(len(places)), places))
    found, *_ = np.linalg.lstsq(ground, lightness, rcond=None)
    return float(np.ptp(ground @ found))


def _refused(where: str, found: str, allowed: str, advice: str) -> BadInputError:
    return BadInputError(Problem(slug="card-refused", where=where, found=found, allowed=allowed, advice=advice))
