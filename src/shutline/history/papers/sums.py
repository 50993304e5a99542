"""Totals held against the amounts above them: what agrees is said, and what does not."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from shutline.car.papers import Box
from shutline.history.papers.layout import in_column
from shutline.history.papers.tables import weights

_LEAST_LINES = 2
_ALIGNED = 0.03
_MADE_UP = frozenset({"net", "VAT", "total", "deposit", "paid"})


@dataclass(frozen=True, slots=True)
class Amount:
    """A sum of a page: its number among them, its row, where it stands, hundredths, and its role."""

    number: int
    row: int
    box: Box
    hundredths: int
    role: str


@dataclass(frozen=True, slots=True)
class Sums:
    """What was found: words for an amount by its number, and the numbers of amounts that are lines of a sum."""

    words: dict[int, str]
    lines: frozenset[int]


def sums_of(amounts: Sequence[Amount]) -> Sums:
    """Hold the totals of a page against its other amounts.

    A net amount and VAT that make the total are told, and so is that they do not. A net amount, or a total without
    one, is held against the amounts that stand above it in its column, from the last one up.
    """
    words: dict[int, str] = {}
    lines: set[int] = set()
    tolerance = weights()["sums"]["tolerance"]
    by_role = {role: [one for one in amounts if one.role == role] for role in ("net", "VAT", "total")}
    if by_role["net"] and by_role["VAT"] and by_role["total"]:
        net, tax, total = by_role["net"][-1], by_role["VAT"][-1], by_role["total"][-1]
        made = net.hundredths + tax.hundredths
        if abs(made - total.hundredths) <= tolerance:
            words[total.number] = f"net and VAT come to {_money(made)}, and agree with it"
        else:
            words[total.number] = f"net and VAT come to {_money(made)}, and do not agree with it"
    for one in (*by_role["net"], *by_role["total"]):
        above = [
            other for other in amounts
            if other.row < one.row and other.role not in _MADE_UP and _same_column(other.box, one.box)
        ][-weights()["sums"]["most_lines"] :]  # fmt: skip
        made, taken = 0, []
        for other in reversed(above):
            made += other.hundredths
            taken.append(other.number)
            if len(taken) >= _LEAST_LINES and abs(made - one.hundredths) <= tolerance and made:
                told = f"the {len(taken)} amounts above it come to {_money(made)}, and agree with it"
                words[one.number] = "; ".join(filter(None, (words.get(one.number, ""), told)))
                lines |= set(taken)
                break
    return Sums(words, frozenset(lines))


def _same_column(one: Box, other: Box) -> bool:
    return in_column(one, other) or abs(one.left + one.width - other.left - other.width) <= _ALIGNED


def _money(hundredths: int) -> str:
    return f"{hundredths // 100:,}.{hundredths % 100:02d}"
