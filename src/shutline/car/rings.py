"""Rings: where on a still, or on a picture taken by hand, the place of a finding is, as a person marked it."""

from __future__ import annotations

import math
from dataclasses import dataclass

from shutline.car.carfile import CarFile, KeptFinding
from shutline.car.changes import Change
from shutline.car.findings import FootingKind

LEAST_RADIUS, MOST_RADIUS = 0.01, 0.5


@dataclass(frozen=True, slots=True)
class Circle:
    """A circle on a picture that stands upright, as it is shown.

    `x` is its middle from the left as a share of the width, `y` from the top as a share of the height, both 0 to 1;
    `radius` is a share of the width, 0.01 to 0.5.
    """

    x: float
    y: float
    radius: float

    def __post_init__(self) -> None:
        """Refuse a circle whose middle lies outside the picture, or of a size that shows nothing."""
        if not (
            all(math.isfinite(one) and 0.0 <= one <= 1.0 for one in (self.x, self.y))
            and LEAST_RADIUS <= self.radius <= MOST_RADIUS
        ):
            raise ValueError(
                f"{self.x:g},{self.y:g} and {self.radius:g}: x and y from 0 to 1, "
                f"the radius from {LEAST_RADIUS} to {MOST_RADIUS}"
            )


@dataclass(frozen=True, slots=True)
class Ring:
    """A ring in the store; one that was taken back is kept and does not hold.

    `picture` is the SHA-256 of the still's file, or of the picture's, so that the same bytes have one ring for a
    finding. The last of `changes` tells by whom and when.
    """

    id: str
    finding: str
    picture: str
    circle: Circle
    holds: bool = True
    version: int = 1
    changes: tuple[Change, ...] = ()


@dataclass(frozen=True, slots=True)
class Shows:
    """A still or a picture that shows a finding, upright.

    `sha256` names its file, `width` and `height` are in pixels. `at_s` is the moment of a still in its recording,
    seconds; `picture` the id of a picture taken by hand, empty for a still.
    """

    sha256: str
    width: int
    height: int
    at_s: float | None = None
    picture: str = ""


def shows_of(file: CarFile, kept: KeptFinding) -> tuple[Shows, ...]:
    """Give what shows a finding, each file once: its stills, then the pictures it stands on."""
    seen = {one.source for one in kept.finding.footings if one.kind is FootingKind.SEEN}
    found: dict[str, Shows] = {}
    for still in kept.stills:
        found.setdefault(still.sha256, Shows(still.sha256, still.width, still.height, still.at_s))
    for one in file.pictures:
        if one.id in seen:
            shows = Shows(one.original.sha256, one.width, one.height, picture=one.id)
            found.setdefault(shows.sha256, shows)
    return tuple(found.values())
