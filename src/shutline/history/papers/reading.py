"""A paper as it is read: rows with the labels, words and raw values in them, and which label a value belongs to."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Protocol

from shutline.car.papers import Page, ReadKind
from shutline.history.papers.amounts import RawMileage, RawMoney, bare_mileages, bare_money, raw_mileages, raw_money
from shutline.history.papers.dates import RawDate, raw_dates
from shutline.history.papers.folded import BREAK, Found
from shutline.history.papers.layout import Laid, Piece, Row, laid_out
from shutline.history.papers.tables import Country, KindWords, Label, is_label, lexicon

# A label belongs to a value in the same cell that begins within so many signs of it, and to one behind it within fewer.
_REACH, _BACK = 40, 12
# A label at the end of a line belongs to what begins the next: so many signs from the end, and from the beginning.
_EDGE = 12
_TRIM = " \t:.;,-–—=#*|_"  # noqa: RUF001


class Spanned(Protocol):
    """Anything that reaches from `first` to before `end`."""

    @property
    def first(self) -> int:
        """Where it begins."""
        ...

    @property
    def end(self) -> int:
        """Before where it ends."""
        ...


@dataclass(eq=False, slots=True)
class ReadRow:
    """A row with what was found in it, each by where it stands in the row's text."""

    row: Row
    labels: tuple[Found[Label], ...]
    words: tuple[KindWords, ...]
    countries: tuple[Found[Country], ...]
    dates: tuple[RawDate, ...]
    mileages: tuple[RawMileage, ...]
    money: tuple[RawMoney, ...]
    bare_miles: tuple[RawMileage, ...]
    bare_sums: tuple[RawMoney, ...]

    def values(self, kind: ReadKind) -> Sequence[Spanned]:
        """Give what may be of a kind, labelled or not."""
        if kind is ReadKind.DATE:
            return self.dates
        if kind is ReadKind.MILEAGE:
            return [*self.mileages, *self.bare_miles]
        return [*self.money, *self.bare_sums] if kind is ReadKind.MONEY else ()


@dataclass(eq=False, slots=True)
class Sheet:
    """A page as it is read."""

    laid: Laid
    rows: list[ReadRow]
    _above: dict[tuple[int, int, ReadKind], Label | None] = field(default_factory=dict)

    def role_of(self, read: ReadRow, value: Spanned, kind: ReadKind) -> Label | None:
        """Give the label that a value belongs to: left of it, above it, or right behind it; None for none.

        A label of no kind (`Label.kind` None) that stands nearest is given too: it says that the value is none of ours.
        """
        left = self._left(read, value, kind)
        if left is not None:
            return left
        at = read.row.at(value.first)
        piece = read.row.pieces[at]
        if value.first - piece.first <= _EDGE:
            above = self._from_above(read, at, kind)
            if above is not None:
                return above
        return self._behind(read, value, kind)

    def after(self, read: ReadRow, label: Spanned) -> Iterator[tuple[ReadRow, int, int]]:
        """Give where the value of a label may stand, likeliest first: behind it, in the next cell, below it."""
        text = read.row.text
        _, end = read.row.cell(label.end - 1)
        stop = min((one.first for one in read.labels if label.end <= one.first < end), default=end)
        first, last = trimmed(text, label.end, stop)
        if first < last:
            yield read, first, last
        if stop < end:
            return
        if end < len(text):
            begin, following = end + 1, read.row.cell(end + 1)[1]
            stop = min((one.first for one in read.labels if begin <= one.first < following), default=following)
            first, last = trimmed(text, begin, stop)
            if first < last:
                yield read, first, last
        at = read.row.at(label.first)
        if at in read.row.below:
            row, piece = read.row.below[at]
            lower = self.rows[row.number]
            stop = min((one.first for one in lower.labels if piece.first <= one.first < piece.end), default=piece.end)
            first, last = trimmed(row.text, piece.first, stop)
            if first < last:
                yield lower, first, last

    def _left(self, read: ReadRow, value: Spanned, kind: ReadKind) -> Label | None:
        before = [one for one in read.labels if one.end <= value.first]
        cell, _ = read.row.cell(value.first)
        nearest = max(before, key=lambda one: one.end, default=None)
        if nearest and nearest.meaning.kind is None and nearest.first >= cell and value.first - nearest.end <= _REACH:
            return nearest.meaning
        fits = max((one for one in before if one.meaning.kind is kind), key=lambda one: one.end, default=None)
        if fits is None or any(fits.end <= other.first and other.end <= value.first for other in read.values(kind)):
            return None
        own, own_end = read.row.cell(fits.first)
        if own == cell:
            return fits.meaning if value.first - fits.end <= _REACH else None
        # From another cell: only a label that ends its cell, with no text of another value between.
        between = read.row.text[own_end : max(cell - 1, own_end)].strip(BREAK + _TRIM)
        ends = own_end - fits.end <= _EDGE
        return fits.meaning if ends and (not between or between in "£€$") else None

    def _from_above(self, read: ReadRow, at: int, kind: ReadKind) -> Label | None:
        chain: list[tuple[int, int, ReadKind]] = []
        label: Label | None = None
        row = read.row
        while True:
            key = (row.number, at, kind)
            if key in self._above:
                label = self._above[key]
                break
            chain.append(key)
            if at not in row.above:
                break
            upper, piece = row.above[at]
            there = self.rows[upper.number]
            values = [one for one in there.values(kind) if piece.first <= one.first < piece.end]
            labels = [
                one for one in there.labels
                if piece.first <= one.first < piece.end and one.meaning.kind in {kind, None}
                and not any(value.first >= one.end for value in values)
            ]  # fmt: skip
            if labels:
                last = labels[-1]
                whole = 2 * (last.end - last.first) >= piece.end - piece.first
                label = last.meaning if whole or piece.end - last.end <= _EDGE else None
                break
            if not values or any(self._left(there, one, kind) for one in values):
                break
            row, at = upper, upper.at(piece.first)
        for key in chain:
            self._above[key] = label
        return label

    def _behind(self, read: ReadRow, value: Spanned, kind: ReadKind) -> Label | None:
        _, end = read.row.cell(value.first)
        for one in read.labels:
            if value.end <= one.first < end and one.first - value.end <= _BACK and one.meaning.kind is kind:
                later = [other for other in read.values(kind) if one.end <= other.first < one.end + _REACH]
                return None if later else one.meaning
        return None


def read_pages(pages: Sequence[Page]) -> list[Sheet]:
    """Read pages by their number; the order of pages and of lines does not count."""
    return [
        _sheet(laid_out(page, is_label)) for page in sorted(pages, key=lambda page: (page.number, repr(page.lines)))
    ]


def country_of(sheets: Sequence[Sheet], rules: Mapping[str, float]) -> dict[str, float]:
    """Weigh which country's conventions a paper keeps to, by the words, months and money in it."""
    counts = dict.fromkeys((code for code in rules if len(code) == 2), 0.0)
    for sheet in sheets:
        for read in sheet.rows:
            told = [one.country for one in read.words] + [one.meaning.country for one in read.labels]
            told += [one.country for one in read.dates] + [one.country for one in read.mileages]
            told += [one.codes[0].country for one in read.money if len(one.codes) == 1]
            for code in told:
                if code in counts:
                    counts[code] += 1
    odds = {
        code: rules[code] + (rules["word"] * min(count, rules["most_words"]) if code != "GB" else 0.0)
        for code, count in counts.items()
    }
    total = sum(math.exp(one) for one in odds.values())
    return {code: math.exp(one) / total for code, one in odds.items()}


def trimmed(text: str, first: int, end: int) -> tuple[int, int]:
    """Give a stretch without the blanks and points around it."""
    while first < end and text[first] in _TRIM + BREAK:
        first += 1
    while end > first and text[end - 1] in _TRIM + BREAK:
        end -= 1
    return first, end


def piece_of(row: Row, place: int) -> Piece:
    """Give the piece that a place of a row's text is in."""
    return row.pieces[row.at(place)]


def _sheet(laid: Laid) -> Sheet:
    return Sheet(laid, [_read(row) for row in laid.rows])


def _read(row: Row) -> ReadRow:
    found = lexicon().found(row.text, row.fold)
    labels = [Found(one.first, one.end, one.meaning) for one in found if isinstance(one.meaning, Label)]
    words = tuple(one.meaning for one in found if isinstance(one.meaning, KindWords))
    countries = tuple(Found(one.first, one.end, one.meaning) for one in found if isinstance(one.meaning, Country))
    if not any(sign.isdigit() for sign in row.text):
        return ReadRow(row, tuple(labels), words, countries, (), (), (), (), ())
    dates, miles, money = raw_dates(row.text, row.fold), raw_mileages(row.text), raw_money(row.text)
    written = [one for one in dates if not one.labelled]
    certain: list[Spanned] = [*written, *miles, *money]
    return ReadRow(
        row,
        # 'miles' behind its figure is a unit, and no label of what comes next.
        tuple(one for one in labels if one.meaning.kind is not ReadKind.MILEAGE or not _over(one, miles)),
        words,
        countries,
        tuple(one for one in dates if not one.labelled or not _over(one, [*miles, *money])),
        tuple(one for one in miles if not _over(one, money)),
        tuple(one for one in money if not _over(one, written)),
        tuple(one for one in bare_mileages(row.text) if not _over(one, certain)),
        tuple(one for one in bare_money(row.text) if not _over(one, certain)),
    )


def _over(one: Spanned, others: Sequence[Spanned]) -> bool:
    return any(one.first < other.end and other.first < one.end for other in others)
