#!/usr/bin/env python3
"""Count how often each rule for facts is right on labelled narrations; the reader takes its sureness from the counts.

    tools/count_facts.py FILE... [--out src/shutline/remarks/data/fact_sureness.toml] [--check]

A file is a narration as `training/narrations` holds them. Each is read as it is written and once more without capitals
and marks, as a recogniser may give it. A rule is right when the label of that fact has its value. Company depends on
which rules are sure, so the count is taken again until it stays the same. With `--check` nothing is written: it prints,
for each tenth of sureness, how many of the facts given were right.
"""

from __future__ import annotations

import argparse
import re
from collections import defaultdict
from collections.abc import Iterator
from pathlib import Path

import narrations
from shutline.car.speech import StretchOrigin, stretch_of
from shutline.remarks.fact_choice import forget
from shutline.remarks.facts import candidates, facts
from shutline.remarks.tokens import Text, tokens

OUT = Path("src/shutline/remarks/data/fact_sureness.toml")
ROUNDS = 3
Told = set[tuple[str, str]]


def bare(words: str) -> str:
    """Give words as a recogniser without marks does: lower case, a decimal point said."""
    words = re.sub(r"(\d)\.(\d)", r"\1 point \2", re.sub(r"(\d),(\d)", r"\1\2", words.lower()))
    return re.sub(r"[^\w\s']", " ", words)


def texts(files: list[Path]) -> Iterator[tuple[Told, Text]]:
    """Give the labelled facts of each narration with its tokens, as written and bare."""
    for path in files:
        narration = narrations.load(path)
        told = {(str(fact["name"]), str(fact["value"]).lower()) for fact in narration.facts}
        for words in (narration.text, bare(narration.text)):
            yield told, tokens([stretch_of(words, 0.0, 60.0, origin=StretchOrigin.TRANSCRIPT)])


def counted(read: list[tuple[Told, Text]]) -> dict[str, dict[str, list[int]]]:
    """Count right ones and all, for each fact and kind of rule."""
    table: dict[str, dict[str, list[int]]] = defaultdict(lambda: defaultdict(lambda: [0, 0]))
    for told, text in read:
        for fact in candidates(text):
            count = table[fact.name][fact.kind]
            count[0] += (fact.name, str(fact.value).lower()) in told
            count[1] += 1
    return table


def write(table: dict[str, dict[str, list[int]]], out: Path) -> None:
    """Write the table as TOML, in the order of names."""
    lines = ["# How often each rule was right, by rule and company: [right, drawn]. Written by tools/count_facts.py."]
    for name in sorted(table):
        lines += ["", f"[{name}]"]
        lines += [f'"{kind}" = [{right}, {drawn}]' for kind, (right, drawn) in sorted(table[name].items())]
    out.write_text("\n".join(lines) + "\n", encoding="utf-8")


def show(read: list[tuple[Told, Text]]) -> None:
    """Print sureness against the share that was right."""
    tenths: dict[int, list[float]] = defaultdict(lambda: [0.0, 0.0, 0.0])
    for told, text in read:
        for fact in facts(text):
            row = tenths[min(9, int(fact.sureness * 10))]
            row[0] += 1
            row[1] += fact.sureness
            row[2] += (fact.name, str(fact.value).lower()) in told
    for tenth, (drawn, sure, right) in sorted(tenths.items()):
        print(f"{tenth / 10:.1f}-{(tenth + 1) / 10:.1f} {drawn:5.0f} mean {sure / drawn:.2f} right {right / drawn:.2f}")


def main() -> None:
    """Run the command line."""
    parser = argparse.ArgumentParser(description=(__doc__ or "").splitlines()[0])
    parser.add_argument("files", nargs="+", type=Path)
    parser.add_argument("--out", type=Path, default=OUT)
    parser.add_argument("--check", action="store_true")
    asked = parser.parse_args()
    read = list(texts(asked.files))
    if asked.check:
        show(read)
        return
    for _ in range(ROUNDS):
        write(counted(read), asked.out)
        forget()


if __name__ == "__main__":
    main()
