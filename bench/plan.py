"""Time the Plan: drawing it the first time, writing it, and setting 40 and 120 pins.

Run: ``python bench/plan.py``. Prints the best of five, milliseconds of processor time.
"""

from __future__ import annotations

import itertools
import time
from collections.abc import Callable

from shutline.car.findings import Position, Side
from shutline.car.places import Visit
from shutline.car.plan import Pin, PinForm, draw, plan_svg, sheet, unrolled_svg
from shutline.car.plan.bodies import bodies
from shutline.car.vocabulary import vocabulary

ROUNDS = 5


def best_ms(work: Callable[[], object]) -> float:
    """Give the least processor time of a few rounds, milliseconds."""
    times = []
    for _ in range(ROUNDS):
        start = time.process_time()
        work()
        times.append(time.process_time() - start)
    return min(times) * 1000


def pins(count: int) -> list[Pin]:
    """Make pins for places all over the car."""
    places = [
        (part.id, side, position)
        for part in vocabulary().parts.values()
        for side in ((Side.NEAR, Side.OFF) if part.sided else (None,))
        for position in ((Position.FRONT, Position.REAR) if part.ended else (None,))
    ]
    chosen = itertools.islice(itertools.cycle(places[::2]), count)
    return [Pin(i, *place, form) for i, (place, form) in enumerate(zip(chosen, itertools.cycle(PinForm)), 1)]


def first_draw(body: str) -> object:
    """Draw without what is remembered from before."""
    draw.cache_clear()
    sheet._columns.cache_clear()
    return draw(body)


def main() -> None:
    """Print the figures."""
    for body in bodies():
        drawing = best_ms(lambda body=body: first_draw(body))  # type: ignore[misc]
        plan = draw(body)
        writing = best_ms(lambda plan=plan: plan_svg(plan, title="car", desc="unrolled"))  # type: ignore[misc]
        size = len(plan_svg(plan, title="car", desc="unrolled").encode())
        print(f"{body:12} draw {drawing:6.1f} ms   svg {writing:6.1f} ms   {size / 1000:5.1f} kB")
    plan = draw("saloon")
    for count, length_s in ((40, 240.0), (120, 480.0)):
        own = pins(count)
        step = length_s / count
        visits = [Visit(i * step, (i + 1) * step, p.part, p.side, p.position) for i, p in enumerate(own)]
        spent = best_ms(lambda: unrolled_svg(plan, visits, length_s, pins=own, title="car", desc="unrolled"))  # noqa: B023
        print(f"{count} pins and threads: {spent:.0f} ms")


if __name__ == "__main__":
    main()
