"""Records become rows and plain values, and rows become the same records again."""

from __future__ import annotations

import hashlib
from collections.abc import Sequence
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
from shutline.car.speech import Stretch, StretchOrigin

Plain = dict[str, Any]
T = TypeVar("T")

_BARE = frozenset({str, int, float, bool, type(None)})

# Members by their value: a look-up takes a tenth of the time of a call of the class, and a car file has thousands.
_FOUND = {member.value: member for member in Found}
_SIDES: dict[str | None, Side | None] = {None: None, **{member.value: member for member in Side}}
_POSITIONS: dict[str | None, Position | None] = {None: None, **{member.value: member for member in Position}}
_SEVERITIES: dict[str | None, Severity | None] = {None: None, **{member.value: member for member in Severity}}
_REMEDIES: dict[str | None, Remedy | None] = {None: None, **{member.value: member for member in Remedy}}
_STATES = {member.value: member for member in State}
_KINDS = {member.value: member for member in FootingKind}


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


def footing_of(values: Plain) -> Footing:
    """Give the footing of plain values."""
    return Footing(
        _KINDS[values["kind"]],
        values["source"],
        values["start_s"],
        values["end_s"],
        values["quote"],
        tuple(values["rules"]),
    )


def finding_of(values: Plain) -> Finding:
    """Give the finding of plain values that were kept; for values of any other origin see `record_of`."""
    return Finding(
        values["part"],
        values["condition"],
        _FOUND[values["found"]],
        _SIDES[values["side"]],
        _POSITIONS[values["position"]],
        _SEVERITIES[values["severity"]],
        _REMEDIES[values["remedy"]],
        tuple([footing_of(footing) for footing in values["footings"]]),
        tuple(values["why"]),
        values["sureness"],
        _STATES[values["state"]],
    )


def footing_of_row(row: Sequence[Any]) -> Footing:
    """Give the footing of a row that begins with its columns in the order of the record; quicker than by name."""
    kind, source, start_s, end_s, quote, rules, *_ = row
    return Footing(_KINDS[kind], source, start_s, end_s, quote, tuple(rules))


def finding_of_row(row: Sequence[Any], footings: tuple[Footing, ...]) -> Finding:
    """Give the finding of a row that begins with its columns, but for the footings, in the order of the record."""
    part, condition, found, side, position, severity, remedy, why, sureness, state, *_ = row
    return Finding(
        part,
        condition,
        _FOUND[found],
        _SIDES[side],
        _POSITIONS[position],
        _SEVERITIES[severity],
        _REMEDIES[remedy],
        footings,
        tuple(why),
        sureness,
        _STATES[state],
    )


def fact_of(values: Plain) -> Fact:
    """Give the fact of plain values that were kept."""
    return Fact(
        values["name"],
        values["value"],
        values["unit"],
        tuple([footing_of(footing) for footing in values["footings"]]),
        values["sureness"],
        _STATES[values["state"]],
    )


def stretch_columns(stretch: Stretch, place: int) -> Plain:
    """Give the columns of a stretch."""
    return {
        "place": place,
        "start_s": stretch.start_s,
        "end_s": stretch.end_s,
        "text": stretch.text,
        "words": stretch.words,
        "origin": stretch.origin.value,
    }


def stretch_of(row: RowMapping) -> Stretch:
    """Give the stretch that a row holds."""
    return Stretch(row["start_s"], row["end_s"], row["text"], row["words"], StretchOrigin(row["origin"]))


def still_of(row: RowMapping) -> Still:
    """Give the still that a row holds."""
    return Still(row["at_s"], row["sha256"], row["width"], row["height"], row["sharpness"], row["steadiness"])


def original_of(row: RowMapping) -> Original:
    """Give the original that a row of originals, with the name it first came under, holds."""
    return Original(row["sha256"], row["name"], row["byte_size"], Kind(row["kind"]), row["linked"])


def probe_of(value: Plain | None, original: Original) -> Probe:
    """Give the probe that was kept, or one that knows the kind only."""
    return Probe(original.kind, "") if value is None else record_of(value, Probe)
