"""How many of the numbers on made papers are read right off pictures, whichever way they lie, and how long it takes.

    python bench/papers.py --papers 6 --seed 1

Each paper is set with other numbers and drawn flat, photographed (seen from aside, soft, unevenly lit, noisy),
photographed badly, small, and turned each way. A number is right when it stands whole, sign for sign, in one of the
lines that were read.
"""

from __future__ import annotations

import argparse
import tempfile
import time
from collections import Counter
from pathlib import Path

import cv2
import numpy as np

from papers_made import Picture, packed, pdf_of, picture_of, scanned
from shutline.capture.paper_files import open_paper
from shutline.gauge.pages import read_page

_LETTERS = "ABCDEFGHJKLMNPRSTUVWXY"


def made(rng: np.random.Generator) -> tuple[str, list[str]]:
    """Make a paper: its Typst, and the numbers on it."""

    def figures(low: int, high: int) -> int:
        return int(rng.integers(low, high))

    def sum_() -> str:
        return f"£{figures(1, 2_000):,}.{figures(0, 100):02d}"

    def day() -> str:
        return f"{figures(1, 29):02d}/{figures(1, 13):02d}/{figures(1960, 2024)}"

    def letters(count: int) -> str:
        return "".join(_LETTERS[figures(0, len(_LETTERS))] for _ in range(count))

    mark = f"{letters(3)} {figures(100, 1000)}{letters(1)}"
    chassis = f"{letters(2)}{figures(1_000_000, 10_000_000)}"
    numbers = [day(), mark, chassis, f"{figures(1_000, 140_000):,}"]
    rows = [(day(), f"{figures(1_000, 140_000):,}", sum_()) for _ in range(6)]
    total = sum_()
    body = f"""= Invoice and service record
Saltmarsh Motors Ltd #h(1fr) Date: {numbers[0]} \\
Registration: {mark} #h(1fr) Chassis number: {chassis} \\
Mileage: {numbers[3]} miles
#table(columns: (1fr, 1fr, 2fr, 1fr), [Date], [Mileage], [Work], [Amount],
{", ".join(f"[{d}], [{m}], [Oil and filter, brakes looked at], [{s}]" for d, m, s in rows)})
#h(1fr) *Total {total}*
"""
    return body, [*numbers, *(part for row in rows for part in row), total]


def ways(picture: Picture, seed: int) -> dict[str, Picture]:
    """Give a page as it may come."""
    small = np.asarray(cv2.resize(picture, None, fx=0.5, fy=0.5, interpolation=cv2.INTER_AREA), np.uint8)
    return {
        "flat": picture,
        "photographed": scanned(picture, seed=seed),
        "photographed badly": scanned(picture, seed=seed, worn=2.0),
        "half the size": scanned(small, seed=seed, worn=0.6),
        "turned by 90": scanned(picture, seed=seed, turned=90),
        "turned by 180": scanned(picture, seed=seed, turned=180),
        "turned by 270": scanned(picture, seed=seed, turned=270),
    }


def main() -> None:
    """Measure."""
    given = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    given.add_argument("--papers", type=int, default=6)
    given.add_argument("--seed", type=int, default=1)
    given.add_argument("--pages", type=int, default=400, help="pages of the long PDF")
    asked = given.parse_args()
    rng = np.random.default_rng(asked.seed)
    right: Counter[str] = Counter()
    of: Counter[str] = Counter()
    upright: Counter[str] = Counter()
    seconds = []
    for number in range(asked.papers):
        body, numbers = made(rng)
        for way, picture in ways(picture_of(pdf_of(body)), number).items():
            begun = time.perf_counter()
            page, _ = read_page(picture)
            seconds.append(time.perf_counter() - begun)
            turned = int(way.rpartition(" ")[2]) if way.startswith("turned") else 0
            upright[way] += page.turned == -turned % 360
            lines = ["".join(line.words.split()) for line in page.lines]
            of[way] += len(numbers)
            right[way] += sum(any("".join(one.split()) in line for line in lines) for one in numbers)
    print("| a page | numbers right | the right way up |\n| --- | --- | --- |")
    for way in of:
        print(f"| {way} | {right[way]} of {of[way]} | {upright[way]} of {asked.papers} |")
    print(f"\n{np.median(seconds):.2f} s a page in the middle, {max(seconds):.2f} s at most")
    with tempfile.TemporaryDirectory() as folder:
        long = Path(folder) / "long.pdf"
        long.write_bytes(pdf_of(*(made(rng)[0] for _ in range(asked.pages))))
        begun = time.perf_counter()
        with open_paper(long) as paper:
            count = sum(len(drawn.lines) for at in range(paper.pages) if (drawn := paper.draw(at + 1)))
        print(f"{asked.pages} pages of a PDF with words: {count} lines in {time.perf_counter() - begun:.1f} s")
        size = len(packed(picture_of(pdf_of(made(rng)[0]))))
        print(f"a page as it is kept: about {size / 1000:.0f} kB")


if __name__ == "__main__":
    main()
