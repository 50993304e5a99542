"""What tells side and end at each token: for the network, which may not tell near from off itself."""

from __future__ import annotations

from bisect import bisect_right
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from shutline.remarks.ground import Ground
from shutline.remarks.regions import regions
from shutline.remarks.stance import OPPOSITE, Stance

NEITHER = -1
ENDS = ("front", "rear")
_EVEN = 0.5


@dataclass(frozen=True, slots=True)
class Bearings:
    """Sides and ends along the T tokens of one text.

    `side` is 0 where the near side is said, 1 where the off side, -1 elsewhere, with 'this' and 'other' settled; `near`
    is the chance, in [0, 1], that the walk is along the near side by then. `end` is 0 where the front is said or a part
    named that lies there, 1 for the rear, -1 elsewhere; `front` is 1 where the front was the last to be said, 0 where
    the rear, 0.5 where neither.
    """

    side: npt.NDArray[np.int64]
    near: npt.NDArray[np.float32]
    end: npt.NDArray[np.int64]
    front: npt.NDArray[np.float32]


def bearings(size: int, at: Ground, walked: Stance) -> Bearings:
    """Lay what the stages before know of sides and ends on the tokens; `size` is their count."""
    table = regions()
    side, end = (np.full(size, NEITHER, dtype=np.int64) for _ in range(2))
    near, front = (np.full(size, _EVEN, dtype=np.float32) for _ in range(2))
    for number, mention in enumerate(at.named):
        own = walked.own[number]
        if own in OPPOSITE:
            side[mention.first] = int(own == "off")
        lies = mention.position or (table.end.get(mention.parts[0], "") if len(mention.parts) == 1 else "")
        if lies in ENDS:
            end[mention.first] = ENDS.index(lies)
        until = at.firsts[number + 1] if number + 1 < len(at.firsts) else size
        near[mention.first : until] = walked.near[number]
        front[mention.first : until] = {"front": 1.0, "rear": 0.0}.get(walked.end[number], _EVEN)
    for place, said, position, region in at.places:
        number = bisect_right(at.firsts, place) - 1
        along = walked.walk[number] if number >= 0 else ""
        real = along if said == "this" else OPPOSITE.get(along, "") if said == "other" else said
        if real in OPPOSITE:
            side[place] = int(real == "off")
        lies = position or region
        if lies in ENDS:
            end[place] = ENDS.index(lies)
    return Bearings(side, near, end, front)
