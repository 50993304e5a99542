"""Learn how rust is told from rendered panels, and how far the odds of a whole picture may be wrong.

    python tools/train_rust.py [--panels 160] [--steps colours together doubt] [--write]

Panels 100000 on teach the colours, 200000 on how colour and roughness go together, 300000 on the doubt. With --write
the numbers go into rust.toml and colours.csv of src/shutline/gauge/rust/data, in place of those there; nothing else of
them changes.
"""

from __future__ import annotations

import argparse
import importlib.util
import re
import sys
from collections.abc import Iterator
from pathlib import Path
from types import ModuleType
from typing import Any

import numpy as np

from shutline.gauge.rust import segmenting as seg
from shutline.gauge.rust.settings import settings
from shutline.gauge.rust.share import curve_of, is_clear, prior_shift, share_at, shifted

ROOT = Path(__file__).resolve().parents[1]
DATA = ROOT / "src" / "shutline" / "gauge" / "rust" / "data" / "rust.toml"
COLOURS = DATA.with_name("colours.csv")
_A_PANEL = 1500
_UNITS = 24
_STEPS = 6000
_RIDGE = 1e-3
_LEVEL, _NEAR_LEVEL = 0.95, 0.99
"""Wider than what is told, and wider yet where paint is near to rust: see docs/rust.md."""


def rusted() -> ModuleType:
    """Load the maker of panels that the tests use."""
    spec = importlib.util.spec_from_file_location("rusted", ROOT / "tests" / "gauge" / "rust" / "rusted.py")
    if spec is None or spec.loader is None:
        raise FileNotFoundError("tests/gauge/rust/rusted.py")
    module = importlib.util.module_from_spec(spec)
    sys.modules["rusted"] = module
    spec.loader.exec_module(module)
    return module


def panels(made: ModuleType, first: int, count: int) -> Iterator[Any]:
    """Render panels one after the other."""
    for seed in range(first, first + count):
        yield made.panel(seed)


def fitted(ground: Any, rust: Any, weight: Any) -> Any:
    """Fit a logistic regression by Newton's steps, shape (features,)."""
    found = np.zeros(ground.shape[1])
    for _ in range(50):
        belief = 1 / (1 + np.exp(-ground @ found))
        slope = ground.T @ (weight * (rust - belief)) - _RIDGE * found * len(rust)
        bend = (ground * (weight * belief * (1 - belief))[:, None]).T @ ground + _RIDGE * len(rust) * np.eye(len(found))
        step = np.linalg.solve(bend, slope)
        found += step
        if np.abs(step).max() < 1e-8:
            break
    return found


def whole(panel: Any) -> list[tuple[float, float]]:
    """Give the outline of a whole picture."""
    high, wide = panel.picture.shape[:2]
    return [(-0.5, -0.5), (wide - 0.5, -0.5), (wide - 0.5, high - 0.5), (-0.5, high - 0.5)]


def learn_colours(made: ModuleType, count: int, rounds: int = 2) -> None:
    """Learn the colours, beside the paint as it is found with what was learnt so far."""
    for _ in range(rounds):
        rng = np.random.default_rng(1)
        grounds, rusts = [], []
        for panel in panels(made, 100_000, count):
            bins = seg._bins(panel.picture)
            paint = seg._paint(bins.ravel())
            at = rng.choice(bins.size, _A_PANEL, replace=False)
            labs = seg._bin_labs()[bins.ravel()[at]]
            # Each panel teaches what colours say by themselves too: a paint is sought before it is known.
            for known in (paint, None):
                grounds.append(seg.features(labs, known))
                rusts.append(panel.rust.ravel()[at])
        learn_network(np.concatenate(grounds), np.concatenate(rusts).astype(float))


def learn_network(ground: Any, rust: Any) -> None:
    """Learn one layer of units by Adam (Kingma and Ba 2015), and write them."""
    rng = np.random.default_rng(3)
    wide = ground.shape[1]
    held = [rng.normal(0, 1 / np.sqrt(wide), (wide, _UNITS)), np.zeros(_UNITS), rng.normal(0, 0.3, _UNITS), np.zeros(1)]
    first, second = [np.zeros_like(each) for each in held], [np.zeros_like(each) for each in held]
    losses = []
    for step in range(1, _STEPS + 1):
        at = rng.integers(0, len(rust), 2048)
        seen, true = ground[at], rust[at]
        inner = np.tanh(seen @ held[0] + held[1])
        odds = inner @ held[2] + held[3]
        off = (1 / (1 + np.exp(-odds)) - true) / len(at)
        back = np.outer(off, held[2]) * (1 - inner**2)
        slopes = [seen.T @ back, back.sum(axis=0), inner.T @ off, np.array([off.sum()])]
        rate = 0.01 * (1 - step / _STEPS) + 1e-4
        for layer, slope in enumerate(slopes):
            first[layer] += 0.1 * (slope + 1e-5 * held[layer] - first[layer])
            second[layer] += 0.001 * ((slope + 1e-5 * held[layer]) ** 2 - second[layer])
            spread = np.sqrt(second[layer] / (1 - 0.999**step)) + 1e-8
            held[layer] -= rate * first[layer] / (1 - 0.9**step) / spread
        losses.append(float(np.mean(np.logaddexp(0, odds) - true * odds)))
    print("colours: loss", round(float(np.mean(losses[-300:])), 4))
    rows = np.column_stack((held[0].T, held[1], held[2]))
    last = np.append(np.zeros(wide + 1), held[3])
    heads = ",".join([*(f"in_{at}" for at in range(wide)), "bias", "out"])
    lines = [",".join(f"{each:.5f}" for each in row) for row in (*rows, last)]
    COLOURS.write_text("\n".join((heads, *lines)) + "\n", encoding="utf-8")
    seg.network.cache_clear()
    seg._odds_unpainted.cache_clear()


def learn_together(made: ModuleType, count: int) -> None:
    """Learn how colour, smoothed, and roughness go together."""
    rng = np.random.default_rng(2)
    grounds, rusts = [], []
    for panel in panels(made, 200_000, count):
        bins = seg._bins(panel.picture)
        colour = seg._colour_odds(seg._paint(bins.ravel()))[bins]
        near, rough = seg.smooth(colour, 3), seg.roughness(panel.picture)
        at = rng.choice(bins.size, 4 * _A_PANEL, replace=False)
        wide = seg.smooth(colour, settings().weights.wide_px)
        each = (near, wide, rough, near * rough)
        grounds.append(np.column_stack((*(one.ravel()[at] for one in each), np.ones(len(at)))))
        rusts.append(panel.rust.ravel()[at])
    ground, rust = np.concatenate(grounds), np.concatenate(rusts).astype(float)
    found = fitted(ground, rust, np.ones(len(ground)))
    names = ("smooth", "wide", "rough", "rough_colour", "ground")
    put(**dict(zip(names, (float(each) for each in found), strict=True)), prior=float(rust.mean()))


def is_near(paint: tuple[float, float, float]) -> bool:
    """Tell whether a paint, L*a*b*, is near to rust's colours."""
    own = seg._colour_odds(paint)[seg._bins(seg._signs_near(paint))][0, 0]
    return bool(own >= settings().weights.clear_paint)


def learn_doubt(made: ModuleType, count: int) -> None:
    """Learn by how much the odds of a whole picture would have to be shifted to give its true share.

    Few paints are near to rust's colours: twice as many seeds more are gone through for those.
    """
    rules = settings()
    shifts: dict[bool, list[float]] = {True: [], False: []}
    steps = np.linspace(-14, 14, 561)
    near = [seed for seed in range(300_000 + count, 300_000 + 3 * count) if is_near(made.paint_of(seed))]
    for seed in (*range(300_000, 300_000 + count), *near):
        panel = made.panel(seed)
        found = seg.segment(panel.picture, whole(panel))
        curve = shifted(curve_of(found.odds[found.inside]), prior_shift(found))
        shares = np.array([share_at(curve, step) for step in steps])
        true = max(panel.share, rules.tell.none_below)
        if seed >= 300_000 + count and is_clear(found):
            # Only to have enough of the others.
            continue
        shifts[is_clear(found)].append(float(np.interp(true, shares, steps)))
    for clear, names in ((True, ("doubt_low", "doubt_high")), (False, ("near_doubt_low", "near_doubt_high"))):
        shift = np.sort(shifts[clear])
        print(len(shift), "panels, shift that gives the true share: middle", round(float(np.median(shift)), 2))
        # As for split conformal intervals: of n and one more.
        level = _LEVEL if clear else _NEAR_LEVEL
        edge = min(1.0, (len(shift) + 1) * (1 + level) / 2 / len(shift))
        low, high = np.quantile(shift, (1 - edge, edge))
        put(**{names[0]: float(max(0.0, -low)), names[1]: float(max(0.0, high))})


def put(**numbers: Any) -> None:
    """Write numbers into the file and read it again."""
    text = DATA.read_text(encoding="utf-8")
    for name, value in numbers.items():
        shown = f"[{', '.join(f'{each:.4f}' for each in value)}]" if isinstance(value, list) else f"{value:.4f}"
        text, count = re.subn(rf"^{name} = .*$", f"{name} = {shown}", text, flags=re.MULTILINE)
        if count != 1:
            raise ValueError(f"rust.toml: {name} stands there {count} times")
        print(name, shown)
    DATA.write_text(text, encoding="utf-8")
    settings.cache_clear()


def main() -> int:
    """Learn, in three steps."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--panels", type=int, default=160, help="panels a step; the doubt takes twice as many")
    parser.add_argument("--write", action="store_true", help="keep what was learnt")
    parser.add_argument("--steps", nargs="+", choices=("colours", "together", "doubt"), help="all when left out")
    asked = parser.parse_args()
    steps = asked.steps or ("colours", "together", "doubt")
    made = rusted()
    before = {file: file.read_text(encoding="utf-8") for file in (DATA, COLOURS)}
    try:
        if "colours" in steps:
            learn_colours(made, asked.panels)
        if "together" in steps:
            learn_together(made, asked.panels)
        if "doubt" in steps:
            learn_doubt(made, 2 * asked.panels)
    finally:
        if not asked.write:
            for file, text in before.items():
                file.write_text(text, encoding="utf-8")
    return 0


if __name__ == "__main__":
    sys.exit(main())
