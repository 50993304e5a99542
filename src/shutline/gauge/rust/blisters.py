"""Blisters rated by eye, against pictures that the program draws."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from shutline.car.errors import BadInputError, Problem
from shutline.gauge.rust.settings import settings, words

SOURCE = "in the manner of ISO 4628-2:2016 (sizes 2 to 5, each at densities 2 to 5); the pictures are our own"


@dataclass(frozen=True, slots=True)
class Blisters:
    """Blisters as somebody rated them: density and size, 2 to 5, or both 0 for none."""

    density: int
    size: int
    called: str
    sentence: str
    cautions: tuple[str, ...]
    good_for: str
    who_decides: str
    source: str = SOURCE


def rated(density: int, size: int) -> Blisters:
    """Keep a rating by eye.

    Parameters
    ----------
    density, size : int
        By the drawn pictures, 2 to 5; both 0 where there are none.

    Raises
    ------
    BadInputError
        Slug ``blister-rating``: there is no such picture.
    """
    rules = settings().blisters
    none = density == 0 and size == 0
    if not none and (density not in rules.densities or size not in rules.sizes):
        raise BadInputError(
            Problem(
                slug="blister-rating",
                where="blisters",
                found=f"density {density}, size {size}",
                allowed="2 to 5 for both, or 0 for both where there are none; smaller ones are not rated by eye",
                advice="Hold the drawn pictures beside the panel and take the nearest.",
            )
        )
    called = "0" if none else f"{density}(S{size})"
    said = "No blisters were seen." if none else f"Blisters {called}, density and size, by eye."
    return Blisters(
        density, size, called, said, (words()["blisters"],), words()["blisters_good_for"], words()["who_decides"]
    )


def blister_svg(density: int, size: int) -> str:
    """Draw the picture of a density and a size, to scale in millimetres; errors as for `rated`.

    Discs lie at random, none over another, until they cover what their density has; the same each time.
    """
    rated(density, size)
    rules = settings().blisters
    radius = rules.diameters_mm[rules.sizes.index(size)] / 2
    covered = rules.covered[rules.densities.index(density)]
    field = rules.field_mm
    count = max(1, round(covered * field**2 / (math.pi * radius**2)))
    rng = np.random.default_rng((rules.seed, density, size))
    placed = np.empty((0, 2))
    while len(placed) < count:
        fresh = rng.uniform(radius, field - radius, 2)
        if not len(placed) or ((placed - fresh) ** 2).sum(axis=1).min() > (2.1 * radius) ** 2:
            placed = np.vstack((placed, fresh))
    discs = "".join(
        f'<circle cx="{x:.2f}" cy="{y:.2f}" r="{radius:g}"/>'
        f'<path d="M{x - 0.6 * radius:.2f} {y - 0.3 * radius:.2f}a{0.7 * radius:.2f} {0.7 * radius:.2f} 0 0 1 '
        f'{0.8 * radius:.2f} {-0.4 * radius:.2f}"/>'
        for x, y in placed
    )
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" width="{field:g}mm" height="{field:g}mm" '
        f'viewBox="0 0 {field:g} {field:g}" role="img" aria-label="Blisters of density {density} and size {size}">'
        f'<rect width="{field:g}" height="{field:g}" fill="#e9e2d4"/>'
        f'<g fill="#d3c8b2" stroke="#6b6254" stroke-width="{max(0.08, 0.07 * radius):.2f}">{discs}</g></svg>'
    )
