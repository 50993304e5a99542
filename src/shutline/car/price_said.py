"""What people said of a car that its price is worked out with: what it is called, and figures of their own."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

from shutline.car.changes import Change

Figures = Mapping[str, float | str]


@dataclass(frozen=True, slots=True)
class PriceSaid:
    """What holds for one car; each is kept by its name, and what is not named is as the program takes it.

    `attributes` are as the comparables call them, as text, an empty one for what is not to be noted. `figures` are the
    allowed chance of a loss and what else goes into the most to pay, in place of the firm's settings. The last of
    `changes` tells by whom and when.
    """

    id: str
    attributes: Mapping[str, str] = field(default_factory=dict)
    figures: Figures = field(default_factory=dict)
    version: int = 1
    changes: tuple[Change, ...] = ()
