#!/usr/bin/env python3
"""Count what people say at cars, and lay beside it how words sound: what misheard words are set right with.

    tools/learn_hearing.py FOLDER... --sounds DICTIONARY [--leave-out NAME...] [--out FILE]

A folder holds labelled narrations, JSON or text, as for `train_reader.py`; their labels are not looked at. The
dictionary is CMU's, one word and its ARPAbet phones a line, as the package `pocketsphinx` carries it
(`cmudict-en-us.dict`, BSD).
The same input gives the same file.
"""

from __future__ import annotations

import argparse
import re
from collections import Counter
from itertools import pairwise
from pathlib import Path

import numpy as np

import train_reader
from shutline.remarks.language import START, counted
from shutline.remarks.sounds import PHONES
from shutline.remarks.tokens import tokens

LEAST = 2
LONGEST = 12
"""The most sounds of a word that is kept."""


def sounds(file: Path) -> list[str]:
    """Give for each word of the dictionary a line: the word and up to two ways in which it is said."""
    out: dict[str, list[str]] = {}
    for line in file.read_text(encoding="utf-8").splitlines():
        word, *names = line.split()
        if len(names) <= LONGEST and re.fullmatch(r"[a-z']+(\(\d\))?", word):
            out.setdefault(word.split("(")[0], []).append("".join(PHONES[name] for name in names))
    return [" ".join((word, *ways[:2])) for word, ways in sorted(out.items())]


def main() -> None:
    """Count and write."""
    parser = argparse.ArgumentParser(description=(__doc__ or "").splitlines()[0])
    parser.add_argument("folders", type=Path, nargs="+")
    parser.add_argument("--sounds", type=Path, required=True)
    parser.add_argument("--leave-out", nargs="*", default=[])
    parser.add_argument("--out", type=Path, default=Path("src/shutline/remarks/data/hearing.npz"))
    given = parser.parse_args()
    ones: Counter[str] = Counter()
    twos: Counter[tuple[str, ...]] = Counter()
    threes: Counter[tuple[str, ...]] = Counter()
    paths = [path for path in train_reader.labelled(given.folders) if path.stem not in given.leave_out]
    for path in paths:
        said = tokens(train_reader.stretches_of(train_reader.entry_of(path))).norm
        run = [START, START, *map(counted, said)]
        ones.update(run[2:])
        twos.update(pairwise(run[1:]))
        threes.update(zip(run, run[1:], run[2:], strict=False))
    total = ones.total()
    words = [*sorted(word for word, count in ones.items() if count >= LEAST), START]
    place = {word: at for at, word in enumerate(words)}

    def rows(counts: Counter[tuple[str, ...]]) -> np.ndarray:
        kept = sorted((run, count) for run, count in counts.items() if count >= LEAST and place.keys() >= set(run))
        return np.array([(*(place[word] for word in run), count) for run, count in kept], dtype=np.int32)

    np.savez_compressed(
        given.out,
        words=np.frombuffer("\n".join(words).encode("utf-8"), dtype=np.uint8),
        sounds=np.frombuffer("\n".join(sounds(given.sounds)).encode("utf-8"), dtype=np.uint8),
        ones=np.array([ones[word] for word in words], dtype=np.int32),
        twos=rows(twos),
        threes=rows(threes),
        unknown=np.float64(sum(count for count in ones.values() if count < LEAST) / total),
    )
    print(f"{len(paths)} narrations, {total} tokens, {len(words)} words; {given.out.stat().st_size / 1e6:.1f} MB")


if __name__ == "__main__":
    main()
