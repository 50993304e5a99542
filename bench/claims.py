#!/usr/bin/env python3
"""Measure the check on descriptions of our own, each held against the labels of the narration it is named for.

    bench/claims.py DESCRIPTIONS NARRATIONS SCORER [--read] [--misses]

Where several are of one car, a number ends their names (NAME-1, NAME-2).
A description is a text with lines of `> verdict | quote` below each paragraph, the verdict backed, at_odds or unbacked.
NARRATIONS holds NAME.json (labelled, as `../shared/eval/dev`) or NAME.txt (as `training/narrations`); SCORER is
`../shared/eval/score_text.py`. With `--read` they are held against what the reader makes of the narration instead.
"""

from __future__ import annotations

import argparse
import importlib.util
import json
import re
import sys
from collections import Counter
from pathlib import Path
from types import ModuleType
from typing import Any

sys.path[:0] = [str(Path(__file__).parent), str(Path(__file__).parents[1] / "tools")]

from narrations import gold, load  # noqa: E402
from read_narrations import checked, read_segments, record_labelled, record_read  # noqa: E402


def described(path: Path) -> dict[str, Any]:
    """Read a description and its labels, in the form of a labelled one."""
    text, claims = [], []
    for line in path.read_text(encoding="utf-8").splitlines():
        if line.startswith(">"):
            verdict, _, quote = line[1:].lstrip("?").partition("|")
            claims.append({"verdict": verdict.strip(), "quote": quote.strip()})
        else:
            text.append(line)
    return {"text": "\n".join(text), "claims": claims}


def narrated(folder: Path, name: str) -> dict[str, Any]:
    """Read the narration of a name, in either form; a number at its end tells descriptions of one car apart."""
    if not any((folder / f"{name}{ending}").is_file() for ending in (".json", ".txt")):
        name = re.sub(r"-\d$", "", name)
    plain = folder / f"{name}.json"
    if plain.is_file():
        entry: dict[str, Any] = json.loads(plain.read_text(encoding="utf-8"))
        return entry
    return dict(gold(load(folder / f"{name}.txt")))


def scorer(path: Path) -> ModuleType:
    """Load the scorer that lies outside the project."""
    spec = importlib.util.spec_from_file_location("score_text", path)
    if spec is None or spec.loader is None:
        raise SystemExit(f"{path}: not a scorer; give the path of score_text.py")
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


def main() -> None:
    """Check each and score all."""
    parser = argparse.ArgumentParser(description=(__doc__ or "").splitlines()[0])
    parser.add_argument("descriptions", type=Path)
    parser.add_argument("narrations", type=Path)
    parser.add_argument("scorer", type=Path)
    parser.add_argument("--read", action="store_true", help="hold them against what the reader makes of the narration")
    parser.add_argument("--misses", action="store_true", help="show each mistake")
    given = parser.parse_args()
    score = scorer(given.scorer)
    total: Counter[str] = Counter()
    for path in sorted(given.descriptions.glob("*.txt")):
        entry, labelled = narrated(given.narrations, path.stem), described(path)
        if given.read:
            on = record_read(read_segments(entry["segments"], entry["drive"]), entry["drive"])
        else:
            on = record_labelled(entry)
        counts, notes = score.score_description(labelled, checked(labelled["text"], on))
        total += counts
        score.show(path.stem[:12], counts)
        for note in notes if given.misses else ():
            print("   ", note)
    score.show("all", total)


if __name__ == "__main__":
    main()
