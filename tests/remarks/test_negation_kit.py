"""The reach of denials, held to the open NegEx kit: tests/published/negex_kit.md names the source and its figure."""

from __future__ import annotations

import csv
import sys
from dataclasses import dataclass
from pathlib import Path

import pytest

from shutline.car.speech import StretchOrigin, stretch_of
from shutline.remarks.lexicon import Lexicon, Row, build, read_rows, shipped_lexicon, with_layer
from shutline.remarks.phrases import find
from shutline.remarks.scope import Reach, scopes
from shutline.remarks.tokens import Text, tokens

TESTS = Path(__file__).resolve().parents[1]
PUBLISHED_F = 0.94673  # readme of the kit: TP 471, FP 33, FN 20
LAYER = read_rows(
    "cues",
    (TESTS / "data/clinical_cues.csv").read_text(encoding="utf-8").splitlines(),
    name="clinical_cues.csv",
)


@dataclass(frozen=True)
class Case:
    number: int
    finding: str
    sentence: str
    negated: bool


def _cases() -> list[Case]:
    with (TESTS / "published/negex_kit.tsv").open(encoding="utf-8", newline="") as lines:
        rows = list(csv.reader(lines, delimiter="\t", quoting=csv.QUOTE_NONE))[1:]
    return [Case(int(r[0]), " ".join(r[1].split()), " ".join(r[2].split()), r[3] == "Negated") for r in rows]


def _text(said: str) -> Text:
    return tokens([stretch_of(said, 0.0, 5.0, origin=StretchOrigin.TRANSCRIPT)])


def _denied(case: Case, lexicon: Lexicon) -> bool:
    """Judge the finding where the kit writes it in capitals; where a heading says it too, the last counts."""
    start = case.sentence.rfind(case.finding.upper())
    if start < 0:  # 25 findings run over the end of their sentence; the kit calls all of them affirmed
        return False
    before = len(case.sentence[:start].split()) - (start > 0 and case.sentence[start - 1] != " ")
    after = len(case.sentence[: start + len(case.finding)].split())
    text = _text(case.sentence)
    inside = [at for at, word in enumerate(text.word) if before <= word < after]
    if not inside:
        return False
    return Reach(scopes(text, find(text, lexicon)["cues"])).over(inside[0], inside[-1] + 1).denied


def _figures(cases: list[Case], denied: dict[int, bool]) -> tuple[int, int, int, float]:
    true = sum(denied[c.number] and c.negated for c in cases)
    false = sum(denied[c.number] and not c.negated for c in cases)
    missed = sum(c.negated and not denied[c.number] for c in cases)
    return true, false, missed, 2 * true / (2 * true + false + missed)


@pytest.mark.parametrize("row", LAYER, ids=lambda row: row.id)
def test_clinical_row_fits_its_example_and_not_its_counter_example(row: Row) -> None:
    alone = build([row])
    assert find(_text(row.example), alone)["cues"]
    assert not find(_text(row.counter_example), alone)["cues"]


def test_denials_reach_as_far_as_in_the_published_kit(capsys: pytest.CaptureFixture[str]) -> None:
    cases = _cases()
    assert (len(cases), sum(c.negated for c in cases)) == (2376, 491)
    lexicon = with_layer(shipped_lexicon(), LAYER)
    denied = {case.number: _denied(case, lexicon) for case in cases}
    looked_at = {case.sentence for case in cases if case.number % 2 == 0}
    parts = {
        "even rows, looked at": [c for c in cases if c.number % 2 == 0],
        "odd rows, not looked at": [c for c in cases if c.number % 2],
        "odd rows of sentences in no even row": [c for c in cases if c.sentence not in looked_at],
        "all": cases,
    }
    figures = {name: _figures(chosen, denied) for name, chosen in parts.items()}
    lines = [f"NegEx kit, F for negated; published figure of the kit's own program: {PUBLISHED_F:.3f}"]
    for name, (true, false, missed, f) in figures.items():
        lines.append(f"  {name} ({len(parts[name])}): F {f:.3f} (TP {true}, FP {false}, FN {missed})")
    with capsys.disabled():
        sys.stdout.write("\n" + "\n".join(lines) + "\n")
    assert figures["all"][3] >= 0.94
    assert figures["odd rows, not looked at"][3] >= 0.94
    assert figures["odd rows of sentences in no even row"][3] >= 0.94
