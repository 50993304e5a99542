"""Papers as text files draw them, made into pages; and what was found of them, counted."""

from __future__ import annotations

import random
import re
from collections import Counter
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from pathlib import Path

from shutline.car.papers import PRIVATE, Box, Line, Page, PaperKind, Proposal, ReadKind
from shutline.history.papers import Known, private_words, tell_paper

HERE = Path(__file__).parent
TODAY = date(2026, 11, 26)
SIGN, HEIGHT, STEP = 0.0105, 0.014, 0.021


@dataclass(frozen=True)
class Wanted:
    kind: ReadKind
    text: str
    unit: str
    role: str


@dataclass(frozen=True)
class Layout:
    name: str
    kind: PaperKind
    text: str
    wanted: tuple[Wanted, ...]
    private: tuple[str, ...]
    public: tuple[str, ...]


def read_layouts(name: str) -> list[Layout]:
    parts = re.split(r"^=== (.+?) \| (\w+)\n", (HERE / name).read_text(encoding="utf-8"), flags=re.MULTILINE)[1:]
    layouts = []
    for title, kind, body in zip(parts[::3], parts[1::3], parts[2::3], strict=True):
        drawn, told = body.split("\n---\n") if "\n---\n" in body else (body.replace("---\n", ""), "")
        wanted, private, public = [], [], []
        for row in filter(None, told.splitlines()):
            first, _, rest = row.partition(" ")
            if first == "private":
                private.append(rest)
            elif first == "public":
                public.append(rest)
            else:
                value, _, role = (part.strip() for part in rest.partition("|"))
                text, _, unit = value.partition(" ")
                wanted.append(Wanted(ReadKind(first), text, unit, role))
        layouts.append(Layout(title, PaperKind(kind), drawn, tuple(wanted), tuple(private), tuple(public)))
    return layouts


def page_of(text: str, number: int = 1) -> Page:
    """Draw a text as a page: every run of words without a wide gap is a line with its box."""
    lines = [
        Line(run[0], Box(0.04 + run.start() * SIGN, 0.04 + row * STEP, len(run[0]) * SIGN, HEIGHT))
        for row, words in enumerate(text.splitlines())
        for run in re.finditer(r"\S+(?: \S+)*", words)
    ]
    return Page(number, tuple(lines))


def noisy(page: Page, seed: int) -> Page:
    """Read a page badly: figures and letters taken for one another, blanks dropped, lines a little out of place."""
    chance = random.Random(seed)
    swaps = {"0": "O", "1": "l", "l": "1", "O": "0"}
    lines = []
    for line in page.lines:
        signs = [swaps[one] if one in swaps and chance.random() < 0.06 else one for one in line.words]
        words = "".join(one for one in signs if one != " " or chance.random() >= 0.08)
        box = Box(
            line.box.left + chance.uniform(-0.002, 0.002),
            line.box.top + chance.uniform(-0.002, 0.002),
            line.box.width,
            line.box.height,
        )
        lines.append(Line(words, box, 0.9))
    return Page(page.number, tuple(lines))


def folded(text: str) -> str:
    """Make texts equal that differ in blanks and in what was misread."""
    return re.sub(r"\s", "", text).translate(str.maketrans("0lI", "O11"))


@dataclass
class Score:
    found: Counter[str]
    among: Counter[str]
    missed: Counter[str]
    wrong: Counter[str]
    role: Counter[str]
    private: Counter[str]
    notes: list[str]

    def row(self, kind: str) -> tuple[int, int, int, int, int]:
        return self.found[kind], self.among[kind], self.missed[kind], self.wrong[kind], self.role[kind]


def _among(one: Proposal, want: Wanted) -> bool:
    return any(value.text == want.text for value in one.values)


def scored(layouts: list[Layout], noise: int | None = None, read: Mapping[str, Page] | None = None) -> Score:
    """Count what was found, missed and wrongly told; `role` counts those found whose role is right too.

    Found is a value that is told first, `among` one that is told as another way. Private words are found that lie in
    a stretch whole, wrong are words that are public and lie in one. `read` are the pages by the name of their layout
    where they were read otherwise than they are drawn here.
    """
    score = Score(*(Counter() for _ in range(6)), [])
    for layout in layouts:
        page = read[layout.name] if read else page_of(layout.text)
        if noise is not None:
            page = noisy(page, noise)
        told = tell_paper([page], known=Known(TODAY))
        right = told.kinds[0][0] is layout.kind
        (score.found if right else score.missed)["kind"] += 1
        if not right:
            score.notes.append(f"{layout.name}: kind {told.kinds[:2]}")
        _score_values(score, layout, [one for one in told.proposals if one.kind not in PRIVATE])
        _score_private(score, layout, [folded(one.words) for one in private_words([page])])
    return score


def _score_values(score: Score, layout: Layout, left: list[Proposal]) -> None:
    for want in sorted(layout.wanted, key=lambda one: not one.role):
        fits = [one for one in left if _first(one, want)]
        best = next((one for one in fits if one.role == want.role), fits[0] if fits else None)
        other = next((one for one in left if one.kind is want.kind and _among(one, want)), None)
        if best is not None:
            left.remove(best)
            score.found[want.kind] += 1
            score.role[want.kind] += best.role == want.role or not want.role
            if want.role not in {"", best.role}:
                score.notes.append(f"{layout.name}: role of {want.text}: {best.role!r}, not {want.role!r}")
        elif other is not None:
            left.remove(other)
            score.among[want.kind] += 1
        else:
            score.missed[want.kind] += 1
            score.notes.append(f"{layout.name}: missed {want.kind} {want.text} {want.unit} | {want.role}")
    for one in left:
        score.wrong[one.kind] += 1
        score.notes.append(f"{layout.name}: wrong {one.kind} {one.words!r} {one.values[0]} | {one.role}")


def _score_private(score: Score, layout: Layout, stretches: list[str]) -> None:
    for words in layout.private:
        within = any(folded(words) in one for one in stretches)
        (score.found if within else score.missed)["private"] += 1
        if not within:
            score.notes.append(f"{layout.name}: LEAKED {words!r}")
    for words in layout.public:
        if any(folded(words) in one for one in stretches):
            score.wrong["private"] += 1
            score.notes.append(f"{layout.name}: kept back {words!r}")


def _first(one: Proposal, want: Wanted) -> bool:
    value = one.values[0]
    return (one.kind, value.text) == (want.kind, want.text) and want.unit in {"", value.unit}


def _among(one: Proposal, want: Wanted) -> bool:
    return any(value.text == want.text for value in one.values)
