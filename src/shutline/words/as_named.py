"""What a quote names more nearly than its finding does: the driver's seat is a front one, the jack is no tool kit."""

from __future__ import annotations

import re
import tomllib
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from functools import cache
from typing import Any

from shutline.car.carfile import KeptFinding
from shutline.car.findings import Finding, FootingKind, Found, Position
from shutline.words.checks import shipped_text
from shutline.words.phrases import joined
from shutline.words.rows import Finer, Saying, holds_phrase
from shutline.words.wording import Wording


@dataclass(frozen=True, slots=True)
class _Piece:
    called: str
    phrases: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class _Kit:
    conditions: frozenset[str]
    whole: tuple[str, ...]
    apart: tuple[str, ...]
    pieces: tuple[_Piece, ...]


@dataclass(frozen=True, slots=True)
class _Rules:
    whose: tuple[str, ...]
    behind: tuple[str, ...]
    kits: dict[str, _Kit]


def at_its_seat(kept: KeptFinding, wording: Wording) -> KeptFinding:
    """Take a finding of the driver's or the passenger's seat for one of a front seat, where its words say so.

    'The driver's seat has a tear', taken as rear from what was spoken of before; not 'the seat behind the driver's
    seat', and not where a person entered or amended the end.
    """
    finding = kept.finding
    if finding.position is not Position.REAR or not wording.nouns[finding.part].by_seat or _end_by_hand(kept):
        return kept
    quotes = _quotes(finding)
    rules = _rules()
    if not quotes or not all(
        holds_phrase(rules.whose, quote) and not holds_phrase(rules.behind, quote) for quote in quotes
    ):
        return kept
    return replace(kept, finding=replace(finding, position=None))


def piece_named(finding: Finding, saying: Saying) -> Finer | None:
    """Give the finer words for a finding that was drawn from words about a piece of its part: 'the jack is there'."""
    kit = _rules().kits.get(finding.part)
    quotes = _quotes(finding)
    if kit is None or not quotes or finding.found is not Found.YES or finding.condition not in kit.conditions:
        return None
    if any(holds_phrase((*kit.whole, *kit.apart), quote) for quote in quotes):
        return None
    named = [_named(kit.pieces, quote) for quote in quotes]
    if not all(named):
        return None
    pieces = list(dict.fromkeys(one for each in named for one in each))
    words = joined([pieces[0], *(f"the {one}" for one in pieces[1:])])
    several = len(pieces) > 1
    return Finer(
        f"piece {words}", finding.condition, frozenset({finding.part}), (), words, several, saying.cells["yes"][0]
    )


def _named(pieces: Sequence[_Piece], quote: str) -> tuple[str, ...]:
    """Give the pieces that a quote names; what was found counts for no other: a jack handle is no jack."""
    found = []
    left = quote
    for piece in pieces:
        if holds_phrase(piece.phrases, left):
            found.append(piece.called)
            words = "|".join(re.escape(one) for one in sorted(piece.phrases, key=len, reverse=True))
            left = re.sub(rf"\b(?:{words})\b", " ", left, flags=re.IGNORECASE)
    return tuple(found)


def _quotes(finding: Finding) -> tuple[str, ...]:
    return tuple(one.quote for one in finding.footings if one.kind is FootingKind.SAID and one.quote)


def _end_by_hand(kept: KeptFinding) -> bool:
    return any("position" in one.after and one.action != "drawn" for one in kept.changes)


@cache
def _rules() -> _Rules:
    raw = tomllib.loads(shipped_text("as_named.toml"))
    return _Rules(tuple(raw["seat"]["whose"]), tuple(raw["seat"]["behind"]), dict(_kits(raw["kit"])))


def _kits(rows: Iterable[dict[str, Any]]) -> Iterable[tuple[str, _Kit]]:
    for row in rows:
        pieces = tuple(_Piece(one["called"], tuple(one["phrases"])) for one in row["piece"])
        yield row["part"], _Kit(frozenset(row["conditions"]), tuple(row["whole"]), tuple(row["apart"]), pieces)
