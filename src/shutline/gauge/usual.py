"""What is usual on this car, and which of its places have more of it or less: a model that robs no majority.

One figure is measured at many places of one car: paint film on panels, moisture in carpets. Most places share one
ground, the car's own; some have something more on the whole of them, a few less, and some have more at a spot only.
Nobody knows beforehand what the car's own ground is, how much its places differ from each other, nor how many of them
were worked on. In natural logarithms, for place *i* and spot *j* of it::

    spot     y_ij = m_i + e_ij,   e_ij ~ N(0, s² + u_ij²)   or, in a place with something local, more by Gamma(2)
                                                            or a wrong reading, anywhere in the range
    place    m_i ~ N(g, t²)       own ground, or            share 1 - p - q
             g + Gamma(2)         something more, or        share p
             g - Gamma(2)         something less            share q
    car      g, s, t, p           unknown, with wide priors

All of it is summed over grids of g, s, t, p and m: no sampling, no starting point, the same answer twice. What comes
out are probabilities and intervals under these priors; how well they hold on cars made by other rules is measured in
docs/paint.md.

Source: common practice for mixtures and hierarchical models (Gelman et al., Bayesian Data Analysis, chapters 5 and 22,
from memory); the make-up of the model and its priors are ours.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

_Array = NDArray[np.float64]
# Nodes of the ground that hold less than this share of the likeliest one are left out of the second pass.
_NEGLIGIBLE = 1e-6


@dataclass(frozen=True, slots=True)
class UsualSettings:
    """Priors and grids, read from the data of whoever asks.

    `lowest` and `highest` bound the figures, in their unit: what lies beyond is brought to the bound, and a wrong
    reading may lie anywhere between. `step` is that of the grids, in logarithm. `ground` is the middle of what the
    car's own ground may be and its spread (logarithm). `place_spread`, `spot_spread` and `more_share` are grids:
    values, each with its weight. `more_scale`, `less_scale` and `local_scale` are the scales of the Gamma(2)
    distributions, logarithm. `local_places` is the share of places with something local, `local_spots` the share of
    their spots that have it. `wrong` is how often a spot of one, two, three or more readings is wrong altogether.
    """

    lowest: float
    highest: float
    step: float
    ground: tuple[float, float]
    place_spread: tuple[tuple[float, float], ...]
    spot_spread: tuple[tuple[float, float], ...]
    more_share: tuple[tuple[float, float], ...]
    more_scale: float
    less_share: float
    less_scale: float
    local_places: float
    local_spots: float
    local_scale: float
    wrong: tuple[float, ...]


@dataclass(frozen=True, slots=True)
class Measured:
    """The mean of one spot, its standard uncertainty in the same unit, and how many readings it is of."""

    value: float
    uncertainty: float
    readings: int = 1


@dataclass(frozen=True, slots=True)
class Interval:
    """A figure with the bounds that hold it with the probability `level`."""

    figure: float
    low: float
    high: float
    level: float


@dataclass(frozen=True, slots=True)
class PlaceUsual:
    """One place beside the car's own ground.

    `level` is its own figure, in the unit; `ratio` how many times the car's ground that is. `own`, `more` and `less`
    are the probabilities that the place as a whole is of the car's own ground, or has something more, or less: they add
    up to one. `local` is the probability that some of its spots have more than the place itself; `spots` the same of
    each spot. `plain` is the probability that it is of the car's own ground throughout.
    """

    level: Interval
    ratio: Interval
    own: float
    more: float
    less: float
    local: float
    plain: float
    spots: tuple[float, ...]


@dataclass(frozen=True, slots=True)
class Usual:
    """The car's own ground, in the unit, and each place beside it, in the order given.

    `place_spread` and `spot_spread` are standard deviations in logarithm: how much places differ from each other, and
    the spots within one. `spot_spreads` are the values that were weighed, each with its probability.
    """

    ground: Interval
    place_spread: float
    spot_spread: float
    spot_spreads: tuple[tuple[float, float], ...]
    places: tuple[PlaceUsual, ...]
    step: float
    levels: tuple[tuple[float, ...], ...]
    """The probability of each level of each place, on one grid in steps of `step`."""

    def between(self, one: int, other: int, *, at_least: float = 1.0) -> tuple[Interval, float]:
        """Give how many times the level of one place is that of another, and how surely at least `at_least` times.

        Both are given by their index. The two levels are taken as independent, which widens the interval a little.
        """
        a, b = np.asarray(self.levels[one]), np.asarray(self.levels[other])
        apart = np.convolve(a, b[::-1])
        steps = (np.arange(len(apart)) - (len(b) - 1)) * self.step
        surely = float(apart[steps >= math.log(at_least) - 1e-9].sum())
        return as_interval(steps, apart, self.ground.level), min(1.0, surely)


def weigh(places: Sequence[Sequence[Measured]], settings: UsualSettings, *, level: float = 0.95) -> Usual:
    """Find the car's own ground and hold each place against it.

    Parameters
    ----------
    places : sequence of sequence of Measured
        At least one place, each with at least one spot.
    settings : UsualSettings
    level : float
        Probability that the intervals hold.

    Raises
    ------
    ValueError
        There is no place, or one without a spot.
    """
    if not places or not all(places):
        raise ValueError("places to weigh: none, or one without a spot; allowed: at least one spot for each place")
    grid = _Grid(places, settings)
    return grid.usual(level)


class _Grid:
    """The sums over all unknowns; arrays are indexed i place, s spot spread, t place spread, a ground, p share, m."""

    def __init__(self, places: Sequence[Sequence[Measured]], settings: UsualSettings) -> None:
        self.settings = settings
        self.counts = [len(place) for place in places]
        flat = [spot for place in places for spot in place]
        held = [min(max(spot.value, settings.lowest), settings.highest) for spot in flat]
        self.y = np.log(held)
        self.u = np.array([spot.uncertainty / value for spot, value in zip(flat, held, strict=True)])
        self.wrong = np.array([settings.wrong[min(spot.readings, len(settings.wrong)) - 1] for spot in flat])
        low, high = self.y.min() - 1.2, self.y.max() + 0.8
        self.m: _Array = np.arange(math.floor(low / settings.step), math.ceil(high / settings.step) + 1) * settings.step
        self.s, self.s_prior = _weighted(settings.spot_spread)
        self.t, self.t_prior = _weighted(settings.place_spread)
        self.p, self.p_prior = _weighted(settings.more_share)
        self._spots()
        self._grounds()

    def _spots(self) -> None:
        """Weigh the spots of each place for every level and every spread: plain, and with something local."""
        own = self.settings
        apart = self.y[:, None] - self.m
        variance = self.s[:, None] ** 2 + self.u**2
        normal = np.exp(-0.5 * apart**2 / variance[..., None]) / np.sqrt(2 * math.pi * variance)[..., None]
        wild = 1.0 / math.log(own.highest / own.lowest)
        wrong = self.wrong[:, None]
        more = own.local_spots * _gamma(apart, own.local_scale)
        plain = (1 - wrong) * normal + wrong * wild
        local = (1 - wrong) * ((1 - own.local_spots) * normal + more) + wrong * wild
        self.spot_more = (1 - wrong) * more / local
        starts = np.concatenate([[0], np.cumsum(self.counts)[:-1]])
        log_plain = np.add.reduceat(np.log(plain), starts, axis=1).swapaxes(0, 1)
        log_local = np.add.reduceat(np.log(local), starts, axis=1).swapaxes(0, 1)
        top = np.maximum(log_plain, log_local).max(axis=(1, 2), keepdims=True)
        self.plain = (1 - own.local_places) * np.exp(log_plain - top)
        self.local = own.local_places * np.exp(log_local - top)
        self.starts = starts

    def _grounds(self) -> None:
        """Weigh every ground with its spreads and shares by all places together."""
        own = self.settings
        self.a = self.m
        middle, spread = own.ground
        prior = np.exp(-0.5 * ((self.a - math.log(middle)) / spread) ** 2) + 1e-300
        self._kinds()
        both = self.plain + self.local
        least = 1 - own.less_share
        as_own = np.einsum("ism,tam->ista", both, self.as_own, optimize=True)
        as_more = np.einsum("ism,am->isa", both, self.as_more, optimize=True)
        as_less = np.einsum("ism,am->isa", both, self.as_less, optimize=True)
        evidence = (
            (least - self.p) * as_own[..., None]
            + (self.p * as_more[..., None] + own.less_share * as_less[..., None])[:, :, None]
        ) + 1e-300
        log_weight = np.log(evidence).sum(axis=0) + np.log(
            self.s_prior[:, None, None, None] * self.t_prior[:, None, None] * prior[:, None] * self.p_prior
        )
        weight = np.exp(log_weight - log_weight.max())
        self.weight = weight / weight.sum()
        kept = self.weight.sum(axis=(0, 1, 3))
        self.kept = np.flatnonzero(kept > _NEGLIGIBLE * kept.max())
        self.evidence = evidence

    def _kinds(self) -> None:
        """Lay out what a place may have for each ground: shares of each step, which beyond the grid are left out."""
        own = self.settings
        apart = self.m - self.a[:, None]
        t = self.t[:, None, None]
        self.as_own = own.step * np.exp(-0.5 * (apart / t) ** 2) / (t * math.sqrt(2 * math.pi))
        self.as_more = own.step * _gamma(apart, own.more_scale)
        self.as_less = own.step * _gamma(-apart, own.less_scale)

    def usual(self, level: float) -> Usual:
        """Gather the sums into the result."""
        weight = self.weight
        over_s = weight.sum(axis=(1, 2, 3))
        over_t = weight.sum(axis=(0, 2, 3))
        over_a = weight.sum(axis=(0, 1, 3))
        results = [self._place(index, level) for index in range(len(self.counts))]
        return Usual(
            ground=as_interval(self.a, over_a, level),
            place_spread=float(math.sqrt(over_t @ self.t**2)),
            spot_spread=float(math.sqrt(over_s @ self.s**2)),
            spot_spreads=tuple(zip(self.s.tolist(), over_s.tolist(), strict=True)),
            places=tuple(place for place, _ in results),
            step=self.settings.step,
            levels=tuple(tuple(levels.tolist()) for _, levels in results),
        )

    def _place(self, i: int, level: float) -> tuple[PlaceUsual, _Array]:
        own, kept = self.settings, self.kept
        part = self.weight[:, :, kept] / self.evidence[i][:, :, kept]
        share_own = (part * (1 - own.less_share - self.p)).sum(axis=3)
        share_more = (part * self.p).sum(axis=(1, 3))
        share_less = own.less_share * part.sum(axis=(1, 3))
        kinds = (
            np.einsum("sta,tam->sam", share_own, self.as_own[:, kept], optimize=True),
            share_more[..., None] * self.as_more[kept],
            share_less[..., None] * self.as_less[kept],
        )
        both = (self.plain + self.local)[i][:, None, :]
        mass = [float((kind * both).sum()) for kind in kinds]
        total = sum(mass)
        # Over kinds, then by spot spread and level, and by ground and level.
        prior = kinds[0] + kinds[1] + kinds[2]
        by_level = prior.sum(axis=1)
        levels = (by_level * (self.plain + self.local)[i]).sum(axis=0) / total
        local = by_level * self.local[i] / total
        apart = (np.arange(len(self.m)) - kept[:, None]).ravel()
        joint = (prior * both).sum(axis=0).ravel() / total
        lowest = int(apart.min())
        ratios = np.bincount(apart - lowest, weights=joint)
        start = int(self.starts[i])
        spots = tuple(float((local * self.spot_more[:, start + j]).sum()) for j in range(self.counts[i]))
        plain = float((kinds[0] * self.plain[i][:, None, :]).sum()) / total
        place = PlaceUsual(
            level=as_interval(self.m, levels, level),
            ratio=as_interval((np.arange(len(ratios)) + lowest) * self.settings.step, ratios, level),
            own=mass[0] / total,
            more=mass[1] / total,
            less=mass[2] / total,
            local=float(local.sum()),
            plain=plain,
            spots=spots,
        )
        return place, levels


def _weighted(pairs: Sequence[tuple[float, float]]) -> tuple[_Array, _Array]:
    values, weights = (np.array(column, dtype=np.float64) for column in zip(*pairs, strict=True))
    return values, weights / weights.sum()


def _gamma(above: Any, scale: float) -> _Array:
    """Give the density of Gamma(2): nought at nought, so that a little more is not called something more."""
    held = np.clip(above, 0.0, None)
    return np.asarray(held / scale**2 * np.exp(-held / scale))


def as_interval(logs: NDArray[Any], mass: NDArray[Any], level: float) -> Interval:
    """Give the middle and the bounds of a distribution over logarithms, as figures; `mass` need not add up to one."""
    share = np.cumsum(mass) / mass.sum()
    # Each node stands for the half step on either side of it.
    middles = share - 0.5 * mass / mass.sum()
    low, middle, high = np.interp([(1 - level) / 2, 0.5, (1 + level) / 2], middles, logs)
    return Interval(math.exp(middle), math.exp(low), math.exp(high), level)
