"""Cars made by arithmetic, to hold the model of paint film against: layers in µm that add up, not the model's own form.

A car has a finish of 60 to 400 µm, evenly in logarithm. Its panels differ by 8 %, level ones carry 6 % more than
upright ones, film runs by up to 8 % from one end of a panel to the other and from top to bottom, and spots scatter by
5 %. A gauge is off by 1.5 % for the whole car, and by 2 % and 1 µm from reading to reading; one reading in twenty is
wrong: 0.3 to 0.8 or 1.3 to 6 times. Paint put on later adds 60 to 200 µm, 12 % unevenly; filler a mound of 300 to 2000
µm over a quarter of the panel's length. All of it is ours, chosen beforehand: common practice, no source.
"""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np

from shutline.car.findings import Position, Side
from shutline.car.readings import Reading
from shutline.gauge.paint.results import Panel

N, OFF, F, R = Side.NEAR, Side.OFF, Position.FRONT, Position.REAR
PANELS = (
    Panel("bonnet"),
    Panel("roof"),
    Panel("boot_lid"),
    *(Panel("front_wing", side) for side in (N, OFF)),
    *(Panel("door", side, end) for side in (N, OFF) for end in (F, R)),
    *(Panel("rear_wing", side) for side in (N, OFF)),
    *(Panel("sill", side) for side in (N, OFF)),
)
LEVEL = frozenset({"bonnet", "roof", "boot_lid"})
SPOTS = (
    ("top front", 0.0, 1.0),
    ("bottom rear", 1.0, 0.0),
    ("middle", 0.5, 0.5),
    ("bottom front", 0.0, 0.0),
    ("top rear", 1.0, 1.0),
)
# In the order in which paint fades out: one side of the car from nose to tail.
ROW = {
    side: (Panel("front_wing", side), Panel("door", side, F), Panel("door", side, R), Panel("rear_wing", side))
    for side in (N, OFF)
}
KINDS = ("none", "respray", "stripped", "blend", "filler", "several", "whole")


@dataclass(frozen=True, slots=True)
class MadeCar:
    """The readings, and what was done to which panel.

    `own_um` is what the panels were drawn around. `touched` are the filled panels of which a spot lies
    on the mound; `factor` is how many times `own_um` each panel carries now.
    """

    readings: tuple[Reading, ...]
    own_um: float
    worked: frozenset[Panel] = frozenset()
    filled: frozenset[Panel] = frozenset()
    touched: frozenset[Panel] = frozenset()
    faded: frozenset[Panel] = frozenset()
    factor: dict[Panel, float] = field(default_factory=dict)


def make_car(seed: int, kind: str, *, spots: int = 5, readings: int = 3, panels: int = len(PANELS)) -> MadeCar:
    """Make a car; the same seed always makes the same."""
    rng = np.random.default_rng([seed, KINDS.index(kind)])
    read = PANELS if panels >= len(PANELS) else tuple(PANELS[i] for i in sorted(rng.permutation(len(PANELS))[:panels]))
    own = float(np.exp(rng.uniform(np.log(60), np.log(400))))
    # Film at each spot of each panel, µm.
    film: dict[Panel, np.ndarray] = {}
    for panel in read:
        level = own * np.exp(rng.normal(0, 0.08)) * (1.06 if panel.part in LEVEL else 1.0)
        run = rng.uniform(-0.04, 0.04, 2)
        film[panel] = np.array(
            [level * (1 + run @ np.array([2 * along - 1, 2 * up - 1])) for _, along, up in SPOTS[:spots]]
        ) * np.exp(rng.normal(0, 0.05, spots))
    own *= 1.06 ** (sum(panel.part in LEVEL for panel in read) / len(read))
    worked: set[Panel] = set()
    touched: set[Panel] = set()
    filled: set[Panel] = set()
    faded: set[Panel] = set()

    def coat() -> np.ndarray:
        return np.asarray(rng.uniform(60, 200) * np.exp(rng.normal(0, 0.12, spots)))

    if kind in {"respray", "several"}:
        count = 1 if kind == "respray" else max(1, round(0.4 * len(read)))
        for i in rng.permutation(len(read))[:count]:
            film[read[i]] = film[read[i]] + coat()
            worked.add(read[i])
    elif kind == "stripped":
        panel = read[rng.integers(len(read))]
        film[panel] = 30 + coat()
        worked.add(panel)
    elif kind == "blend":
        row = ROW[(N, OFF)[rng.integers(2)]]
        at = int(rng.integers(3))
        first, second = row[at], row[at + 1]
        new = coat()
        if first in film:
            film[first] = film[first] + new
            worked.add(first)
        if second in film:
            film[second] = film[second] + new * np.array([1 - along for _, along, _ in SPOTS[:spots]])
            faded.add(second)
    elif kind == "filler":
        panel = read[rng.integers(len(read))]
        at, wide, high = rng.uniform(0, 1, 2), 0.25, rng.uniform(300, 2000)
        away = np.array([(along - at[0]) ** 2 + (up - at[1]) ** 2 for _, along, up in SPOTS[:spots]])
        mound = high * np.exp(-0.5 * away / wide**2)
        film[panel] = film[panel] + mound + rng.uniform(60, 150) * (mound > 5)
        filled.add(panel)
        if (film[panel] > 2 * own).any():
            touched.add(panel)
    elif kind == "whole":
        extra = rng.uniform(60, 200)
        for panel in read:
            film[panel] = film[panel] + extra * np.exp(rng.normal(0, 0.12)) * np.exp(rng.normal(0, 0.05, spots))
    factor = {panel: float(values.mean() / own) for panel, values in film.items()}
    return MadeCar(
        _read(film, rng, readings),
        own,
        frozenset(worked),
        frozenset(filled),
        frozenset(touched),
        frozenset(faded),
        factor,
    )


def _read(film: dict[Panel, np.ndarray], rng: np.random.Generator, count: int) -> tuple[Reading, ...]:
    off = float(np.exp(rng.normal(0, 0.015)))
    found = []
    for panel, values in film.items():
        for j, true in enumerate(values):
            for _ in range(count):
                value = true * off * np.exp(rng.normal(0, 0.02)) + rng.normal(0, 1)
                if rng.random() < 0.05:
                    low, high = (0.3, 0.8) if rng.random() < 0.5 else (1.3, 6)
                    value *= float(np.exp(rng.uniform(np.log(low), np.log(high))))
                figure = float(np.clip(round(value), 0, 5000))
                found.append(
                    Reading(
                        "paint_film",
                        figure,
                        "um",
                        float(np.hypot(0.03 * figure, 2) / np.sqrt(3)),
                        panel.part,
                        panel.side,
                        panel.position,
                        spot=SPOTS[j][0],
                        series=f"{panel.name} {j}",
                        details={"method": "magnetic"},
                        instrument="paint_gauge",
                    )
                )
    return tuple(found)
