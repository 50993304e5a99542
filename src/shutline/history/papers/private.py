"""What of a paper is private: names, addresses, ways to reach somebody, numbers that open something.

It errs towards keeping back: what is found too much costs a look, what is missed leaks.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from shutline.car.papers import PRIVATE, Box, Page, ReadKind
from shutline.history.papers.folded import BREAK, Found, folded_word
from shutline.history.papers.layout import LONGEST_LINE, NEAR, WORD, Piece, Row, follows, joined_box
from shutline.history.papers.names import NAME_WORD, first_names, is_firm, known_first, titled
from shutline.history.papers.reading import ReadRow, Sheet, Spanned, piece_of, read_pages, trimmed
from shutline.history.papers.streets import street_pattern
from shutline.history.papers.tables import Label, private_patterns, private_rules

# Every form but that of a street without a number has a figure or this sign in it.
_MAY_BE_FORM = re.compile(r"[\d@]")
_OWNED = re.compile(r"['\u2019]s$")
_COLON = re.compile(r"[ \t]*[:;][ \t]*")
_LONGEST_NAME_CELL, _MOST_WORDS, _LONGEST_ADDRESS = 6, 7, 60
_SIGNED_LINES = 2
_LEAST_REPEATED = 4
_NEAR_ROWS = 3


@dataclass(frozen=True, slots=True)
class PrivateStretch:
    """A stretch of a paper that is kept from what goes out.

    `words` are the stretch, as they stand in one line. `box` is the whole line's, or those of all the lines that
    its words were put together from: where a sign begins in a picture is known too loosely to cover less.
    """

    kind: ReadKind
    page: int
    box: Box
    words: str
    role: str = ""


@dataclass(frozen=True, slots=True)
class Kept:
    """A private stretch in its row, from `first` to before `end` of the row's text."""

    row: Row
    first: int
    end: int
    kind: ReadKind
    role: str


def private_words(pages: Sequence[Page], *, house: Sequence[str] = ()) -> tuple[PrivateStretch, ...]:
    """Give every stretch of a paper that is to be kept from what goes out.

    Parameters
    ----------
    pages : sequence of Page
        With their lines, in any order.
    house : sequence of str
        What the house says of itself, name, address, telephone: that is not kept back.

    Returns
    -------
    tuple of PrivateStretch
        In the order of the pages. Of an address each line is one.
    """
    kept = private_stretches(read_pages(pages), house=house)
    told = [
        PrivateStretch(one.kind, one.row.page, _line_box(one.row, first, end), one.row.text[first:end], one.role)
        for one in kept
        for first, end in _by_piece(one)
    ]
    told += [
        PrivateStretch(ReadKind.NAME, page.number, line.box, line.words[LONGEST_LINE:])
        for page in sorted(pages, key=lambda page: page.number)
        for line in page.lines
        if line.words[LONGEST_LINE:].strip()
    ]
    return tuple(told)


def private_stretches(sheets: Sequence[Sheet], *, house: Sequence[str]) -> list[Kept]:
    """Find what is private on all pages of a paper; a name that was told once is found wherever it comes again."""
    kept: list[Kept] = []
    for sheet in sheets:
        kept += _on_page(sheet)
    names = _repeated(kept)
    if names:
        for sheet in sheets:
            for read in sheet.rows:
                kept += _again(read, names)
    spared = [text for text in (folded_word(one) for one in house) if len(text) >= _LEAST_REPEATED]
    return _merged(_without_house(kept, spared) if spared else kept)


def _on_page(sheet: Sheet) -> list[Kept]:
    found: list[Kept] = []
    for read in sheet.rows:
        found += _by_form(read)
        spans = (*titled(read.row), *first_names(read.row))
        found += [Kept(read.row, first, end, ReadKind.NAME, "") for first, end in spans]
        found += _labelled(sheet, read)
    return [*found, *_blocks(sheet, found)]


# By its form ----------------------------------------------------------------------------------------------------------


def _by_form(read: ReadRow) -> Iterator[Kept]:
    row = read.row
    if _MAY_BE_FORM.search(row.text):
        for _, kind, pattern in private_patterns():
            for match in pattern.finditer(row.text):
                if any(one.first <= match.start() and match.end() <= one.end for one in read.dates if not one.labelled):
                    continue
                if kind is ReadKind.ADDRESS:
                    yield from _whole_pieces(row, match.start(), match.end(), "")
                else:
                    yield Kept(row, match.start(), match.end(), kind, "")
    for match in street_pattern().finditer(row.text):
        yield from _whole_pieces(row, match.start(), match.end(), "")


def _whole_pieces(row: Row, first: int, end: int, role: str) -> Iterator[Kept]:
    for piece in row.pieces:
        if piece.first < end and first < piece.end:
            # 'Weir Road Tyres, 17 Weir Road': a firm's name before its address is told.
            comma = row.text.find(",", piece.first, first)
            firm = comma >= 0 and is_firm(row.text[piece.first : comma])
            begin = trimmed(row.text, comma, piece.end)[0] if firm else piece.first
            yield Kept(row, begin, piece.end, ReadKind.ADDRESS, role)


# By a label -----------------------------------------------------------------------------------------------------------


def _labelled(sheet: Sheet, read: ReadRow) -> Iterator[Kept]:
    for label in read.labels:
        kind = label.meaning.kind
        if kind not in PRIVATE:
            continue
        for place in _places(sheet, read, label):
            there, first, end = place
            if kind is ReadKind.NAME:
                yield from _name_by_label(sheet, read, label, place)
            elif kind is ReadKind.ADDRESS:
                if there is not read or _plainly(read, label, first, end):
                    yield from _whole_pieces(there.row, first, end, label.meaning.role)
            elif any(sign.isdigit() for sign in there.row.text[first:end]) or "@" in there.row.text[first:end]:
                _, stop = there.row.cell(first)
                yield Kept(there.row, first, end if there.labels else stop, kind, label.meaning.role)


def _places(sheet: Sheet, read: ReadRow, label: Found[Label]) -> Iterator[tuple[ReadRow, int, int]]:
    """Give where the private value of a label stands: behind it, else in the next cell and in the block below too."""
    for count, (there, first, end) in enumerate(sheet.after(read, label)):
        below = there is not read
        if count and below and not _in_block(sheet, there.row, piece_of(there.row, first)):
            return
        yield there, first, end
        if not below and read.row.cell(first) == read.row.cell(label.first):
            return


def _name_by_label(sheet: Sheet, read: ReadRow, label: Found[Label], place: tuple[ReadRow, int, int]) -> Iterator[Kept]:
    there, first, end = place
    text, role = there.row.text, label.meaning.role
    in_cell = there is read and read.row.cell(label.first) == read.row.cell(first)
    if role == "addressed":
        end = min((at for at in (text.find(",", first), text.find(":", first)) if at >= 0), default=end)
    words, no_names = WORD.findall(text[first:end]), private_rules()["names"]["none"]
    if (
        not words
        or all(word.lower() in no_names for word in words)
        or not any(sign.isalpha() for sign in text[first:end])
    ):
        return
    if in_cell and not _plainly(read, label, first, end):
        # In running text: only what begins with a capital, as far as it goes on so.
        match = re.compile(rf"{NAME_WORD}(?:[ \t.]+{NAME_WORD}){{0,3}}").match(text, first, end)
        if match is None or (label.first and not _sentence_name(match[0])):
            return
        first, end = match.span()
    if not is_firm(text[first:end]):
        yield Kept(there.row, first, end, ReadKind.NAME, role)
    else:
        # 'Garside, c/o Pike Garage': what is beside the firm is somebody.
        for part in re.finditer(r"[^,;\n]+", text[first:end]):
            begin, stop = trimmed(text, first + part.start(), first + part.end())
            if begin < stop and not is_firm(text[begin:stop]):
                yield Kept(there.row, begin, stop, ReadKind.NAME, role)
    if role == "signed":
        yield from _below_signature(there.row, first, role)
    yield from _address_below(sheet, there.row, first, role)


def _plainly(read: ReadRow, label: Found[Label], first: int, end: int) -> bool:
    """Tell whether what follows a label is its value: after a colon, in another cell, or few words of a cell."""
    between = read.row.text[label.end : first]
    if BREAK in between or NEAR in between or _COLON.match(between):
        return True
    begin, _ = read.row.cell(label.first)
    return trimmed(read.row.text, begin, label.end)[0] == label.first and (
        len(WORD.findall(read.row.text[first:end])) <= _LONGEST_NAME_CELL
    )


def _sentence_name(words: str) -> bool:
    """Tell whether capitals in running text are a name rather than the beginning of a sentence."""
    first = WORD.findall(words)
    return len(first) > 1 or folded_word(first[0]) in known_first()


def _below_signature(row: Row, first: int, role: str) -> Iterator[Kept]:
    at = row.at(first)
    for _ in range(_SIGNED_LINES):
        if at not in row.below:
            return
        row, piece = row.below[at]
        words = WORD.findall(row.text[piece.first : piece.end])
        if not 1 <= len(words) <= 5 or is_firm(row.text[piece.first : piece.end]):
            return
        yield Kept(row, piece.first, piece.end, ReadKind.NAME, role)
        at = row.at(piece.first)


# By standing in the block of an address -------------------------------------------------------------------------------


def _blocks(sheet: Sheet, found: Sequence[Kept]) -> Iterator[Kept]:
    """Give what stands above and below the line of an address: the name, the other lines."""
    for one in found:
        if one.kind is not ReadKind.ADDRESS:
            continue
        yield from _address_below(sheet, one.row, one.first, one.role)
        row, at = one.row, one.row.at(one.first)
        for _ in range(private_rules()["addresses"]["most_lines"]):
            if at not in row.above:
                break
            upper, piece = row.above[at]
            if not follows(piece.line.box, row.pieces[at].line.box) or not _in_block(sheet, upper, piece):
                break
            words = upper.text[piece.first : piece.end]
            if is_firm(words):
                if not words.lower().startswith(tuple(private_rules()["names"]["care_of"])):
                    break
                row, at = upper, upper.at(piece.first)
                continue
            role = one.role or _label_role(sheet, upper, piece)
            yield Kept(upper, piece.first, piece.end, ReadKind.NAME if _is_name(words) else ReadKind.ADDRESS, role)
            row, at = upper, upper.at(piece.first)


def _address_below(sheet: Sheet, row: Row, first: int, role: str) -> Iterator[Kept]:
    at = row.at(first)
    for _ in range(private_rules()["addresses"]["most_lines"]):
        if at not in row.below:
            return
        lower, piece = row.below[at]
        if not follows(row.pieces[at].line.box, piece.line.box) or not _in_block(sheet, lower, piece):
            return
        if not is_firm(lower.text[piece.first : piece.end]):
            yield Kept(lower, piece.first, piece.end, ReadKind.ADDRESS, role)
        row, at = lower, lower.at(piece.first)


def _in_block(sheet: Sheet, row: Row, piece: Piece) -> bool:
    """Tell whether a line may be one of an address: few words with capitals, no value and no label of another kind."""
    read = sheet.rows[row.number]
    words = WORD.findall(row.text[piece.first : piece.end])
    if not 1 <= len(words) <= _MOST_WORDS or piece.end - piece.first > _LONGEST_ADDRESS:
        return False
    labels = [one for one in read.labels if piece.first <= one.first < piece.end]
    if any(one.meaning.kind not in {ReadKind.NAME, ReadKind.ADDRESS} for one in labels):
        return False
    if not labels and ":" in row.text[piece.first : piece.end]:
        # 'Vehicle: …': a label of something that nobody asks for.
        return False
    if any(one.end - one.first >= piece.end - piece.first - 2 for one in labels):
        return False
    values: list[Spanned] = [
        *(one for one in read.dates if not one.labelled),
        *read.mileages,
        *read.money,
        *read.bare_sums,
    ]
    if any(piece.first <= one.first < piece.end for one in values):
        return False
    large = sum(1 for word in words if word[:1].isupper() or word[:1].isdigit())
    return 2 * large >= len(words)


def _is_name(words: str) -> bool:
    return not any(sign.isdigit() for sign in words) and 1 <= len(WORD.findall(words)) <= 4


def _label_role(sheet: Sheet, row: Row, piece: Piece) -> str:
    at = row.at(piece.first)
    if at not in row.above:
        return ""
    upper, above = row.above[at]
    for label in sheet.rows[upper.number].labels:
        if above.first <= label.first < above.end and label.meaning.kind is ReadKind.NAME:
            return label.meaning.role
    return ""


# Once more, and together ----------------------------------------------------------------------------------------------


def _repeated(kept: Sequence[Kept]) -> frozenset[str]:
    """Give the words of names, but for those of firms, titles and other plain words, folded."""
    rules = private_rules()["names"]
    plain = {folded_word(one) for one in (*rules["titles"], *rules["firms"], *rules["none"], *rules["before"])}
    words = {
        folded_word(word)
        for one in kept
        if one.kind is ReadKind.NAME
        for word in WORD.findall(one.row.text[one.first : one.end])
        if word[:1].isupper() and len(word) >= _LEAST_REPEATED and not word.isdigit()
    }
    return frozenset(words - plain)


def _again(read: ReadRow, names: frozenset[str]) -> Iterator[Kept]:
    words = read.row.words()
    for at, (first, end, text) in enumerate(words):
        if not text[0].isupper() or folded_word(_OWNED.sub("", text)) not in names:
            continue
        following = words[at + 1][2] if at + 1 < len(words) else ""
        within = any(label.first <= first < label.end for label in read.labels)
        if not is_firm(following) and not within:
            yield Kept(read.row, first, end, ReadKind.NAME, "")


def _without_house(kept: Sequence[Kept], spared: Sequence[str]) -> list[Kept]:
    """Leave out what the house says of itself, but for a line of it in the block of somebody else: a town in common."""
    left: list[Kept] = []
    pages: dict[int, list[Kept]] = {}
    for one in kept:
        pages.setdefault(one.row.page, []).append(one)
    for page in pages.values():
        others = [one for one in page if not _is_house(one, spared)]
        house = [one for one in page if _is_house(one, spared)]
        while near := [one for one in house if any(_in_one_block(one, other) for other in others)]:
            others += near
            house = [one for one in house if one not in near]
        left += others
    return left


def _in_one_block(one: Kept, other: Kept) -> bool:
    """Tell whether two lines of names and addresses stand right above one another."""
    near = 0 < abs(one.row.number - other.row.number) <= _NEAR_ROWS
    if not near or not {one.kind, other.kind} <= {ReadKind.NAME, ReadKind.ADDRESS}:
        return False
    upper, lower = sorted((one, other), key=lambda each: each.row.number)
    boxes = upper.row.box(upper.first, upper.end), lower.row.box(lower.first, lower.end)
    return follows(*boxes)


def _is_house(one: Kept, spared: Sequence[str]) -> bool:
    words = folded_word(one.row.text[one.first : one.end])
    return len(words) >= _LEAST_REPEATED and any(words in house for house in spared)


def _merged(kept: Sequence[Kept]) -> list[Kept]:
    """Put stretches together that lie over one another: the wider says the kind, the one with a role the role."""
    by_row: dict[int, list[Kept]] = {}
    for one in kept:
        by_row.setdefault(id(one.row), []).append(one)
    made: list[Kept] = []
    for group in sorted(by_row.values(), key=lambda each: (each[0].row.page, each[0].row.number, each[0].row.text)):
        group.sort(key=lambda one: (one.first, -one.end, one.kind, one.role))
        open_one: Kept | None = None
        for one in group:
            if open_one is not None and one.first < open_one.end:
                wide = max((open_one, one), key=lambda each: each.end - each.first)
                role = open_one.role or one.role
                open_one = Kept(one.row, open_one.first, max(open_one.end, one.end), wide.kind, role)
                continue
            if open_one is not None:
                made.append(open_one)
            open_one = one
        if open_one is not None:
            made.append(open_one)
    return made


def _by_piece(one: Kept) -> Iterator[tuple[int, int]]:
    for piece in one.row.pieces:
        first, end = max(one.first, piece.first), min(one.end, piece.end)
        if first < end:
            yield first, end


def _line_box(row: Row, first: int, end: int) -> Box:
    lines = [line for piece in row.pieces if piece.first < end and first < piece.end for line in piece.lines]
    return joined_box([line.box for line in lines]) if lines else piece_of(row, first).line.box
