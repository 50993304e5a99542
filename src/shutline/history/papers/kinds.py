"""What kind a paper is, by its words and by what stands in rows on it: chances, never a verdict."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence

from shutline.car.papers import PaperKind, ReadKind
from shutline.history.papers.reading import Sheet
from shutline.history.papers.tables import KindWords, weights

_LEAST_STAMPS = 3


def kinds_of(sheets: Sequence[Sheet]) -> tuple[tuple[PaperKind, float], ...]:
    """Weigh the kinds of a paper: each phrase of ``kinds.csv`` counts once, however often it comes."""
    rules = weights()["kinds"]
    told: set[KindWords] = {words for sheet in sheets for read in sheet.rows for words in read.words}
    score: dict[PaperKind, float] = dict.fromkeys(PaperKind, 0.0)
    for words in sorted(told, key=lambda one: (one.kind, one.words)):
        score[words.kind] += words.weight
    if _stamps(sheets) >= _LEAST_STAMPS:
        score[PaperKind.SERVICE] += rules["stamps"]
    if _totalled(sheets):
        score[PaperKind.INVOICE] += rules["sums"]
    score[PaperKind.OTHER] = rules["other"]
    return _chances({kind: min(weight, rules["most"]) for kind, weight in score.items()})


def _stamps(sheets: Sequence[Sheet]) -> int:
    return sum(
        any(not one.labelled for one in read.dates) and bool(read.mileages or len(read.bare_miles) == 1)
        for sheet in sheets
        for read in sheet.rows
    )


def _totalled(sheets: Sequence[Sheet]) -> bool:
    roles = {
        label.meaning.role
        for sheet in sheets
        for read in sheet.rows
        if read.money or read.bare_sums
        for label in read.labels
        if label.meaning.kind is ReadKind.MONEY
    }
    return "total" in roles and bool(roles & {"VAT", "net"})


def _chances(score: Mapping[PaperKind, float]) -> tuple[tuple[PaperKind, float], ...]:
    most = max(score.values())
    odds = {kind: math.exp(weight - most) for kind, weight in score.items()}
    total = sum(odds.values())
    order = sorted(odds, key=lambda kind: (-odds[kind], list(PaperKind).index(kind)))
    return tuple((kind, round(odds[kind] / total, 4)) for kind in order)
