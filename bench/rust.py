"""Time the telling of rust on a photograph of twelve megapixels, and count how right it is on panels not learnt from.

    python bench/rust.py [--panels 200] [--from 600000] [--rounds 3]

Target: the photograph under a second of the processor, unpacked and all. Then: how often the interval holds the true
share, how far the share is off, and how often what is called so likely is rust.
"""

from __future__ import annotations

import argparse
import importlib.util
import io
import statistics
import sys
import time
from collections.abc import Callable
from pathlib import Path
from types import ModuleType
from typing import Any

import cv2
import numpy as np

from shutline.capture.pictures import unpack
from shutline.gauge.rust import likely, rust_of, rust_within, segment
from shutline.gauge.size import find_card, plane_of

ROOT = Path(__file__).resolve().parents[1]
BANDS = (0.0, 0.02, 0.1, 0.3, 0.5, 0.7, 0.9, 0.98, 1.0001)


def loaded(folder: str, name: str) -> ModuleType:
    """Load a maker of pictures that the tests use."""
    spec = importlib.util.spec_from_file_location(name, ROOT / "tests" / "gauge" / folder / f"{name}.py")
    if spec is None or spec.loader is None:
        raise FileNotFoundError(f"tests/gauge/{folder}/{name}.py")
    module = importlib.util.module_from_spec(spec)
    sys.modules[name] = module
    spec.loader.exec_module(module)
    return module


def whole(picture: Any) -> list[tuple[float, float]]:
    """Give the outline of a whole picture."""
    high, wide = picture.shape[:2]
    return [(-0.5, -0.5), (wide - 0.5, -0.5), (wide - 0.5, high - 0.5), (-0.5, high - 0.5)]


def packed(picture: Any) -> bytes:
    """Give a picture as a camera keeps it."""
    large = cv2.resize(picture, (4000, 3000), interpolation=cv2.INTER_CUBIC)
    return bytes(cv2.imencode(".jpg", large[..., ::-1], [cv2.IMWRITE_JPEG_QUALITY, 92])[1])


def seconds(work: Callable[[], object], rounds: int) -> float:
    """Give the processor's time of a work, the middle of the rounds."""
    taken = []
    for _ in range(rounds):
        began = time.process_time()
        work()
        taken.append(time.process_time() - began)
    return statistics.median(taken)


def main() -> int:
    """Time and count, and say whether the target of time is met."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--panels", type=int, default=200)
    parser.add_argument("--from", dest="first", type=int, default=600_000)
    parser.add_argument("--rounds", type=int, default=3)
    asked = parser.parse_args()
    rusted = loaded("rust", "rusted")
    data = packed(rusted.panel(1, high=900, wide=1200, kind="general", share=0.1).picture)
    card = packed(loaded("size", "scenes").scene(1, wide=2000, high=1500).picture)
    picture, photograph = unpack(io.BytesIO(data)), unpack(io.BytesIO(card))
    if picture is None or photograph is None:
        print("a picture cannot be unpacked")
        return 1
    outline = whole(picture)
    rust_within(picture, outline)
    unpacking = seconds(lambda: unpack(io.BytesIO(data)), asked.rounds)
    telling = seconds(lambda: rust_within(picture, outline), asked.rounds)
    finding = seconds(lambda: plane_of(find_card(photograph)), asked.rounds)
    print(
        f"{picture.shape[1] * picture.shape[0] / 1e6:.0f} megapixels: unpacked {unpacking:.2f} s, rust {telling:.2f} s,"
    )
    print(f"card and plane {finding:.2f} s of the processor")
    met = unpacking + max(telling, finding) < 1
    print("target met" if met else "target missed")
    _count(rusted, asked.first, asked.panels)
    return 0 if met else 1


def _count(rusted: ModuleType, first: int, count: int) -> None:
    held, off, told, wide = [], [], 0, []
    said, so = np.zeros(len(BANDS) - 1), np.zeros(len(BANDS) - 1)
    sums = np.zeros(len(BANDS) - 1)
    for seed in range(first, first + count):
        panel = rusted.panel(seed)
        segmented = segment(panel.picture, whole(panel.picture))
        found = rust_of(segmented)
        none = panel.share < 1e-3
        held.append(found.low == 0 if none else found.low <= panel.share <= found.high)
        told += found.told
        wide.append(found.high - found.low)
        off.append(abs(found.share - panel.share))
        belief = likely(segmented).ravel()
        band = np.digitize(belief, BANDS) - 1
        said += np.bincount(band, minlength=len(said))[: len(said)]
        sums += np.bincount(band, weights=belief, minlength=len(said))[: len(said)]
        so += np.bincount(band, weights=panel.rust.ravel(), minlength=len(said))[: len(said)]
    print(f"{count} panels: {100 * np.mean(held):.1f} % of true shares within the interval, {told} told")
    middle, most = 100 * np.quantile(off, (0.5, 0.9))
    print(f"share off by {middle:.2f} of a hundred in the middle, by up to {most:.1f} in nine of ten;")
    print(f"interval {100 * np.median(wide):.1f} wide in the middle")
    for at in range(len(said)):
        if said[at]:
            print(f"  called {sums[at] / said[at]:.3f} likely: rust {so[at] / said[at]:.3f}, {int(said[at])} pixels")


if __name__ == "__main__":
    sys.exit(main())
