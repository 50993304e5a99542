#!/usr/bin/env python3
"""Measure how written sentences are read, on labelled descriptions: part, condition and whether it was found.

    bench/written_reading.py DESCRIPTIONS [--like a] [--every N] [--shown | --kept] [--misses] [--facts]

DESCRIPTIONS are texts as in `training/descriptions`. A label is hit where a statement that shares a letter with its
quote names its part, its condition and whether it is there; 'sound' and 'works' count as one. What goes astray is told
by kind: nothing read there, the part, the condition, found or the place taken for another. Of the descriptions a to c
those whose number divides by three (`--kept`) are only measured on; from the rest (`--shown`) phrases may be taken.
"""

from __future__ import annotations

import argparse
import sys
from collections import Counter
from dataclasses import dataclass
from pathlib import Path
from typing import Any

sys.path.insert(0, str(Path(__file__).parents[1] / "tools"))

from narrations import Narration, load
from shutline.car.findings import Drive
from shutline.claims.claimed import claimed
from shutline.claims.sayings import Saying
from shutline.claims.told_values import same_value

_KEPT_OF = frozenset("abc")
"""The first letters of the descriptions of which some are kept; the later ones are all there to learn from."""
_ONE = {"works": "sound"}
"""Conditions that count as another: what is praised."""


@dataclass(frozen=True, slots=True)
class Label:
    """A label and the letters that its quote takes."""

    first: int
    end: int
    row: dict[str, Any]


def written(narration: Narration) -> str:
    """Give the words of a description with a line for each of its paragraphs; letters keep their places."""
    lines = narration.path.read_text(encoding="utf-8").splitlines()
    paragraphs = [" ".join(line.split()) for line in lines if line.strip() and line.lstrip()[0] not in "#>"]
    text = "\n".join(paragraphs)
    if text.replace("\n", " ") != narration.text:
        raise SystemExit(f"{narration.path}: paragraphs do not make up its words")
    return text


def places(text: str, rows: list[dict[str, Any]]) -> list[Label]:
    """Give the letters of each label's quote."""
    out = []
    for row in rows:
        first = row.get("at", text.replace("\n", " ").find(row["quote"]))
        if first >= 0:
            out.append(Label(first, row.get("end", first + len(row["quote"])), row))
    return out


def meets(label: Label, saying: Saying) -> bool:
    """Tell whether a statement and a label share a letter."""
    return saying.first < label.end and label.first < saying.end


def kind_of(label: Label, sayings: list[Saying]) -> str:
    """Tell how a label was read: 'hit', or what was taken for another."""
    row = label.row
    there = [s for s in sayings if meets(label, s) and s.spot is not None]
    part = {id(s) for s in there if s.spot is not None and s.spot.part == row["part"]}
    told = {id(s) for s in there if _ONE.get(s.condition, s.condition) == _ONE.get(row["condition"], row["condition"])}
    found = {id(s) for s in there if s.found.value == row["found"]}
    if part & told & found:
        hit = [s.spot for s in there if id(s) in part & told & found and s.spot is not None]
        sides = {(spot.side and spot.side.value, spot.position and spot.position.value) for spot in hit}
        return "hit" if (row["side"], row["position"]) in sides else "place"
    for name, rest in (("found", part & told), ("part", told & found), ("condition", part)):
        if rest:
            return name
    return "other" if there else "unread"


def is_right(saying: Saying, labels: list[Label]) -> bool:
    """Tell whether a label bears a statement out."""
    return any(meets(label, saying) and kind_of(label, [saying]) in ("hit", "place") for label in labels)


def fact_read(label: Label, sayings: list[Saying]) -> bool:
    """Tell whether a fact was read with its value."""
    row = label.row
    return any(
        s.fact is not None
        and s.fact.name == row["name"]
        and same_value(row["name"], row["value"], row.get("unit"), s.fact.value, s.fact.unit)
        for s in sayings
    )


def is_kept(path: Path) -> bool:
    """Tell whether a description is kept for measuring."""
    letter, number, *_ = path.stem.split("-")
    return letter in _KEPT_OF and int(number) % 3 == 0


def main() -> None:
    """Read each and count."""
    parser = argparse.ArgumentParser(description=(__doc__ or "").splitlines()[0])
    parser.add_argument("descriptions", type=Path)
    parser.add_argument("--like", default="", help="only those whose names begin so")
    parser.add_argument("--every", type=int, default=1, help="only each Nth")
    which = parser.add_mutually_exclusive_group()
    which.add_argument("--shown", action="store_true", help="only those that phrases may be taken from")
    which.add_argument("--kept", action="store_true", help="only those that are kept for measuring")
    parser.add_argument("--misses", action="store_true", help="show what went astray")
    parser.add_argument("--facts", action="store_true", help="with --misses, show the facts that were not read")
    given = parser.parse_args()
    kinds: Counter[str] = Counter()
    read = right = facts = facts_read = 0
    paths = sorted(given.descriptions.glob(f"{given.like}*.txt"))
    if given.shown or given.kept:
        paths = [path for path in paths if is_kept(path) == given.kept]
    for path in paths[:: given.every]:
        narration = load(path)
        text = written(narration)
        sayings = list(claimed(text, drive=Drive(narration.head["drive"])))
        stated = [s for s in sayings if s.spot is not None]
        labels = places(text, narration.labels)
        told = places(text, narration.facts)
        for label in labels:
            kind = kind_of(label, stated)
            kinds[kind] += 1
            if given.misses and kind not in ("hit", "place"):
                row = label.row
                beside = "; ".join(
                    f"{s.spot.part} {s.condition} {s.found.value} «{s.quote}»"
                    for s in stated
                    if meets(label, s) and s.spot is not None
                )
                names = f"{row['part']} {row['condition']} {row['found']}"
                print(f"{path.stem[:4]} {kind}: {names} «{row['quote']}» read as: {beside or '-'}")
        read += len(stated)
        right += sum(is_right(s, labels) for s in stated)
        facts += len(told)
        for label in told:
            seen = fact_read(label, sayings)
            facts_read += seen
            if given.misses and given.facts and not seen:
                print(f"{path.stem[:4]} fact: {label.row['name']} {label.row['value']} «{label.row['quote']}»")
    total = sum(kinds.values())
    recall, precision = (kinds["hit"] + kinds["place"]) / total, right / read
    print(f"{total} labels:", ", ".join(f"{kind} {count / total:.3f}" for kind, count in kinds.most_common()))
    f1 = 2 * recall * precision / (recall + precision)
    print(f"recall {recall:.3f}, precision {precision:.3f} of {read}, F1 {f1:.3f}")
    print(f"facts {facts_read / facts:.3f} of {facts}")


if __name__ == "__main__":
    main()
