"""From the price of one car to the estimate of another, step by step, in pounds that add up."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Step:
    """A difference: `pounds` are what it adds or takes, `doubt` their standard deviation."""

    what: str
    pounds: int
    doubt: int


@dataclass(frozen=True, slots=True)
class Bridge:
    """`start` and the pounds of all steps add up to `end`."""

    car: str
    start: int
    steps: tuple[Step, ...]
    end: int


def bridge_of(car: str, start: float, end: float, steps: Mapping[str, tuple[float, float]]) -> Bridge:
    """Share the way from one price to the other out over what it is made of.

    Effects multiply, pounds add: each effect gets its logarithm times the logarithmic mean of both prices, so that no
    order of the steps is better than another (B. W. Ang, Energy Policy 32, 2004: the logarithmic mean Divisia index).

    Parameters
    ----------
    car : str
        What the first price is called.
    start, end : float
        Pounds, more than nought.
    steps : mapping of str to (float, float)
        Logarithm of each effect and its standard deviation; they add up to the logarithm of `end` over `start`.

    Raises
    ------
    ValueError
        They do not.

    Examples
    --------
    >>> found = bridge_of("A", 100, 200, {"young": (math.log(4), 0.1), "worn": (-math.log(2), 0.1)})
    >>> [(one.what, one.pounds) for one in found.steps]
    [('young', 200), ('worn', -100)]
    """
    way = math.log(end / start)
    if abs(math.fsum(one for one, _ in steps.values()) - way) > 1e-6:
        raise ValueError("the steps do not add up to the way from one price to the other")
    mean = (end - start) / way if abs(way) > 1e-9 else end
    pounds = _whole([one * mean for one, _ in steps.values()], round(end) - round(start))
    found = tuple(
        Step(what, amount, round(doubt * mean))
        for (what, (_, doubt)), amount in zip(steps.items(), pounds, strict=True)
    )
    return Bridge(car, round(start), found, round(end))


def _whole(amounts: Sequence[float], total: int) -> list[int]:
    """Round so that the sum is right: the largest remainders are rounded up."""
    found = [math.floor(one) for one in amounts]
    order = sorted(range(len(amounts)), key=lambda at: (found[at] - amounts[at], at))
    if not order:
        return found
    rest = total - sum(found)
    for number in range(abs(rest)):
        found[order[number % len(order)] if rest > 0 else order[-1 - number % len(order)]] += 1 if rest > 0 else -1
    return found
