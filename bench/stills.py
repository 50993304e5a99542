"""Time 40 stills from an 8-minute 1080p film against decoding all of it, in one run.

    python bench/stills.py [--film FILM.mp4] [--moments 40] [--rounds 3]

Without ``--film`` one is made by `make_film.py` in a temporary folder. The peer decodes every frame with the same
thread setting; target: at least 10 times as long.
"""

from __future__ import annotations

import argparse
import json
import statistics
import sys
import tempfile
import time
from collections.abc import Sequence
from pathlib import Path

import av
import cv2
import numpy as np

sys.path.insert(0, str(Path(__file__).parent))

from make_film import RATE, make_film, number_in
from shutline.capture.stills import ChosenStill, Moment, choose_stills


def decode_all(film: Path) -> tuple[float, int]:
    """Decode each frame of the film; give the seconds it took and the number of frames."""
    began = time.perf_counter()
    with av.open(str(film)) as container:
        stream = container.streams.video[0]
        stream.thread_type = "AUTO"
        count = sum(1 for _ in container.decode(stream))
    return time.perf_counter() - began, count


def moments_of(length_s: float, count: int, seed: int = 7) -> list[Moment]:
    """Give words of one to four seconds, spread at random."""
    random = np.random.default_rng(seed)
    starts = np.sort(random.uniform(1.0, length_s - 6.0, count))
    return [Moment(float(start), float(start + random.uniform(1.0, 4.0))) for start in starts]


def check(film: Path, moments: Sequence[Moment], stills: Sequence[ChosenStill | None]) -> dict[str, object]:
    """Hold each still to the number in its picture and to how fast the camera is known to have moved."""
    speed = np.array(json.loads(film.with_name(film.name + ".json").read_text(encoding="utf-8"))["speed_px"])
    right = 0
    chosen, middle = [], []
    for moment, still in zip(moments, stills, strict=True):
        if still is None:
            continue
        picture = cv2.imdecode(np.frombuffer(still.jpeg, np.uint8), cv2.IMREAD_COLOR)
        number = number_in(np.asarray(picture, np.uint8))
        right += number == round(still.at_s * RATE)
        chosen.append(float(speed[number]))
        middle.append(float(speed[round((moment.start_s + moment.end_s) / 2 * RATE)]))
    return {
        "right_frame": f"{right} of {len(moments)}",
        "speed_px_chosen_median_and_worst": (statistics.median(chosen), max(chosen)),
        "speed_px_at_middle_of_words_median_and_worst": (statistics.median(middle), max(middle)),
    }


def main(arguments: list[str]) -> int:
    """Run from the command line."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--film", type=Path)
    parser.add_argument("--moments", type=int, default=40)
    parser.add_argument("--rounds", type=int, default=3)
    given = parser.parse_args(arguments)
    with tempfile.TemporaryDirectory() as folder:
        film = given.film or Path(folder) / "film.mp4"
        if given.film is None:
            make_film(film)
        with av.open(str(film)) as container:
            length_s = (container.duration or 0) / 1_000_000
        moments = moments_of(length_s, given.moments)
        choose_stills(film, moments[:1])
        chosen_s, all_s = [], []
        for _ in range(given.rounds):
            # Turn about, so that other work on the machine falls on both alike.
            began = time.perf_counter()
            stills, problems = choose_stills(film, moments)
            chosen_s.append(time.perf_counter() - began)
            took_s, frames = decode_all(film)
            all_s.append(took_s)
        times_faster = statistics.median(all_s) / statistics.median(chosen_s)
        result = {
            "film_s": length_s,
            "frames": frames,
            "stills_s": [round(s, 2) for s in chosen_s],
            "decode_all_s": [round(s, 2) for s in all_s],
            "times_faster": round(times_faster, 1),
            "problems": [problem.sentence() for problem in problems],
            **check(film, moments, stills),
        }
    print(json.dumps(result, indent=1))
    return 0 if times_faster >= 10 else 1


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
