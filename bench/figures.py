"""Read drawn pictures of figures, count what was right, wrong and refused, and set how sure a reading is.

    python bench/figures.py read --kept KEPT.jsonl --seeds 1-30 [--seconds 280]
    python bench/figures.py calibrate --kept KEPT.jsonl --seeds 1-30
    python bench/figures.py judge --kept KEPT.jsonl --seeds 101-200 [--list]
    python bench/figures.py time --seeds 1-2

What the networks saw is kept in a file, one picture a line, so that a stopped run goes on, and rules can be tried
without reading again. `calibrate` writes src/shutline/gauge/seen/data/sureness.csv; judge with other seeds than those.
"""

from __future__ import annotations

import argparse
import json
import sys
import time
from collections import Counter
from collections.abc import Iterator
from pathlib import Path
from typing import Any

sys.path.insert(0, str(Path(__file__).parent))

import numpy as np

from drawn_figures import KINDS, Drawn, drawn
from shutline.car.figures import FigureKind
from shutline.gauge.seen import sure
from shutline.gauge.seen.figures import Weighed, is_asked, is_offered, read_figures, sureness_of, weigh
from shutline.gauge.seen.lettering import Lettering, Line, Picture, Quad, Sign
from shutline.gauge.seen.match import valued
from shutline.gauge.seen.settings import reading

TABLE = Path(__file__).resolve().parents[1] / "src/shutline/gauge/seen/data/sureness.csv"
WANTED = {
    "odometer": frozenset({FigureKind.ODOMETER}),
    "lcd-odometer": frozenset({FigureKind.ODOMETER}),
    "mark": frozenset({FigureKind.MARK}),
    "chassis": frozenset({FigureKind.CHASSIS}),
    "sidewall": frozenset({FigureKind.TYRE_SIZE, FigureKind.TYRE_DATE}),
    "paint-gauge": frozenset({FigureKind.PAINT}),
}


class Remembering(Lettering):
    """A reader that remembers what it read, so that the same picture is not read twice."""

    def __init__(self) -> None:
        super().__init__()
        self.seen: dict[str, Any] = {}
        self.read_anew = 0

    def lines(self, picture: Picture) -> list[Line]:
        """Give the lines as remembered, else read them."""
        if "lines" not in self.seen:
            self.read_anew += 1
            self.seen["lines"] = [_plain(line) for line in super().lines(picture)]
        return [_line(plain) for plain in self.seen["lines"]]

    def widely(self, picture: Picture, line: Line) -> Line:
        """Give the wider look as remembered, else look."""
        key = _key(line)
        kept = self.seen.setdefault("widely", {})
        if key not in kept:
            self.read_anew += 1
            kept[key] = _plain(super().widely(picture, line))
        return _line(kept[key])

    def looks(self, picture: Picture, line: Line) -> list[Line]:
        """Give the looks as remembered, else look."""
        key = _key(line)
        kept = self.seen.setdefault("looks", {})
        if key not in kept:
            self.read_anew += 1
            kept[key] = [_plain(look) for look in super().looks(picture, line)]
        return [_line(plain) for plain in kept[key]]


def _key(line: Line) -> str:
    return ",".join(f"{v:.0f}" for corner in line.quad for v in corner)


def _plain(line: Line) -> Any:
    signs = [[s.text, round(s.share, 4), s.second, round(s.second_share, 4)] for s in line.signs]
    return [signs, [[round(x, 1), round(y, 1)] for x, y in line.quad]]


def _line(plain: Any) -> Line:
    signs, corners = plain
    a, b, c, d = ((x, y) for x, y in corners)
    quad: Quad = (a, b, c, d)
    return Line(tuple(Sign(*sign) for sign in signs), quad)


def weighed(reader: Remembering, kind: str, one: Drawn) -> list[Weighed]:
    """Weigh what a drawn picture shows."""
    return weigh(one.picture, reader.lines(one.picture), WANTED[kind], reader=reader)


def outcome(found: list[Weighed], one: Drawn) -> tuple[str, float, str]:
    """Say what came of a picture, how sure, and what was read.

    ``right`` or ``wrong`` where a value is offered; ``asked`` where none is, but other readings are proposed, and
    ``asked right`` where the right one is among those; ``refused`` where nothing is put before a person.
    """
    offered = sorted(((sureness_of(w), w) for w in found if is_offered(w)), key=lambda pair: -pair[0])
    if offered:
        sureness, best = offered[0]
        return "right" if is_right(best, one) else "wrong", sureness, best.match.text
    asked = [w for w in found if is_asked(w)]
    if asked:
        proposed = any(str(other.value) in allowed(one) for w in asked for other in w.match.others)
        return "asked right" if proposed else "asked", 0.0, asked[0].match.text
    return "refused", 0.0, found[0].match.text if found else ""


def is_right(one: Weighed, of: Drawn) -> bool:
    """Tell whether a reading comes to what was drawn."""
    return str(one.match.value) in allowed(of)


def allowed(of: Drawn) -> set[str]:
    """Give what a drawn figure may rightly come to."""
    return {str(valued(FigureKind(KIND_OF[of.kind]), truth)) for truth in (of.truth, *of.also)}


KIND_OF = {
    "odometer": "odometer",
    "mark": "registration_mark",
    "chassis": "chassis_number",
    "tyre-size": "tyre_size",
    "tyre-date": "tyre_date",
    "paint": "paint_film",
}


def kept_rows(path: Path) -> dict[tuple[str, int], Any]:
    """Read what is kept."""
    if not path.exists():
        return {}
    rows = (json.loads(line) for line in path.read_text(encoding="utf-8").splitlines())
    return {(row["kind"], row["seed"]): row["seen"] for row in rows}


def read(path: Path, seeds: range, seconds: float) -> None:
    """Read the pictures that are not kept yet, all kinds in turn."""
    began = time.monotonic()
    kept = kept_rows(path)
    reader = Remembering()
    with path.open("a", encoding="utf-8") as out:
        for seed in seeds:
            for kind in KINDS:
                if (kind, seed) in kept:
                    continue
                if time.monotonic() - began > seconds:
                    return
                reader.seen = {}
                weighed(reader, kind, drawn(kind, seed))
                out.write(json.dumps({"kind": kind, "seed": seed, "seen": reader.seen}) + "\n")
                out.flush()


def each(path: Path, seeds: range) -> Iterator[tuple[str, int, Drawn, list[Weighed]]]:
    """Give each kept picture of these seeds with what was weighed."""
    reader = Remembering()
    for (kind, seed), seen in sorted(kept_rows(path).items()):
        if seed in seeds:
            reader.seen = seen
            one = drawn(kind, seed)
            yield kind, seed, one, weighed(reader, kind, one)


def calibrate(path: Path, seeds: range) -> None:
    """Count the right ones of each class, and write the table that sureness is looked up in."""
    readings = []
    for _, _, one, found in each(path, seeds):
        readings += [(w.of, is_right(w, one)) for w in found]
    TABLE.write_text(sure.written(sure.count(readings)), encoding="utf-8")
    print(f"{len(readings)} readings, {sum(right for _, right in readings)} right: {TABLE}")


COLUMNS = ("right", "wrong", "asked right", "asked", "refused", "sure", "wrong and sure")


def judge(path: Path, seeds: range, *, listed: bool) -> None:
    """Print for each kind what came of its pictures, as shares, and the share of signs that were read wrong."""
    counts: dict[str, Counter[str]] = {}
    errors: dict[str, list[int]] = {}
    for kind, seed, one, found in each(path, seeds):
        came, sureness, text = outcome(found, one)
        row = counts.setdefault(kind, Counter())
        row["all"] += 1
        row[came] += 1
        is_sure = sureness >= reading().sureness.sure
        row["sure"] += is_sure
        row["wrong and sure"] += is_sure and came == "wrong"
        if text:
            truth = one.truth.replace(" ", "")
            plain = text.replace(" ", "").lstrip("0") if one.kind in {"odometer", "paint"} else text.replace(" ", "")
            pair = errors.setdefault(kind, [0, 0])
            pair[0] += min(distance(plain, other) for other in (truth, *one.also))
            pair[1] += len(truth)
        if listed and came != "right":
            print(f"  {kind} {seed}: {one.truth} read {text!r}, {came} at {sureness:.3f} ({one.how})")
    print(f"{'':14} {'all':>5} " + " ".join(f"{name:>14}" for name in (*COLUMNS, "sign error")))
    total: Counter[str] = Counter()
    for kind, row in counts.items():
        total += row
        print(_told(kind, row, errors.get(kind, [0, 0])))
    print(_told("together", total, [sum(pair[n] for pair in errors.values()) for n in (0, 1)]))


def _told(name: str, row: Counter[str], error: list[int]) -> str:
    every = row["all"] or 1
    shares = " ".join(f"{row[key]:>6} {row[key] / every:>7.2%}" for key in COLUMNS)
    return f"{name:14} {row['all']:>5} {shares} {error[0] / max(1, error[1]):>14.2%}"


def time_pictures(seeds: range, *, film_s: float = 510.0) -> None:
    """Print the processor time of a picture of 1280 x 720, and the share of a film that reading may take."""
    import cv2

    took = []
    for seed in seeds:
        for kind in KINDS:
            large = cv2.resize(drawn(kind, seed).picture, (1280, 720), interpolation=cv2.INTER_CUBIC)
            began = time.process_time()
            read_figures(np.asarray(large, np.uint8), WANTED[kind])
            took.append(time.process_time() - began)
    # The first picture loads the networks.
    each_s = sum(took[1:]) / (len(took) - 1)
    frames = reading().film.most_frames(film_s)
    share = took[0] + frames * each_s
    print(f"the first picture {took[0]:.2f} s, each further one {each_s:.2f} s of one processor")
    print(f"a film of {film_s:.0f} s: at most {frames} frames, {share:.1f} s of one processor, or")
    print(f"{share / film_s:.1%} of its length on one and {share / film_s / 2:.1%} on two")


def distance(one: str, other: str) -> int:
    """Count the signs to change, leave out or put in (Levenshtein)."""
    row = list(range(len(other) + 1))
    for number, sign in enumerate(one, 1):
        before, row[0] = row[0], number
        for at, against in enumerate(other, 1):
            before, row[at] = row[at], min(row[at] + 1, row[at - 1] + 1, before + (sign != against))
    return row[-1]


def _seeds(text: str) -> range:
    first, _, last = text.partition("-")
    return range(int(first), int(last or first) + 1)


def main() -> None:
    """Do one of the four."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("what", choices=("read", "calibrate", "judge", "time"))
    parser.add_argument("--kept", type=Path, default=Path("figures-kept.jsonl"))
    parser.add_argument("--seeds", type=_seeds, required=True)
    parser.add_argument("--seconds", type=float, default=1e9)
    parser.add_argument("--list", action="store_true", dest="listed")
    given = parser.parse_args()
    if given.what == "read":
        read(given.kept, given.seeds, given.seconds)
    elif given.what == "calibrate":
        calibrate(given.kept, given.seeds)
    elif given.what == "time":
        time_pictures(given.seeds)
    else:
        judge(given.kept, given.seeds, listed=given.listed)


if __name__ == "__main__":
    main()
