"""The plane of the card: what a place in the photograph is in millimetres, and how surely.

A homography of eight numbers is laid through the corners by least squares; its covariance is that of the first order
(JCGM 100:2008, 5.1.2 and 5.2.2), with the spread that the corners show.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from shutline.car.errors import BadInputError, Problem
from shutline.gauge.size.card import Array
from shutline.gauge.size.detect import FoundCard
from shutline.gauge.size.settings import settings

_UNIT_MM = 100.0


@dataclass(frozen=True, slots=True)
class Ruler:
    """The printed ruler as it was measured: its true length and its standard uncertainty, millimetres."""

    true_mm: float
    uncertainty_mm: float


@dataclass(frozen=True, slots=True, eq=False)
class Plane:
    """A plane in a photograph.

    `matrix` takes millimetres about `middle_mm`, in hundreds, to pixels about `middle_px` in `unit_px`; its last number
    is one. `covariance` is of its other eight, shape (8, 8). `noise_px` is the standard deviation of a corner about the
    plane, by `freedom` degrees of freedom; `bend_mm` what of it is more than a flat card shows, at `reach_mm` from the
    middle. `scale` is how much longer than meant the card was printed, `scale_uncertainty` its standard uncertainty.
    """

    matrix: Array
    covariance: Array
    middle_mm: Array
    middle_px: Array
    unit_px: float
    noise_px: float
    freedom: int
    bend_mm: float
    reach_mm: float
    scale: float
    scale_uncertainty: float
    checked: bool

    def to_px(self, mm: npt.ArrayLike) -> Array:
        """Give where places of the plane, true millimetres, stand in the picture, pixels; shape (n, 2)."""
        plain = (np.asarray(mm, np.float64) / self.scale - self.middle_mm) / _UNIT_MM
        raised = np.column_stack((plain, np.ones(len(plain)))) @ self.matrix.T
        return np.asarray(raised[:, :2] / raised[:, 2:] * self.unit_px + self.middle_px)

    def places(self, px: npt.ArrayLike, *, pick_px: float) -> tuple[Array, tuple[Array, ...]]:
        """Give places in true millimetres and the parts of their covariance.

        Parameters
        ----------
        px : array_like
            Shape (n, 2), pixels.
        pick_px : float
            Standard uncertainty of each of them, pixels, in each direction.

        Returns
        -------
        places : ndarray
            Shape (n, 2), millimetres on the card.
        parts : tuple of ndarray
            Shape (2n, 2n) each, x and y of the first place first: of the corners, of the picking, of the printed scale,
            of the bend.

        Raises
        ------
        BadInputError
            Slug ``beyond-the-plane``: a place lies at or beyond the horizon of the plane.
        """
        seen = (np.asarray(px, np.float64) - self.middle_px) / self.unit_px
        count = len(seen)
        back = np.linalg.inv(self.matrix)
        raised = np.column_stack((seen, np.ones(count))) @ back.T
        # The middle of the card has the sign of the side of the horizon that can be seen.
        if (raised[:, 2] * back[2, 2] <= 1e-3 * back[2, 2] ** 2).any():
            raise BadInputError(
                Problem(
                    slug="beyond-the-plane",
                    where="picked place",
                    found="a place that the plane of the card never reaches",
                    allowed="places on the panel that the card lies on",
                    advice="Pick on that panel, or lay the card on the one that is to be measured.",
                )
            )
        plain = raised[:, :2] / raised[:, 2:]
        of_corners = np.zeros((2 * count, 8))
        of_picking = np.zeros((2 * count, 2 * count))
        for at, (x, y) in enumerate(plain):
            by_place, by_plane = _derivatives(self.matrix, x, y)
            inverse = np.linalg.inv(by_place)
            rows = slice(2 * at, 2 * at + 2)
            of_picking[rows, rows] = inverse
            of_corners[rows] = -inverse @ by_plane
        factor = self.scale * _UNIT_MM
        mm = (plain * _UNIT_MM + self.middle_mm) * self.scale
        flat = ((plain * _UNIT_MM) * self.scale).ravel()
        away = np.linalg.norm(plain * _UNIT_MM, axis=1) / self.reach_mm
        bend = np.repeat((self.bend_mm * np.maximum(away, 1.0) ** 2) ** 2, 2)
        return mm, (
            factor**2 * of_corners @ self.covariance @ of_corners.T,
            (factor * pick_px / self.unit_px) ** 2 * of_picking @ of_picking.T,
            (self.scale_uncertainty / self.scale) ** 2 * np.outer(flat, flat),
            np.diag(bend),
        )


def plane_of(found: FoundCard, *, ruler: Ruler | None = None) -> Plane:
    """Lay the plane through a card.

    Parameters
    ----------
    found : FoundCard
    ruler : Ruler, optional
        What the printed ruler measures; when left out it is taken to be right to one in a hundred.

    Raises
    ------
    BadInputError
        Slug ``card-bent``: its corners do not lie in one plane; ``ruler-refused``: it is no length of that ruler.
    """
    tuning = settings()
    scale, doubt = _scale(found, ruler)
    middle_mm, middle_px = found.mm.mean(axis=0), found.px.mean(axis=0)
    unit_px = float(np.linalg.norm(found.px - middle_px, axis=1).max())
    plain, seen = (found.mm - middle_mm) / _UNIT_MM, (found.px - middle_px) / unit_px
    matrix = _fitted(plain, seen)
    residuals, slopes = _misfit(matrix, plain, seen)
    freedom = residuals.size - 8
    noise_px = math.sqrt(float(residuals @ residuals) / freedom) * unit_px
    if noise_px > tuning.plane.refused_share * found.side_px:
        raise BadInputError(
            Problem(
                slug="card-bent",
                where="marker card",
                found=f"its corners lie {noise_px:.1f} pixels off one plane",
                allowed=f"up to {tuning.plane.refused_share * found.side_px:.1f} pixels at this size",
                advice="Lay the card flat; on a panel that curves no size is told.",
            )
        )
    flat_px = max(tuning.plane.flat_px, tuning.plane.flat_share * found.side_px)
    mm_a_pixel = found.card.marker_mm * scale / found.side_px
    # What the corners show beyond a flat card's is bend, and bend grows with the square of the distance. Each marker
    # bends as one: its corners count once.
    bend_px = math.sqrt(max(0.0, noise_px**2 - flat_px**2)) * 2
    spread = max(noise_px, tuning.plane.finest_px) / unit_px
    return Plane(
        matrix=matrix,
        covariance=np.asarray(spread**2 * np.linalg.inv(slopes.T @ slopes), np.float64),
        middle_mm=middle_mm,
        middle_px=middle_px,
        unit_px=unit_px,
        noise_px=noise_px,
        freedom=freedom,
        bend_mm=bend_px * mm_a_pixel,
        reach_mm=float(np.linalg.norm(found.mm - middle_mm, axis=1).max()),
        scale=scale,
        scale_uncertainty=doubt,
        checked=ruler is not None,
    )


def _scale(found: FoundCard, ruler: Ruler | None) -> tuple[float, float]:
    meant = found.card.ruler_mm
    if ruler is None:
        return 1.0, 0.01
    tuning = settings().picking
    off = ruler.true_mm / meant - 1
    if not (math.isfinite(off) and abs(off) <= tuning.ruler_off and 0 <= ruler.uncertainty_mm <= meant / 10):
        raise BadInputError(
            Problem(
                slug="ruler-refused",
                where="printed ruler",
                found=f"{ruler.true_mm:g} mm with an uncertainty of {ruler.uncertainty_mm:g} mm",
                allowed=f"{meant * (1 - tuning.ruler_off):.0f} to {meant * (1 + tuning.ruler_off):.0f} mm",
                advice=f"Measure the line on the card that should be {meant:g} mm, from end to end.",
            )
        )
    return 1 + off, ruler.uncertainty_mm / meant


def _fitted(plain: Array, seen: Array) -> Array:
    """Give the homography of least squares in the picture: a linear start, then steps of Gauss and Newton."""
    x, y = plain.T
    one, nought = np.ones(len(plain)), np.zeros(len(plain))
    rows = []
    for at in (0, 1):
        ground = (x, y, one, nought, nought, nought) if at == 0 else (nought, nought, nought, x, y, one)
        rows.append(np.column_stack((*ground, -seen[:, at] * x, -seen[:, at] * y)))
    start, *_ = np.linalg.lstsq(np.concatenate(rows), seen.T.ravel(), rcond=None)
    matrix = np.append(start, 1.0).reshape(3, 3)
    for _ in range(20):
        residuals, slopes = _misfit(matrix, plain, seen)
        step, *_ = np.linalg.lstsq(slopes, residuals, rcond=None)
        matrix = matrix + np.append(step, 0.0).reshape(3, 3)
        if np.abs(step).max() < 1e-12:
            break
    return matrix


def _misfit(matrix: Array, plain: Array, seen: Array) -> tuple[Array, Array]:
    """Give seen less foretold, shape (2n,), and how the foretold changes with the eight numbers, shape (2n, 8)."""
    raised = np.column_stack((plain, np.ones(len(plain)))) @ matrix.T
    foretold = raised[:, :2] / raised[:, 2:]
    slopes = np.concatenate([_derivatives(matrix, x, y)[1] for x, y in plain])
    return (seen - foretold).ravel(), slopes


def _derivatives(matrix: Array, x: float, y: float) -> tuple[Array, Array]:
    """Give how a place's picture changes with the place, shape (2, 2), and with the eight numbers, shape (2, 8)."""
    u, v, w = matrix @ (x, y, 1.0)
    u, v = u / w, v / w
    by_place = np.array(
        (
            (matrix[0, 0] - u * matrix[2, 0], matrix[0, 1] - u * matrix[2, 1]),
            (matrix[1, 0] - v * matrix[2, 0], matrix[1, 1] - v * matrix[2, 1]),
        )
    )
    by_plane = np.array(((x, y, 1, 0, 0, 0, -u * x, -u * y), (0, 0, 0, x, y, 1, -v * x, -v * y)))
    return by_place / w, by_plane / w
