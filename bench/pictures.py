"""Time what is taken from the demo film: stills, a contact sheet, clips, a copy; each as a share of the film's length.

    python bench/pictures.py [--rounds 3]

Told are the wall clock and the processor time of the whole process, for a busy machine stretches the first and not the
second. Nothing is covered: what covering costs is told by `masks.py`. Targets: stills, contact sheet and a clip that is
copied together at most a hundredth of the film's length on two processors, so that a tenth is left for figures and the
engine's note.
"""

from __future__ import annotations

import argparse
import json
import statistics
import sys
import tempfile
import time
from collections.abc import Callable
from importlib.resources import as_file
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parent))

from demo_stills import FOLDER, moments_of
from shutline.capture.cutting import Line, copy_film, cut_clip
from shutline.capture.stills import Moment, choose_stills
from shutline.publish.bare import bare_picture
from shutline.publish.contact_sheet import Tile, sheet


def contact_sheet(film: Path) -> bytes:
    """Make a sheet of twelve moments spread over the film."""
    moments = [Moment(at, at + 4.0, part="the part") for at in range(10, 202, 16)]
    stills, _ = choose_stills(film, moments)
    made = [bare_picture(still.jpeg, longest_side_px=960, quality=85) for still in stills if still is not None]
    return sheet("Bonnet", "twelve moments", [Tile(one, ("0:00",)) for one in made if one is not None], form="png")


def main(arguments: list[str]) -> int:
    """Run from the command line."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--rounds", type=int, default=3)
    given = parser.parse_args(arguments)
    truth = json.loads((FOLDER / "demo_truth.json").read_text(encoding="utf-8"))
    length_s = truth["film"]["length_s"]
    moments = moments_of(truth["observations"], parts=True)
    chapters = [Line(0, 60_000, "Front"), Line(60_000, 219_000, "Rear")]
    captions = [Line(at * 1000, at * 1000 + 900, "words") for at in range(219)]
    result: dict[str, object] = {"film_s": length_s}
    with as_file(FOLDER / "walk.mp4") as film, tempfile.TemporaryDirectory() as folder:
        out = Path(folder) / "out.mp4"
        work: dict[str, Callable[[], object]] = {
            "stills_of_54_moments": lambda: choose_stills(film, moments),
            "contact_sheet_of_12": lambda: contact_sheet(film),
            "clip_of_8_s_copied": lambda: cut_clip(film, out, 60.0, 68.0),
            "clip_of_8_s_exact": lambda: cut_clip(film, out, 60.0, 68.0, exact=True),
            "copy_with_chapters_and_captions": lambda: copy_film(film, out, chapters=chapters, captions=captions),
        }
        shares: dict[str, float] = {}
        for name, do in work.items():
            walls, processors = [], []
            for _ in range(given.rounds):
                wall, processor = time.perf_counter(), time.process_time()
                do()
                walls.append(time.perf_counter() - wall)
                processors.append(time.process_time() - processor)
            shares[name] = statistics.median(processors) / 2 / length_s
            result[name] = {
                "wall_s": round(statistics.median(walls), 2),
                "processor_s": round(statistics.median(processors), 2),
                "share_of_length_on_two_processors": round(shares[name], 4),
            }
    together = sum(shares[name] for name in ("stills_of_54_moments", "contact_sheet_of_12", "clip_of_8_s_copied"))
    result["stills_sheet_and_clip_together"] = round(together, 4)
    print(json.dumps(result, indent=1))
    return 0 if together <= 0.01 else 1


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
