"""Whether one third of a panel carries more than the rest of it.

Either all spots of a panel share one level, or those of one third of its height or length lie above the others by a
half-normal amount; each spot scatters as spots of this car do, or is wrong altogether. The two are weighed against each
other for each third that was read beside another, over grids of level and amount, in natural logarithms. How likely an
uneven panel is beforehand, and the scale of the amount, are data.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence

import numpy as np
from numpy.typing import NDArray

from shutline.gauge.paint.results import Gradient, PaintSpot
from shutline.gauge.paint.tables import settings, words
from shutline.gauge.usual import as_interval

_Array = NDArray[np.float64]
_THIRDS = {
    "along": (("front", 0.0, 1 / 3), ("middle_along", 1 / 3, 2 / 3), ("rear", 2 / 3, 1.0)),
    "up": (("bottom", 0.0, 1 / 3), ("middle_up", 1 / 3, 2 / 3), ("top", 2 / 3, 1.0)),
}


def gradient_of(spots: Sequence[PaintSpot], spreads: Sequence[tuple[float, float]]) -> Gradient | None:
    """Find the third that most likely carries more than the rest.

    Parameters
    ----------
    spots : sequence of PaintSpot
        Of one panel. A spot whose place was not told counts with the rest.
    spreads : sequence of (float, float)
        How much spots of this car scatter, logarithm, each with its probability.

    Returns
    -------
    Gradient or None
        None where no third was read beside another.
    """
    thirds = list(_thirds(spots))
    if not thirds:
        return None
    own = settings()
    step = own.usual.step
    amounts: _Array = np.arange(1, math.ceil(4 * own.gradient.spread / step), dtype=np.float64) * step
    prior: _Array = np.exp(-0.5 * (amounts / own.gradient.spread) ** 2)
    prior /= prior.sum()
    share = own.gradient.share / len(thirds)
    sureness = 0.0
    found = np.zeros((len(thirds), len(amounts)))
    for spread, probability in spreads:
        logs = _spot_logs(spots, spread, len(amounts))
        even = _summed(logs.sum(axis=0))
        odds = np.array([share * _amounts(logs, inside, amounts, prior, even) for _, inside in thirds])
        total = 1 - own.gradient.share + odds.sum()
        sureness += probability * float(odds.sum() / total)
        found += probability * odds / total
    best = int(found.sum(axis=1).argmax())
    zone = thirds[best][0]
    return Gradient(
        zone=zone,
        words=words()["zones"][zone],
        ratio=as_interval(amounts, found[best], own.told.level),
        sureness=sureness,
    )


def _thirds(spots: Sequence[PaintSpot]) -> Iterator[tuple[str, tuple[int, ...]]]:
    for axis, parts in _THIRDS.items():
        for zone, low, high in parts:
            inside = tuple(i for i, spot in enumerate(spots) if _lies(getattr(spot, axis), low, high))
            if inside and len(inside) < len(spots):
                yield zone, inside


def _lies(at: float | None, low: float, high: float) -> bool:
    return at is not None and (low <= at < high or at == high == 1.0)


def _spot_logs(spots: Sequence[PaintSpot], spread: float, room: int) -> _Array:
    """Give the logarithm of the likelihood of each spot, by spot and level; `room` steps are left below the lowest."""
    own = settings().usual
    held = np.array([min(max(spot.mean_um, own.lowest), own.highest) for spot in spots])
    y = np.log(held)
    u = np.array([spot.uncertainty_um for spot in spots]) / held
    wrong = np.array([own.wrong[min(spot.repeated, len(own.wrong)) - 1] for spot in spots])
    levels = np.arange(y.min() - room * own.step, y.max() + 0.5, own.step)
    variance = (spread**2 + u**2)[:, None]
    normal = np.exp(-0.5 * (y[:, None] - levels) ** 2 / variance) / np.sqrt(2 * math.pi * variance)
    wild = wrong / math.log(own.highest / own.lowest)
    return np.asarray(np.log((1 - wrong)[:, None] * normal + wild[:, None]))


def _summed(logs: _Array) -> float:
    top = float(logs.max())
    return top + math.log(float(np.exp(logs - top).sum()))


def _amounts(logs: _Array, inside: tuple[int, ...], amounts: _Array, prior: _Array, even: float) -> _Array:
    """Weigh each amount by which the spots inside lie above the others, beside an even panel."""
    within = logs[list(inside)].sum(axis=0)
    rest = np.delete(logs, list(inside), axis=0).sum(axis=0)
    top = float(within.max() + rest.max())
    shifted = np.correlate(np.exp(within - within.max()), np.exp(rest - rest.max()), mode="full")
    by_amount = shifted[len(rest) : len(rest) + len(amounts)]
    weighed = np.zeros(len(amounts))
    weighed[: len(by_amount)] = by_amount * math.exp(min(max(top - even, -700.0), 700.0))
    return np.asarray(weighed * prior)
