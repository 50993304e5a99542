"""How the lines of a page stand to one another: rows of cells, what stands above and below, labels that were parted."""

from __future__ import annotations

import math
import re
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field

from shutline.car.papers import Box, Line, Page
from shutline.history.papers.folded import BREAK, Folded, folded

NEAR = "\t"
"""Between two pieces of a row that stand no further apart than words do."""

WORD = re.compile(r"[^\W_]+(?:['\u2019\-][^\W_]+)*")
"""A word of a row."""
Word = tuple[int, int, str]
"""A word as it stands in a row: from, to before, and itself."""

# Of the height of the smaller: lines that overlap so much stand in one row.
_SAME_ROW = 0.5
# Of the width of the narrower: lines that overlap so much stand in one column.
_SAME_COLUMN = 0.3
# Two pieces are near whose gap is no wider than so many of their signs.
_NEAR_SIGNS = 2.5
# A line belongs to the one above it whose gap is no higher than so many of its heights.
_BLOCK_GAP = 1.4
_LOOK_ROWS = 6
_LONGEST_LABEL = 40
_WIDE = re.compile(r"\s{3,}|[\t\n\r\v\f]")
LONGEST_LINE = 2000
"""Signs of a line that are looked at; what lies beyond is no line of a paper, and is kept back whole."""


@dataclass(frozen=True, slots=True)
class Piece:
    """A line in its row: from `first` to before `end` of the row's text. `lines` are those it was joined from."""

    line: Line
    first: int
    end: int
    lines: tuple[Line, ...]


@dataclass(eq=False, slots=True)
class Row:
    """A row of a page, its pieces from left to right; `text` has them with `NEAR` or `BREAK` between."""

    page: int
    number: int
    pieces: tuple[Piece, ...]
    text: str
    fold: Folded
    above: dict[int, tuple[Row, Piece]] = field(default_factory=dict)
    """By the number of the piece."""
    below: dict[int, tuple[Row, Piece]] = field(default_factory=dict)

    def words(self) -> list[Word]:
        """Give the words; they are found anew each time, for of many pages there would be too many to keep."""
        return [(*word.span(), word[0]) for word in WORD.finditer(self.text)]

    def at(self, place: int) -> int:
        """Give the number of the piece that a place of the text is in."""
        for number, piece in enumerate(self.pieces):
            if place < piece.end + 1:
                return number
        return len(self.pieces) - 1

    def cell(self, place: int) -> tuple[int, int]:
        """Give from where to where the cell reaches that a place of the text is in."""
        return self.text.rfind(BREAK, 0, place) + 1, _or_end(self.text.find(BREAK, place), self.text)

    def box(self, first: int, end: int) -> Box:
        """Give where a stretch of the text stands, judged by the share of signs, a sign wider on both sides."""
        boxes = []
        for piece in self.pieces:
            begin, stop = max(first, piece.first), min(end, piece.end)
            if begin >= stop:
                continue
            whole, count = piece.line.box, piece.end - piece.first
            left = max(0, begin - piece.first - 1) / count
            right = min(count, stop - piece.first + 1) / count
            boxes.append(Box(whole.left + left * whole.width, whole.top, (right - left) * whole.width, whole.height))
        return joined_box(boxes) if boxes else self.pieces[0].line.box


@dataclass(frozen=True, slots=True)
class Laid:
    """A page as it is laid out."""

    number: int
    rows: tuple[Row, ...]


def laid_out(page: Page, is_label: Callable[[str], bool]) -> Laid:
    """Lay the lines of a page out in rows; in whatever order they come, the rows are the same.

    Parameters
    ----------
    page : Page
        With its lines.
    is_label : callable
        Tells whether words are a label whole, so that one that goes over two lines is put together.
    """
    lines = [(part, line) for line in page.lines if line.words.strip() for part in _parts(line)]
    groups = _labels_joined(sorted(lines, key=lambda pair: _order(pair[0])), is_label)
    placed: list[list[tuple[Line, tuple[Line, ...]]]] = []
    ends: list[tuple[float, float, float]] = []
    for group in groups:
        box = group[0].box
        at = _row_for(box, ends)
        end = box.left + 0.7 * box.width, box.top, box.height
        if at is None:
            ends.append(end)
            placed.append([group])
        else:
            ends[at] = end
            placed[at].append(group)
    placed.sort(key=lambda row: (_middle(row[0][0].box), _order(row[0][0])))
    rows = tuple(_row(page.number, number, row) for number, row in enumerate(placed))
    _neighbours(rows)
    return Laid(page.number, rows)


def joined_box(boxes: Sequence[Box]) -> Box:
    """Give the smallest box around some."""
    if len(boxes) == 1:
        return boxes[0]
    left, top = min(box.left for box in boxes), min(box.top for box in boxes)
    right = max(box.left + box.width for box in boxes)
    return Box(left, top, right - left, max(box.top + box.height for box in boxes) - top)


def follows(upper: Box, lower: Box) -> bool:
    """Tell whether a line stands right below another, in the same block."""
    gap = lower.top - (upper.top + upper.height)
    return gap <= _BLOCK_GAP * max(min(upper.height, lower.height), 1e-9) and in_column(upper, lower)


def in_column(one: Box, other: Box) -> bool:
    """Tell whether two lines stand above one another."""
    shared = min(one.left + one.width, other.left + other.width) - max(one.left, other.left)
    return shared > 0 and shared >= _SAME_COLUMN * min(one.width, other.width)


def _row_for(box: Box, ends: Sequence[tuple[float, float, float]]) -> int | None:
    """Find the row whose last line so far stands beside this one: a row may rise or fall over the page.

    `ends` are of each row's last line: from where another may follow, its top, and its height.
    """
    best, most = None, 0.0
    left, top, bottom = box.left, box.top, box.top + box.height
    for at, (follow, other, height) in enumerate(ends):
        if left < follow or other > bottom or other + height < top:
            continue
        shared = min(bottom, other + height) - max(top, other)
        share = shared / max(min(box.height, height), 1e-9)
        if share >= _SAME_ROW and share > most:
            best, most = at, share
    return best


def _row(page: int, number: int, row: Sequence[tuple[Line, tuple[Line, ...]]]) -> Row:
    text, pieces, last = "", [], None
    for line, lines in row:
        words = line.words
        if last is not None:
            signs = max(last.box.width / max(len(last.words), 1), line.box.width / max(len(words), 1))
            gap = line.box.left - (last.box.left + last.box.width)
            text += NEAR if gap <= _NEAR_SIGNS * signs else BREAK
        pieces.append(Piece(line, len(text), len(text) + len(words), lines))
        text += words
        last = line
    return Row(page, number, tuple(pieces), text, folded(text))


def _neighbours(rows: Sequence[Row]) -> None:
    for row in rows:
        for at, piece in enumerate(row.pieces):
            for upper in reversed(rows[max(0, row.number - _LOOK_ROWS) : row.number]):
                fits = [
                    (number, one)
                    for number, one in enumerate(upper.pieces)
                    if in_column(one.line.box, piece.line.box) and one.line.box.top <= piece.line.box.top
                ]
                if fits:
                    middle = piece.line.box.left + piece.line.box.width / 2
                    number, one = min(
                        fits,
                        key=lambda pair: (abs(pair[1].line.box.left + pair[1].line.box.width / 2 - middle), pair[0]),
                    )
                    row.above[at] = upper, one
                    upper.below.setdefault(number, (row, piece))
                    break


def _labels_joined(
    lines: Sequence[tuple[Line, Line]], is_label: Callable[[str], bool]
) -> list[tuple[Line, tuple[Line, ...]]]:
    """Put labels together that go over two lines, one below the other."""
    used: set[int] = set()
    partner: dict[int, int] = {}
    short = [
        at for at, (line, _) in enumerate(lines) if len(line.words) <= _LONGEST_LABEL and not _has_figures(line.words)
    ]
    short.sort(key=lambda at: (lines[at][0].box.top, _order(lines[at][0])))
    for place, at in enumerate(short):
        upper = lines[at][0]
        for other in short[place + 1 : place + 12]:
            lower = lines[other][0]
            gap = lower.box.top - (upper.box.top + upper.box.height)
            if gap > upper.box.height:
                break
            near = gap > -0.5 * upper.box.height and abs(lower.box.left - upper.box.left) <= 0.015
            if near and not {at, other} & used and is_label(f"{upper.words} {lower.words}"):
                if not is_label(upper.words) or not is_label(lower.words):
                    used |= {at, other}
                    partner[at] = other
                break
    taken = set(partner.values())
    made: list[tuple[Line, tuple[Line, ...]]] = []
    for at, (line, whole) in enumerate(lines):
        if at in taken:
            continue
        if at in partner:
            below, second = lines[partner[at]]
            words = f"{line.words} {below.words}"
            joined = Line(words, joined_box((line.box, below.box)), min(line.score, below.score))
            made.append((joined, (whole, second)))
        else:
            made.append((line, (whole,)))
    return made


def _parts(line: Line) -> list[Line]:
    """Make a line fit to be laid out: cut at wide gaps, every blank a space, every box a box."""
    parts = (line.box.left, line.box.top, line.box.width, line.box.height)
    left, top, width, height = (one if math.isfinite(one) and abs(one) < 1e6 else 0.0 for one in parts)
    width, height = max(width, 0.0), max(height, 0.0)
    words = line.words[:LONGEST_LINE]
    if not _WIDE.search(words):
        return [Line(" ".join(words.split()), Box(left, top, width, height), line.score)]
    made, begin = [], 0
    for gap in (*_WIDE.finditer(words), None):
        end = gap.start() if gap else len(words)
        if words[begin:end].strip():
            box = Box(left + width * begin / len(words), top, width * (end - begin) / len(words), height)
            made.append(Line(" ".join(words[begin:end].split()), box, line.score))
        begin = gap.end() if gap else end
    return made


def _order(line: Line) -> tuple[float, float, str, float, float]:
    return line.box.left, line.box.top, line.words, line.box.width, line.box.height


def _middle(box: Box) -> float:
    return box.top + box.height / 2


def _has_figures(words: str) -> bool:
    return any(sign.isdigit() for sign in words)


def _or_end(place: int, text: str) -> int:
    return len(text) if place < 0 else place
