"""What the words of a paper tell: its kind, and every day, mileage, sum, mark and number, proposed and never taken."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date

from shutline.car.papers import Page, PaperKind, PaperTold, Proposal, ReadKind, Value
from shutline.history.marks import mark_told
from shutline.history.papers import identity
from shutline.history.papers.amounts import RawMileage, RawMoney, mileage_ways, money_ways
from shutline.history.papers.dates import DateSense, Form, date_sense, date_ways
from shutline.history.papers.folded import folded
from shutline.history.papers.identity import Read
from shutline.history.papers.kinds import kinds_of
from shutline.history.papers.layout import Row, follows, joined_box
from shutline.history.papers.private import Kept, private_stretches
from shutline.history.papers.reading import ReadRow, Sheet, Spanned, country_of, read_pages, trimmed
from shutline.history.papers.sums import Amount, sums_of
from shutline.history.papers.tables import Label, units, weights

_TOP_ROWS = 14
# An address is sought among so many of what was found before it.
_LATEST = 12
_SHUT = frozenset({ReadKind.CONTACT, ReadKind.REFERENCE})
_Reader = Callable[[str, int, int], Read | None]


@dataclass(frozen=True, slots=True)
class Known:
    """What is known beside a paper.

    `today` is the day of reading: later days are doubtful. `marks` and `chassis` are the car's own, in any spelling.
    `house` is what the firm says of itself, name, address and telephone: that is not private. `made` is a year before
    which the car was not there, None where nobody knows.
    """

    today: date
    marks: tuple[str, ...] = ()
    chassis: tuple[str, ...] = ()
    house: tuple[str, ...] = ()
    made: int | None = None


def tell_paper(pages: Sequence[Page], *, known: Known) -> PaperTold:
    """Tell what the words of a paper say.

    Parameters
    ----------
    pages : sequence of Page
        Pages of one paper with their lines; neither the order of pages nor that of lines changes anything.
    known : Known
        The day, and what is known of the car and the house.

    Returns
    -------
    PaperTold
        All kinds with their chances, likeliest first, and the proposals from the top of the first page to the end of
        the last. Names, addresses, ways to reach somebody and references are among them, so that a person sees what
        is kept back; `private_words` gives them line by line.
    """
    sheets = read_pages(pages)
    kinds = kinds_of(sheets)
    country = country_of(sheets, weights()["country"])
    kept = private_stretches(sheets, house=known.house)
    shut: dict[int, list[Kept]] = {}
    for one in kept:
        shut.setdefault(id(one.row), []).append(one)
    paper = _Paper(sheets, kinds[0][0], country, shut, known)
    proposals = [*paper.marks(), *paper.chassis()]
    sense = paper.sense(proposals)
    proposals += [*paper.dates(sense), *paper.mileages(), *paper.money(), *paper.countries(), *paper.counts()]
    proposals += _private(kept)
    return PaperTold(kinds, tuple(sorted(proposals, key=_place)))


@dataclass(eq=False, slots=True)
class _Paper:
    sheets: Sequence[Sheet]
    kind: PaperKind
    country: Mapping[str, float]
    shut: Mapping[int, Sequence[Kept]]
    known: Known

    def marks(self) -> Iterator[Proposal]:
        ours = _plain(self.known.marks)
        return self._signs(
            ReadKind.MARK,
            lambda text, first, end: identity.labelled_mark(text, first, end, ours),
            lambda text: identity.marks_alone(text, ours),
        )

    def chassis(self) -> Iterator[Proposal]:
        ours = _plain(self.known.chassis)
        return self._signs(
            ReadKind.CHASSIS,
            lambda text, first, end: identity.labelled_chassis(text, first, end, ours),
            lambda text: identity.chassis_alone(text, ours),
        )

    def sense(self, found: Sequence[Proposal]) -> DateSense:
        """Work out what days are weighed by; a paper with a mark on it was written after marks like it were given."""
        starts = [
            told.start.year
            for one in found
            if one.kind is ReadKind.MARK and (told := mark_told(one.values[0].text)).start is not None
        ]
        earliest = max([*starts, *([self.known.made] if self.known.made else [])], default=None)
        raws = [one for _, read in self._rows() for one in read.dates if not one.labelled]
        return date_sense(raws, country=self.country, today=self.known.today, earliest=earliest)

    def dates(self, sense: DateSense) -> Iterator[Proposal]:
        for sheet, read in self._rows():
            for raw in read.dates:
                label = sheet.role_of(read, raw, ReadKind.DATE)
                if self._is_shut(read, raw) or (raw.labelled and (label is None or label.kind is None)):
                    continue
                if raw.form is Form.FIGURES and raw.labelled and raw.misread:
                    continue
                role = self._date_role(read, label)
                values, why = date_ways(raw, sense, role=role)
                if values:
                    yield _proposal(ReadKind.DATE, read.row, (raw.first, raw.end, values, why), role)

    def mileages(self) -> Iterator[Proposal]:
        for sheet, read in self._rows():
            for raw in (*read.mileages, *read.bare_miles):
                label = sheet.role_of(read, raw, ReadKind.MILEAGE)
                shut = label is not None and label.kind is None and not (raw.unit and label.role)
                beside_day = label is None and self._is_stamp(read, raw)
                if self._is_shut(read, raw) or shut or (label is None and not raw.unit and not beside_day):
                    continue
                if not raw.unit and self._within_others(read, raw):
                    continue
                role = self._role(label, ReadKind.MILEAGE) or self._plain_role("mileage", ReadKind.MILEAGE)
                values, why = mileage_ways(raw, unit=_unit(label), country=self.country)
                why = f"it stands beside a day in a record of services; {why}" if beside_day and not raw.unit else why
                yield _proposal(ReadKind.MILEAGE, read.row, (raw.first, raw.end, values, why), role)

    def money(self) -> Iterator[Proposal]:
        for sheet in self.sheets:
            found: list[tuple[ReadRow, RawMoney, str]] = []
            for read in sheet.rows:
                for raw in (*read.money, *read.bare_sums):
                    if not self._is_shut(read, raw):
                        label = sheet.role_of(read, raw, ReadKind.MONEY)
                        found.append((read, raw, self._role(label, ReadKind.MONEY)))
            found.sort(key=lambda one: (one[0].row.number, one[1].first))
            sums = sums_of([
                Amount(number, read.row.number, read.row.box(raw.first, raw.end), raw.ways[0][0], role)
                for number, (read, raw, role) in enumerate(found)
            ])  # fmt: skip
            for number, (read, raw, role) in enumerate(found):
                if not raw.sign and not role and number not in sums.lines:
                    continue
                values, why = money_ways(raw, country=self.country)
                why = "; ".join(filter(None, (why, sums.words.get(number, ""))))
                told = role or ("line" if number in sums.lines else "")
                yield _proposal(ReadKind.MONEY, read.row, (raw.first, raw.end, values, why), told)

    def countries(self) -> Iterator[Proposal]:
        told: set[tuple[str, str]] = set()
        for sheet, read in self._rows():
            for one in read.countries:
                label = sheet.role_of(read, one, ReadKind.COUNTRY)
                role = self._role(label, ReadKind.COUNTRY)
                private = any(each.first <= one.first < each.end for each in self.shut.get(id(read.row), ()))
                if (private and not role) or (one.meaning.code, role) in told:
                    continue
                told.add((one.meaning.code, role))
                found = one.first, one.end, (Value(one.meaning.code, "", 1.0),), "named in words"
                yield _proposal(ReadKind.COUNTRY, read.row, found, role)

    def counts(self) -> Iterator[Proposal]:
        seen: set[int] = set()
        for row, found, role in self._labelled(ReadKind.COUNT, identity.count_read):
            seen.add(id(row))
            yield _proposal(ReadKind.COUNT, row, found, role)
        for _, read in self._rows():
            for label in (one for one in read.labels if one.meaning.kind is ReadKind.COUNT):
                # 'two former keepers': the number stands before.
                first, end = trimmed(read.row.text, read.row.cell(label.first)[0], label.first)
                begin = max(read.row.text.rfind(" ", first, end) + 1, first)
                before = identity.count_read(read.row.text, begin, end) if begin < end else None
                if before and before[1] == end and id(read.row) not in seen:
                    yield _proposal(ReadKind.COUNT, read.row, before, label.meaning.role)

    def _rows(self) -> Iterator[tuple[Sheet, ReadRow]]:
        for sheet in self.sheets:
            for read in sheet.rows:
                yield sheet, read

    def _signs(self, kind: ReadKind, labelled: _Reader, alone: Callable[[str], list[Read]]) -> Iterator[Proposal]:
        taken: dict[int, list[tuple[int, int]]] = {}
        for row, found, role in self._labelled(kind, labelled):
            taken.setdefault(id(row), []).append(found[:2])
            yield _proposal(kind, row, found, role)
        for _, read in self._rows():
            for found in alone(read.row.text):
                spans = taken.get(id(read.row), ())
                if not any(found[0] < end and first < found[1] for first, end in spans):
                    yield _proposal(kind, read.row, found, "")

    def _labelled(self, kind: ReadKind, reader: _Reader) -> Iterator[tuple[Row, Read, str]]:
        """Read what stands by each label of a kind: behind it, in the next cell, or below it."""
        seen: set[tuple[int, int]] = set()
        for sheet, read in self._rows():
            for label in (one for one in read.labels if one.meaning.kind is kind):
                for there, first, end in sheet.after(read, label):
                    found = reader(there.row.text, first, end)
                    if found is None or (kind is ReadKind.MARK and _is_day(there, found)):
                        continue
                    if (id(there.row), found[0]) not in seen:
                        seen.add((id(there.row), found[0]))
                        yield there.row, found, label.meaning.role
                    break

    def _is_shut(self, read: ReadRow, value: Spanned) -> bool:
        return any(
            one.kind in _SHUT and one.first < value.end and value.first < one.end
            for one in self.shut.get(id(read.row), ())
        )

    def _is_stamp(self, read: ReadRow, raw: RawMileage) -> bool:
        """Tell whether a figure without a label is the one mileage beside the one day of a row of services."""
        days = [one for one in read.dates if not one.labelled]
        alone = len(days) == len(read.bare_miles) == 1 and not read.mileages and not read.money
        return self.kind is PaperKind.SERVICE and alone and raw.miles >= weights()["mileage"]["least_alone"]

    def _within_others(self, read: ReadRow, value: Spanned) -> bool:
        """Tell whether a bare figure is part of a word, of a mark, or of another label's value."""
        if value.first and read.row.text[value.first - 1].isalpha():
            return all(one.end != value.first for one in read.labels)
        before = max((one for one in read.labels if one.end <= value.first), key=lambda one: one.end, default=None)
        if before is None or before.meaning.kind in {ReadKind.MILEAGE, ReadKind.DATE, ReadKind.MONEY}:
            return False
        return before.first >= read.row.cell(value.first)[0]

    def _date_role(self, read: ReadRow, label: Label | None) -> str:
        role = self._role(label, ReadKind.DATE)
        if role or label is not None:
            return role
        if self.kind is PaperKind.SERVICE and (read.mileages or read.bare_miles):
            return "service"
        top = read.row.number < _TOP_ROWS and read.row.page == self.sheets[0].laid.number
        if top and self.kind in {PaperKind.LETTER, PaperKind.INVOICE} and self._first_date(read):
            return self._plain_role("date", ReadKind.DATE)
        return ""

    def _first_date(self, read: ReadRow) -> bool:
        """Tell whether no row above this one has a day in it: a letter and an invoice begin with theirs."""
        return not any(
            one.dates and not all(raw.labelled for raw in one.dates) for one in self.sheets[0].rows[: read.row.number]
        )

    def _role(self, label: Label | None, kind: ReadKind) -> str:
        if label is None or label.kind not in {kind, None}:
            return ""
        return self._plain_role(label.role, kind)

    def _plain_role(self, role: str, kind: ReadKind) -> str:
        plain: Mapping[str, str] = weights()["plain"].get(kind.value, {})
        if role != kind.value:
            return role
        return plain.get(self.kind.value, role)


def _proposal(kind: ReadKind, row: Row, found: Read, role: str) -> Proposal:
    first, end, values, why = found
    return Proposal(kind, row.page, row.box(first, end), row.text[first:end].replace("\t", " "), role, values, why)


def _private(kept: Sequence[Kept]) -> Iterator[Proposal]:
    """Propose what is private: the lines of one address together, everything else by itself."""
    groups: list[list[Kept]] = []
    for one in kept:
        last = next((group for group in reversed(groups[-_LATEST:]) if _goes_on(group[-1], one)), None)
        if last is None:
            groups.append([one])
        else:
            last.append(one)
    for group in groups:
        first = group[0]
        role = next((one.role for one in group if one.role), "")
        words = ", ".join(one.row.text[one.first : one.end].replace("\t", " ").replace("\n", " ") for one in group)
        box = joined_box([one.row.box(one.first, one.end) for one in group])
        why = f"kept back: by its label, {role}" if role else "kept back: by its form, or by where it stands"
        yield Proposal(first.kind, first.row.page, box, words, role, (Value(words, "", 1.0),), why)


def _goes_on(upper: Kept, lower: Kept) -> bool:
    same = upper.kind is ReadKind.ADDRESS is lower.kind and upper.row.page == lower.row.page
    return same and follows(upper.row.box(upper.first, upper.end), lower.row.box(lower.first, lower.end))


def _is_day(read: ReadRow, found: Read) -> bool:
    return any(one.first < found[1] and found[0] < one.end for one in read.dates if not one.labelled)


def _unit(label: Label | None) -> str:
    if label is None:
        return ""
    words = folded(label.words).text
    return next((unit for word, unit, _ in units() if len(word) > 1 and words.startswith(folded(word).text)), "")


def _plain(signs: Sequence[str]) -> tuple[str, ...]:
    plain = ("".join(sign for sign in one.upper() if sign.isalnum() or sign in "/-.") for one in signs)
    return tuple(dict.fromkeys(one for one in plain if one))


def _place(one: Proposal) -> tuple[object, ...]:
    return one.page, one.box.top, one.box.left, list(ReadKind).index(one.kind), one.words, one.role
