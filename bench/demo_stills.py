"""Hold the stills of the demo film to what is known of it: where the camera was blurred, and when each defect is seen.

    python bench/demo_stills.py [--rounds 3]

Moments are those of the labels (`demo_truth.json`), so that no reading of words comes in. For each the still is sought
as `shutline add` does, once with and once without looking at the still before of the same part. Told are: stills in
the blurred stretches, within their words, at a time when the defect spoken of is in the picture; stills that are near
copies of the one before of the same part; and the time taken as a share of the film's length.
"""

from __future__ import annotations

import argparse
import io
import json
import statistics
import sys
import time
from collections.abc import Sequence
from importlib.resources import as_file, files
from typing import Any

import numpy as np
from PIL import Image

from shutline.capture.alike import distance_bits, fingerprint
from shutline.capture.limits import limits
from shutline.capture.stills import ChosenStill, Moment, choose_stills

FOLDER = files("shutline.usecases") / "demo_recording"
LOOKED_AT_S = 3.0


def moments_of(labels: Sequence[dict[str, Any]], *, parts: bool) -> list[Moment]:
    """Give the end of the words of each label, as the pipeline does."""
    return [
        Moment(
            max(label["t0"], label["t1"] - LOOKED_AT_S),
            label["t1"],
            part=f"{label['part']} {label['side'] or ''} {label['position'] or ''}" if parts else None,
        )
        for label in labels
    ]


def judge(
    labels: Sequence[dict[str, Any]], truth: dict[str, Any], stills: Sequence[ChosenStill | None]
) -> dict[str, object]:
    """Count what is right."""
    taken = [(label, still) for label, still in zip(labels, stills, strict=True) if still is not None]
    blurred = sum(any(a < still.at_s < b for a, b in truth["blurred"]) for _, still in taken)
    within = sum(label["t0"] <= still.at_s <= label["t1"] for label, still in taken)
    drawn = [(label, still) for label, still in taken if "drawn" in label]
    seen = sum(any(a <= still.at_s <= b for a, b in truth["defects"][label["drawn"]]["seen"]) for label, still in drawn)
    alike, same, pairs = copies(taken)
    return {
        "stills": f"{len(taken)} of {len(labels)}",
        "in_a_blurred_stretch": blurred,
        "within_their_words": within,
        "show_the_defect": f"{seen} of {len(drawn)}",
        "near_copies_of_the_one_before": f"{alike} of {pairs}",
        "the_same_picture_as_the_one_before": f"{same} of {pairs}",
    }


def copies(taken: Sequence[tuple[dict[str, Any], ChosenStill]]) -> tuple[int, int, int]:
    """Count, among stills that follow one of the same part, near copies of it and the very same picture."""
    last: dict[tuple[str, str | None, str | None], ChosenStill] = {}
    alike = same = pairs = 0
    for label, still in sorted(taken, key=lambda one: one[0]["t0"]):
        place = (label["part"], label["side"], label["position"])
        if place in last:
            pairs += 1
            same += still.jpeg == last[place].jpeg
            bits = distance_bits(_print(still), _print(last[place]))
            alike += still.jpeg != last[place].jpeg and bits < limits().stills.copy_below_bits
        last[place] = still
    return alike, same, pairs


def _print(still: ChosenStill) -> int:
    return fingerprint(np.asarray(Image.open(io.BytesIO(still.jpeg)).convert("L")))


def main(arguments: list[str]) -> int:
    """Run from the command line."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--rounds", type=int, default=3)
    given = parser.parse_args(arguments)
    truth = json.loads((FOLDER / "demo_truth.json").read_text(encoding="utf-8"))
    labels = truth["observations"]
    result: dict[str, object] = {"film_s": truth["film"]["length_s"]}
    with as_file(FOLDER / "walk.mp4") as film:
        for name, parts in (("apart", True), ("each_by_itself", False)):
            took = []
            for _ in range(given.rounds):
                began = time.perf_counter()
                stills, _ = choose_stills(film, moments_of(labels, parts=parts))
                took.append(time.perf_counter() - began)
            share = statistics.median(took) / truth["film"]["length_s"]
            result[name] = {**judge(labels, truth, stills), "share_of_length": round(share, 4)}
    print(json.dumps(result, indent=1))
    return 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
