"""How many marks, chassis numbers and faces are found, by their size, how many masks are false, and how long it takes.

Usage: python bench/masks.py [--scenes N] [--film SECONDS]

The pictures are rendered by tests/gauge/masks/scenes.py and are the same every time. Times are processor seconds of one
process: on a busy machine the clock tells little.
"""

from __future__ import annotations

import argparse
import sys
import time
from collections.abc import Iterable, Iterator
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parents[1] / "tests" / "gauge" / "masks"))

import scenes  # type: ignore[import-not-found]

from shutline.car.masks import Mask
from shutline.gauge.masks.film import TimedPicture, find_in_film
from shutline.gauge.masks.find import find_in_picture
from shutline.gauge.masks.found import Found
from shutline.gauge.masks.settings import shipped_policy

PLATES = (40, 60, 80, 120, 200, 400)
CHASSIS = (200, 300, 450)
FACES = (12, 16, 24, 40, 80)
ENOUGH = 0.97
"""A thing counts as found when so much of it lies under masks."""


def main() -> None:
    """Print the tables."""
    parser = argparse.ArgumentParser(description=(__doc__ or "").splitlines()[0])
    parser.add_argument("--scenes", type=int, default=12)
    parser.add_argument("--film", type=float, default=8.0)
    parser.add_argument("--only", nargs="*", help="rows by their beginning, as 'mark, 80'; all when left out")
    asked = parser.parse_args()
    find_in_picture(scenes.scene(0, None).picture)
    print("what, pixels of 1600, found, of, sureness right, false masks, s of processor a picture")
    for kind, size, made in _rows(asked.scenes):
        if asked.only is None or any(f"{kind}, {size}".startswith(one) for one in asked.only):
            print(_row(kind, size, made), flush=True)
    if asked.film:
        _film(asked.film)


def _rows(count: int) -> Iterator[tuple[str, int, Iterable[scenes.Scene]]]:
    for kind, sizes in (("mark", PLATES), ("chassis", CHASSIS)):
        for size in sizes:
            yield kind, size, (scenes.scene(5000 + seed, kind, wide_px=size) for seed in range(count))
    for size in FACES:
        yield (
            "face",
            size,
            (scenes.faced(6000 + seed, name, tall_px=size) for seed in range(count // 2) for name in scenes.FACES),
        )
    rough = (scenes.scene(7000 + seed, "mark", wide_px=160, blur=2.0, noise=10, yaw=40) for seed in range(count))
    yield "mark from the side and blurred", 160, rough
    yield "none", 0, (scenes.scene(8000 + seed, None) for seed in range(count))


def _row(kind: str, size: float, made: Iterable[scenes.Scene]) -> str:
    found = of = false = 0
    spent_s = 0.0
    sureness: list[float] = []
    for scene in made:
        began = time.process_time()
        masks = find_in_picture(scene.picture)
        spent_s += time.process_time() - began
        of += 1
        boxes = {one: _pixels(one) for one in masks}
        if scene.corners is None:
            false += len(masks)
            continue
        hits = [one for one in masks if scenes.covered_share(scenes.SIZE, scene.corners, [boxes[one]]) > 0.2]
        false += len(masks) - len(hits)
        sureness += [one.sureness for one in hits]
        found += scenes.covered_share(scenes.SIZE, scene.corners, [boxes[one] for one in hits]) >= ENOUGH
    middle = sorted(sureness)[len(sureness) // 2] if sureness else 0.0
    return f"{kind}, {size}, {found}, {of}, {middle:.2f}, {false}, {spent_s / of:.2f}"


def _pixels(one: Found) -> tuple[int, int, int, int]:
    wide, high = scenes.SIZE
    return one.box.grown(shipped_policy().margin_of(one.kind), aspect=wide / high).pixels(wide, high)


def _film(seconds: float) -> None:
    policy = shipped_policy()
    frames = scenes.filmed_plate(9000, seconds=seconds, rate=10)

    def pictures() -> Iterator[TimedPicture]:
        for at_s, picture, _ in frames:
            yield TimedPicture.of(at_s, picture)

    began = time.process_time()
    ways, looks = find_in_film(pictures())
    spent_s = time.process_time() - began
    shares = []
    wide, high = scenes.SIZE
    for at_s, _, corners in frames:
        boxes = []
        for one in ways:
            box = Mask("film", one.kind, one.way).at(at_s, slack_s=policy.slack_s)
            if box is not None:
                margin = policy.margin_of(one.kind) + policy.film_margin
                boxes.append(box.grown(margin, aspect=wide / high).pixels(wide, high))
        shares.append(scenes.covered_share((wide, high), corners, boxes))
    whole = sum(share >= ENOUGH for share in shares)
    least = min(shares)
    print(f"film: {looks} looks, {len(ways)} masks; whole in {whole} of {len(shares)} frames, least {least:.2f}")
    print(f"film: {spent_s / seconds * 60:.0f} s of processor for a minute of film")


if __name__ == "__main__":
    main()
