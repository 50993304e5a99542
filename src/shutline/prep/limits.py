"""What a choice of tasks must not go beyond: money, hours of each trade, days of each bay."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field, replace


@dataclass(frozen=True, slots=True)
class Limits:
    """What must not be gone beyond; what is not given has no limit.

    `money_pence` is held against the expected cost, or against the `quantile` in [0.5, 1) of the draws of the cost.
    `minutes` are by trade, `bay_days` by bay.
    """

    money_pence: int | None = None
    quantile: float | None = None
    minutes: Mapping[str, int] = field(default_factory=dict)
    bay_days: Mapping[str, float] = field(default_factory=dict)

    def __post_init__(self) -> None:
        if self.quantile is not None and not 0.5 <= self.quantile < 1:
            raise ValueError(f"quantile {self.quantile!r}: from 0.5 to below 1 is needed")

    def names(self) -> tuple[str, ...]:
        """Give the names of the limits there are: ``money``, ``hours TRADE``, ``bay NAME``."""
        money = () if self.money_pence is None else ("money",)
        return (
            *money,
            *(f"hours {one}" for one in sorted(self.minutes)),
            *(f"bay {one}" for one in sorted(self.bay_days)),
        )

    def without(self, name: str) -> Limits:
        """Give the same without one of them."""
        kind, _, of = name.partition(" ")
        if kind == "money":
            return replace(self, money_pence=None)
        if kind == "hours":
            return replace(self, minutes={one: most for one, most in self.minutes.items() if one != of})
        return replace(self, bay_days={one: most for one, most in self.bay_days.items() if one != of})


def most_of(limits: Limits, name: str) -> float:
    """Give the most that a limit of this name allows."""
    kind, _, of = name.partition(" ")
    if kind == "money":
        return math.inf if limits.money_pence is None else limits.money_pence
    return limits.minutes[of] if kind == "hours" else limits.bay_days[of]


def over(used: Mapping[str, float], limits: Limits) -> tuple[str, ...]:
    """Give the names of the limits that what is used goes beyond."""
    return tuple(name for name, much in used.items() if much > most_of(limits, name) + 1e-6)


@dataclass(frozen=True, slots=True)
class Deadline:
    """A day by which all has to be done.

    `fits` tells of a set of task ids whether it can be; a larger set is taken to be no quicker. `rows` are sums that
    each set which can be keeps to: what each task takes of something, and how much of it there is until then. `late`
    are sets that were found not to fit, each as small as it can be.
    """

    fits: Callable[[frozenset[str]], bool]
    rows: tuple[tuple[Mapping[str, float], float], ...] = ()
    late: list[frozenset[str]] = field(default_factory=list, compare=False)
