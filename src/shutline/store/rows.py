"""Records become rows and plain values, and rows become the same records again."""

from __future__ import annotations

import hashlib
from collections.abc import Iterable
from typing import Any, TypeVar

import msgspec
from sqlalchemy import RowMapping

from shutline.car.findings import (
    Fact,
    Finding,
    Footing,
    FootingKind,
    Found,
    Position,
    Remedy,
    Severity,
    Side,
    State,
)
from shutline.car.recordings import Kind, Original, Probe, Still
from shutline.car.speech import Stretch, StretchOrigin, Word, WordTiming

Plain = dict[str, Any]
T = TypeVar("T")

_BARE = frozenset({str, int, float, bool, type(None)})


def digest(*values: str) -> str:
    """Give 16 hexadecimal digits that the same values always get."""
    return hashlib.sha256("\x1f".join(values).encode("utf-8", "surrogatepass")).hexdigest()[:16]


def plain(record: object) -> Any:
    """Give a record as the dicts, lists and bare values that JSON has."""
    return _lists(msgspec.to_builtins(record))


def _lists(value: Any) -> Any:
    # Most values are bare; the look at their type first makes reading a car file a fifth faster.
    if isinstance(value, dict):
        return {name: inner if type(inner) in _BARE else _lists(inner) for name, inner in value.items()}
    if isinstance(value, list | tuple):
        return [inner if type(inner) in _BARE else _lists(inner) for inner in value]
    return value


def record_of(value: object, kind: type[T]) -> T:
    """Give a record back from its plain values; raises msgspec.ValidationError for values it cannot have."""
    return msgspec.convert(value, kind)


def statement_columns(values: Plain) -> Plain:
    """Give the columns of a finding or fact in plain values; its footings have a table."""
    return {name: value for name, value in values.items() if name not in {"footings", "stills"}}


def footing_columns(values: list[Plain]) -> list[Plain]:
    """Give the columns of footings in plain values, in their order."""
    return [{**footing, "place": place} for place, footing in enumerate(values)]


def start_of(values: Plain) -> float | None:
    """Give the earliest moment among the footings of plain values, seconds."""
    return min((f["start_s"] for f in values["footings"] if f["start_s"] is not None), default=None)


def footing_of(row: RowMapping) -> Footing:
    """Give the footing that a row holds."""
    return Footing(
        FootingKind(row["kind"]), row["source"], row["start_s"], row["end_s"], row["quote"], tuple(row["rules"])
    )


def finding_of(row: RowMapping, footings: Iterable[Footing]) -> Finding:
    """Give the finding that a row and its footings hold."""
    side, position, severity, remedy = row["side"], row["position"], row["severity"], row["remedy"]
    return Finding(
        part=row["part"],
        condition=row["condition"],
        found=Found(row["found"]),
        side=None if side is None else Side(side),
        position=None if position is None else Position(position),
        severity=None if severity is None else Severity(severity),
        remedy=None if remedy is None else Remedy(remedy),
        footings=tuple(footings),
        why=tuple(row["why"]),
        sureness=row["sureness"],
        state=State(row["state"]),
    )


def fact_of(row: RowMapping, footings: Iterable[Footing]) -> Fact:
    """Give the fact that a row and its footings hold."""
    return Fact(row["name"], row["value"], row["unit"], tuple(footings), row["sureness"], State(row["state"]))


def stretch_columns(stretch: Stretch, place: int) -> Plain:
    """Give the columns of a stretch; its words as short rows, for there are many."""
    return {
        "place": place,
        "start_s": stretch.start_s,
        "end_s": stretch.end_s,
        "text": stretch.text,
        "words": [[w.text, w.start_s, w.end_s, w.timing.value, w.sureness] for w in stretch.words],
        "origin": stretch.origin.value,
    }


def stretch_of(row: RowMapping) -> Stretch:
    """Give the stretch that a row holds."""
    words = tuple(Word(text, start, end, WordTiming(timing), sure) for text, start, end, timing, sure in row["words"])
    return Stretch(row["start_s"], row["end_s"], row["text"], words, StretchOrigin(row["origin"]))


def still_of(row: RowMapping) -> Still:
    """Give the still that a row holds."""
    return Still(row["at_s"], row["sha256"], row["width"], row["height"], row["sharpness"], row["steadiness"])


def original_of(row: RowMapping) -> Original:
    """Give the original that a row of originals, with the name it first came under, holds."""
    return Original(row["sha256"], row["name"], row["byte_size"], Kind(row["kind"]), row["linked"])


def probe_of(value: Plain | None, original: Original) -> Probe:
    """Give the probe that was kept, or one that knows the kind only."""
    return Probe(original.kind, "") if value is None else record_of(value, Probe)
