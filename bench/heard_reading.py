#!/usr/bin/env python3
"""How much is lost between what was said and what the recogniser heard, as the reader reads it.

    bench/heard_reading.py HEARD_DIR GOLD_DIR [--also FOLDER...]

HEARD_DIR holds what `bench/hear_recordings.py` wrote. Each recording speaks the words of the narration of its name in
GOLD_DIR, at other times; each word heard is given the time of the word of the narration that it stands for, by
aligning the two. The phrases decide alone, by weights learnt anew without those narrations; where the network that
ships has not learnt from a narration either, both together are measured too. Needs `score.py` beside GOLD_DIR.
"""

from __future__ import annotations

import argparse
import json
import re
import sys
from bisect import bisect_right
from collections import Counter
from difflib import SequenceMatcher
from pathlib import Path
from typing import Any

sys.path.insert(0, str(Path(__file__).resolve().parents[1] / "tools"))

import train_reader
from read_narrations import written
from reader_quality import scorer
from shutline.car.findings import Drive
from shutline.car.speech import Stretch, StretchOrigin, stretch_of
from shutline.remarks import read
from shutline.remarks.context import shipped_network
from shutline.remarks.weights import Weights, shipped_weights


def plain(word: str) -> str:
    """Take capitals and marks off a word."""
    return re.sub(r"[^a-z0-9]+", "", word.lower())


def spread(segments: list[dict[str, Any]]) -> list[tuple[str, float]]:
    """Give each word of a narration a time, spread over its segment by count."""
    out = []
    for segment in segments:
        words = segment["text"].split()
        length = segment["end"] - segment["start"]
        out += [(plain(word), segment["start"] + length * (i + 0.5) / len(words)) for i, word in enumerate(words)]
    return out


def retimed(
    heard: list[dict[str, Any]], segments: list[dict[str, Any]], origin: StretchOrigin = StretchOrigin.HEARD
) -> list[Stretch]:
    """Move what was heard to the times of the narration; the reader sets words right where `origin` is that."""
    said = spread(segments)
    words = [plain(word) for segment in heard for word in segment["text"].split()]
    match = SequenceMatcher(None, words, [word for word, _ in said], autojunk=False)
    anchors = [(a + i, said[b + i][1]) for a, b, size in match.get_matching_blocks() for i in range(size)]
    if not anchors:
        raise SystemExit("none of the words heard stands in the narration; they are of another one")
    places = [at for at, _ in anchors]

    def time(at: int) -> float:
        """Give the time of the last word at or before this one that stands in the narration too."""
        return anchors[max(0, bisect_right(places, at) - 1)][1]

    out, at = [], 0
    for segment in heard:
        count = len(segment["text"].split())
        if count:
            start, end = time(at), time(at + count - 1)
            out.append(stretch_of(segment["text"], start, max(end, start + 0.1), origin=origin))
        at += count
    return out


def main() -> None:
    """Print the figures of the words as written and as heard."""
    parser = argparse.ArgumentParser(description=(__doc__ or "").splitlines()[0])
    parser.add_argument("heard", type=Path)
    parser.add_argument("gold", type=Path)
    parser.add_argument("--also", type=Path, nargs="*", default=[], help="learnt from too")
    given = parser.parse_args()
    score = scorer(given.gold)
    recordings = sorted(given.heard.glob("*.json"))
    names = {path.stem for path in recordings}
    paths = [path for path in train_reader.labelled([given.gold, *given.also]) if path.stem not in names]
    learnt = train_reader.train(train_reader.load_all(paths))
    weights = Weights(learnt.choosers, learnt.sorters, shipped_weights().points)
    totals: dict[str, Counter[str]] = {}
    for path in recordings:
        entry = json.loads((given.gold / path.name).read_text(encoding="utf-8"))
        heard = json.loads(path.read_text(encoding="utf-8"))["segments"]
        for which, stretches in (
            ("as written", train_reader.stretches_of(entry)),
            ("as heard, not set right", retimed(heard, entry["segments"], StretchOrigin.TRANSCRIPT)),
            ("as heard", retimed(heard, entry["segments"])),
        ):
            for alone in (True, False) if path.stem in shipped_network().left_out else (True,):
                reading = read(stretches, drive=Drive(entry["drive"]), weights=weights, by_phrases=alone)
                counts, _ = score.score(entry, written(reading, entry["segments"]))
                name = f"{which}, {'by phrases' if alone else 'with the network'}"
                totals[name] = totals.get(name, Counter()) + counts
                score.show(f"{path.stem}, {name}", counts)
    for which, counts in totals.items():
        score.show(which, counts)


if __name__ == "__main__":
    main()
