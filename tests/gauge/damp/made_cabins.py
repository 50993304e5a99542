"""Insides of cars made by arithmetic, to hold the comparing of damp against.

Dry places read 6 to 14 per cent, by 15 % apart for what they are made of; a wet one reads 1.5 to 4 times that. A meter
is off by 5 % and half a point from reading to reading, and one reading in twenty is wrong: 0.4 to 0.8 or 1.3 to 4
times. All of it is ours, chosen beforehand: common practice, no source.
"""

from __future__ import annotations

import numpy as np

from shutline.car.readings import Reading
from shutline.gauge.damp import DampPlace

PLACES = (
    *(DampPlace("carpet", words=spot) for spot in ("near front", "off front", "near rear", "off rear")),
    DampPlace("boot_floor"),
    DampPlace("headlining"),
    DampPlace("parcel_shelf"),
    DampPlace("dash"),
)


def make_cabin(seed: int, wet: int, *, readings: int = 2) -> tuple[tuple[Reading, ...], dict[DampPlace, float]]:
    """Make the readings of one inside with so many wet places; gives them, and how many times wetter each place is."""
    rng = np.random.default_rng([seed, wet])
    ground = rng.uniform(6, 14)
    times = dict.fromkeys(PLACES, 1.0)
    for i in rng.permutation(len(PLACES))[:wet]:
        times[PLACES[i]] = float(rng.uniform(1.5, 4))
    found = []
    for place, factor in times.items():
        level = ground * np.exp(rng.normal(0, 0.15)) * factor
        for _ in range(readings):
            value = level * np.exp(rng.normal(0, 0.05)) + rng.normal(0, 0.5)
            if rng.random() < 0.05:
                low, high = (0.4, 0.8) if rng.random() < 0.5 else (1.3, 4)
                value *= float(np.exp(rng.uniform(np.log(low), np.log(high))))
            figure = float(np.clip(round(value), 0, 100))
            found.append(
                Reading(
                    "moisture",
                    figure,
                    "%",
                    float(np.hypot(0.05 * figure + 1, 1) / np.sqrt(3)),
                    place.part,
                    spot=place.words,
                    instrument="moisture_meter",
                )
            )
    return tuple(found), times
