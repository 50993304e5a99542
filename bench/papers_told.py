"""What the words of made papers tell: values found, told among others, missed and wrongly told; private words leaked.

    python bench/papers_told.py --seeds 20

Papers are those of tests/history/papers, as they are, and read badly: six figures and letters in a hundred taken for
those that look like them, eight blanks in a hundred dropped, lines a little out of place.
"""

from __future__ import annotations

import argparse
import importlib.util
import sys
import time
from collections import Counter
from pathlib import Path
from typing import Any

from shutline.car.papers import PRIVATE, Page, ReadKind
from shutline.history.papers import Known, private_words, tell_paper

ROOT = Path(__file__).resolve().parents[1] / "tests" / "history" / "papers"
COLUMNS = ("found", "among", "missed", "wrong", "role")


def main() -> int:
    """Print a table for each half, as drawn and read badly, and how long many pages take."""
    options = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    options.add_argument("--seeds", type=int, default=20, help="how often each paper is read badly")
    options.add_argument("--seen", action="store_true", help="set in type, photographed and read too: ten minutes")
    options.add_argument("--notes", action="store_true", help="say what was missed and wrongly told")
    asked = options.parse_args()
    made = _layouts()
    for half in ("known", "held"):
        layouts = made.read_layouts(f"layouts_{half}.txt")
        if asked.seen:
            _table(
                f"{half}, {len(layouts)} papers, seen", [made.scored(layouts, read=_seen(layouts))], notes=asked.notes
            )
        for name, seeds in (("as drawn", [None]), ("read badly", list(range(1, asked.seeds + 1)))):
            scores = [made.scored(layouts, seed) for seed in seeds]
            _table(f"{half}, {len(layouts)} papers, {name}", scores, notes=asked.notes)
    _speed(made)
    return 0


def _table(title: str, scores: list[Any], *, notes: bool) -> None:
    print(f"\n{title}\n| | {' | '.join(COLUMNS)} |\n| --- |{' --- |' * len(COLUMNS)}")
    for kind in ("kind", *(one.value for one in ReadKind if one not in PRIVATE), "private"):
        total: Counter[str] = Counter()
        for score in scores:
            total.update(dict(zip(COLUMNS, score.row(kind), strict=True)))
        print(f"| {kind} | {' | '.join(str(total[column]) for column in COLUMNS)} |")
    if notes:
        print("\n".join(dict.fromkeys(note for score in scores for note in score.notes)))


def _seen(layouts: list[Any]) -> dict[str, Page]:
    """Set each paper in type, photograph it and read the picture, as papers that come in are."""
    from papers_made import pdf_of, picture_of, scanned
    from shutline.gauge.pages.reading import read_page
    from shutline.history.paper_facts import told_lines

    pages = {}
    for seed, layout in enumerate(layouts):
        lines = layout.text.replace("\\", "\\\\").replace('"', '\\"').replace("\n", "\\n")
        font = '#set text(font: "DejaVu Sans Mono", size: 8pt)\n#set par(leading: 0.9em)\n'
        picture = scanned(picture_of(pdf_of(f'{font}#raw("{lines}")')), seed=seed, worn=0.6)
        pages[layout.name] = told_lines(read_page(picture)[0])
    return pages


def _speed(made: Any) -> None:
    texts = [layout.text for layout in made.read_layouts("layouts_known.txt")]
    pages: list[Page] = [
        made.page_of("\n".join(texts[at % len(texts)] for at in (n, n + 1, n + 2)), n) for n in range(1, 401)
    ]
    begun = time.process_time()
    told = tell_paper(pages, known=Known(made.TODAY))
    taken = time.process_time() - begun
    lines = sum(len(page.lines) for page in pages)
    print(f"\n{len(pages)} pages, {lines} lines: {taken:.1f} s of one processor, {len(told.proposals)} proposals")
    begun = time.process_time()
    print(f"private words alone: {len(private_words(pages))} in {time.process_time() - begun:.1f} s")


def _layouts() -> Any:
    spec = importlib.util.spec_from_file_location("paper_layouts", ROOT / "layouts.py")
    if spec is None or spec.loader is None:
        raise FileNotFoundError(ROOT / "layouts.py")
    module = importlib.util.module_from_spec(spec)
    sys.modules["paper_layouts"] = module
    spec.loader.exec_module(module)
    return module


if __name__ == "__main__":
    sys.exit(main())
