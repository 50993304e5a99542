"""What people decided about the preparation of a car: what is refused, what was promised, how much may be spent."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

from shutline.car.changes import Change


class PrepKind(StrEnum):
    """What a decision is about."""

    REFUSED = "refused"
    """A task is not to be done; `about` is its id, `words` the reason."""
    PROMISED = "promised"
    """Somebody was promised that a finding would be put right; `about` is its id, `words` what was promised."""
    BUDGET = "budget"
    """What may be spent without tax, `pence`; `words` are in how many of a hundred it is to be kept to, as 90, and
    empty where the expected cost is held against it."""
    ASKING = "asking"
    """What is to be asked for the car, `pence`."""


@dataclass(frozen=True, slots=True)
class PrepDecision:
    """A decision in the store; one that was taken back is kept and does not hold.

    `words` are empty and `pence` None where the kind has none. The last of `changes` tells by whom and when.
    """

    id: str
    kind: PrepKind
    about: str
    words: str
    pence: int | None
    holds: bool
    version: int = 1
    changes: tuple[Change, ...] = ()
