"""Time the report of a car with 120 findings and 120 stills, page and PDF.

    python bench/report.py [--findings 120] [--out FOLDER]

Prints processor seconds and wall seconds for building the model, setting the page and setting the PDF. To reach: a page
within 3 s and a PDF within 10 s, model included.
"""

from __future__ import annotations

import argparse
import hashlib
import io
import time
from collections.abc import Callable
from pathlib import Path
from typing import Any, TypeVar

import cv2
import numpy as np
from PIL import Image

from shutline.car.carfile import CarFile, KeptFinding, Recording
from shutline.car.findings import Drive, Finding, Footing, FootingKind, Found, Position, Side
from shutline.car.places import Visit
from shutline.car.recordings import Kind, Original, Probe, Still
from shutline.car.vocabulary import vocabulary
from shutline.publish.report import build_report, report_html, report_pdf

LENGTH_S = 480.0
Made = TypeVar("Made")


def make(count: int, seed: int) -> tuple[CarFile, list[Visit], dict[str, bytes]]:
    """Make a car file of that many findings, each with a 1080p still of its own."""
    random = np.random.default_rng(seed)
    parts = [part for part in vocabulary().parts.values() if part.group not in ("whole", "papers")]
    conditions = list(vocabulary().conditions.values())
    stills: dict[str, bytes] = {}
    kept = []
    visits = []
    for number in range(count):
        part = parts[int(random.integers(len(parts)))]
        condition = conditions[int(random.integers(len(conditions)))]
        side = (Side.NEAR, Side.OFF)[int(random.integers(2))] if part.sided else None
        position = (Position.FRONT, Position.REAR)[int(random.integers(2))] if part.ended else None
        at = LENGTH_S * number / count
        quote = f"and then this {part.label} here, have a look at that, number {number}"
        footing = Footing(FootingKind.SAID, "r", at, at + 3, quote)
        noise = random.integers(60, 200, (68, 120, 3), dtype=np.uint8)
        out = io.BytesIO()
        Image.fromarray(cv2.resize(noise, (1920, 1080), interpolation=cv2.INTER_CUBIC)).save(out, "JPEG", quality=88)
        sha256 = hashlib.sha256(out.getvalue()).hexdigest()
        stills[sha256] = out.getvalue()
        finding = Finding(part.id, condition.id, Found.YES, side, position, footings=(footing,), sureness=0.9)
        kept.append(KeptFinding(f"f{number}", finding, (Still(at, sha256, 1920, 1080, 1.0, 1.0),)))
        visits.append(Visit(at, at + LENGTH_S / count, part.id, side, position))
    original = Original("0" * 64, "walk.mp4", 400_000_000, Kind.FILM)
    recording = Recording("r", original, Probe(Kind.FILM, "mp4", LENGTH_S))
    car = CarFile("car", "A car", Drive.RHD, "2026-11-25T10:00:00+00:00", "saloon", 4, (recording,), (), tuple(kept))
    return car, visits, stills


def timed(name: str, work: Callable[[], Made]) -> Made:
    """Do some work, and print what it took."""
    wall, cpu = time.perf_counter(), time.process_time()
    made = work()
    print(f"{name:12} {time.process_time() - cpu:6.2f} s processor {time.perf_counter() - wall:6.2f} s wall")
    return made


def main() -> None:
    """Read the arguments and measure."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--findings", type=int, default=120)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--out", type=Path)
    asked = parser.parse_args()
    car, visits, stills = make(asked.findings, asked.seed)
    options: dict[str, Any] = {"visits": visits, "stills": stills, "made_at": "2026-11-25T10:00:00+00:00"}
    model = timed("model", lambda: build_report(car, **options))
    page = timed("page", lambda: report_html(model)).encode()
    pdf = timed("PDF", lambda: report_pdf(model))
    given = sum(len(data) for data in stills.values())
    print(f"stills {given / 1e6:.1f} MB, page {len(page) / 1e6:.1f} MB, PDF {len(pdf) / 1e6:.1f} MB")
    if asked.out:
        asked.out.mkdir(parents=True, exist_ok=True)
        (asked.out / "report.html").write_bytes(page)
        (asked.out / "report.pdf").write_bytes(pdf)


if __name__ == "__main__":
    main()
