"""Where in the files of some cars words stand: what was said, with the words around it and its moment."""

from __future__ import annotations

import re
from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from itertools import groupby
from typing import Any

from sqlalchemy import Connection, bindparam, select, text

from shutline.car.speech import Word, share_out
from shutline.store import tables
from shutline.store.base import Base
from shutline.store.columns import verbatim
from shutline.store.search import WORD, bare

MOST = 2
"""Passages shown of one car."""
AROUND = 8
"""Words shown before and after those that were found, at most."""

_LOOKED_AT = 12
"""Stretches of a car that are looked at for the best: the first in which the letters of a word stand."""
_AT_ONCE = 50
_FAR = 4_000
"""Stretches of one car that are read where the letters alone did not tell."""


@dataclass(frozen=True, slots=True)
class Piece:
    """Some words one after the other, and whether they were looked for."""

    text: str
    found: bool = False


@dataclass(frozen=True, slots=True)
class Passage:
    """Words that were found, with a little of the words around.

    `recording` counts the car's recordings from 1 and `at_s` is when the first of the words found was said, seconds;
    both None for what stands in the car file otherwise: a name, a finding, a fact, a note or the name of a file.
    """

    pieces: tuple[Piece, ...]
    recording: int | None = None
    at_s: float | None = None


class Passages(Base):
    """The part of the store that shows where the words of a search were found."""

    def passages(self, cars: Sequence[str], words: str) -> dict[str, tuple[Passage, ...]]:
        """Give where some words stand in the files of some cars, `MOST` passages of each.

        Parameters
        ----------
        cars : sequence of str
            Whole names, as a search gave them.
        words : str
            What was looked for, as in `search_cars`.

        Returns
        -------
        dict of str to tuple of Passage
            Those with most of the words first; what was said before what stands there otherwise. A car of which only
            its title holds the words is left out.
        """
        wanted = tuple(dict.fromkeys(WORD.findall(words.casefold())))
        if not wanted or not cars:
            return {}
        fits = _Fits(wanted)
        found: dict[str, tuple[Passage, ...]] = {}
        with self._db.read() as connection:
            known = _known(connection, cars)
            hits = _hits(connection, known, wanted)
            best = {name: _best(hits.get(name, []), fits) for name in known}
            # The texts of whole cars are long, and most searches need none of them.
            texts = _texts(connection, [known[name].numbers[0] for name, rows in best.items() if not rows])
            for name, car in known.items():
                if not best[name] and fits.may_hide(texts.get(car.numbers[0], "")):
                    best[name] = _best(_all(connection, car), fits)
            words_of = _words_of(connection, [row[4] for rows in best.values() for row in rows])
            for name, car in known.items():
                passages = [_said(row, words_of[row[4]], fits, car.recordings) for row in best[name]]
                if not passages:
                    passages = _otherwise(car, texts.get(car.numbers[0], ""), fits)
                if passages:
                    found[name] = tuple(passages)
        return found

    @staticmethod
    def marked(line: str, words: str) -> tuple[Piece, ...]:
        """Give a line with those of some words that stand in it; nothing where no word was looked for."""
        wanted = tuple(dict.fromkeys(WORD.findall(words.casefold())))
        return _run_on(line.split(), [*map(_Fits(wanted).any_of, line.split())]) if wanted else ()


@dataclass(slots=True)
class _Known:
    """What is known of one car: its number and those joined with it, its title, its recordings by number."""

    numbers: list[int]
    title: str
    recordings: dict[int, int]


class _Fits:
    """Which words were looked for: those that begin with one of the wanted, whatever case and accents."""

    def __init__(self, wanted: Sequence[str]) -> None:
        self._wanted = [(word, bare(word)) for word in wanted]
        # Where no letter has an accent, a word is found by where it begins.
        self._plainly = [(word, re.compile(rf"(?<![^\W_])(?:{word}|{plain})")) for word, plain in self._wanted]
        self._any = re.compile("|".join(begins.pattern for _, begins in self._plainly))

    def any_of(self, said: str) -> bool:
        """Tell whether a word in what was said begins with one of the wanted."""
        return self._any.search(said.casefold()) is not None if said.isascii() else bool(self.of(said))

    def of(self, said: str) -> set[str]:
        """Give with which of the wanted words a word in what was said begins."""
        if said.isascii():
            lower = said.casefold()
            return {word for word, begins in self._plainly if begins.search(lower)}
        own = WORD.findall(said.casefold())
        plainly = [bare(one) for one in own]
        return {
            word
            for word, plain in self._wanted
            if any(one.startswith(word) for one in own) or any(one.startswith(plain) for one in plainly)
        }

    def may_hide(self, words: str) -> bool:
        """Tell whether the letters of a wanted word may have been said otherwise than they are written."""
        return any(not word.isascii() or word not in words for word, _ in self._wanted)


_Row = tuple[int, float, float, str, int]


def _known(connection: Connection, cars: Sequence[str]) -> dict[str, _Known]:
    """Give each car with the numbers of those joined with it and its recordings in their order."""
    car, recording = tables.car.c, tables.recording.c
    known: dict[str, _Known] = {}
    for number, name, title in connection.execute(select(car.id, car.name, car.title).where(car.name.in_(cars))):
        known[name] = _Known([number], title, {})
    for number, head in connection.execute(select(car.id, car.joined_to).where(car.joined_to.in_(cars))):
        known[head].numbers.append(number)
    head_of = {number: one for one in known.values() for number in one.numbers}
    rows = connection.execute(
        select(recording.car_id, recording.id)
        .where(recording.car_id.in_(list(head_of)), recording.twin_of.is_(None))
        .order_by(recording.id)
    )
    for number, one in rows:
        own = head_of[number].recordings
        own[one] = len(own) + 1
    return {name: known[name] for name in cars if name in known}


def _texts(connection: Connection, numbers: Sequence[int]) -> dict[int, str]:
    """Give all the words of some cars as they are searched."""
    kept = tables.car_words.c
    rows = connection.execute(select(kept.car_id, kept.words).where(kept.car_id.in_(numbers))) if numbers else ()
    return {number: words for number, words in rows}  # noqa: C416


def _words_of(connection: Connection, numbers: Sequence[int]) -> dict[int, Sequence[Word]]:
    """Give the words of some stretches, each with its times where they are known."""
    stretch = tables.stretch.c
    rows = connection.execute(select(stretch.id, stretch.words).where(stretch.id.in_(numbers))) if numbers else ()
    return {number: words for number, words in rows}  # noqa: C416


def _hits(connection: Connection, known: Mapping[str, _Known], wanted: Sequence[str]) -> dict[str, list[_Row]]:
    """Give of each car the first stretches in which the letters of a wanted word stand."""
    like = "LIKE" if connection.dialect.name == "sqlite" else "ILIKE"
    letters = " OR ".join(f"s.text {like} :w{place}" for place in range(len(wanted)))
    values: dict[str, Any] = {f"w{place}": f"%{word}%" for place, word in enumerate(wanted)}
    found: dict[str, list[_Row]] = defaultdict(list)
    names = list(known)
    for begin in range(0, len(names), _AT_ONCE):
        some = names[begin : begin + _AT_ONCE]
        # One statement for many cars, each ended as soon as it has enough: by an index, so that nothing is sorted.
        each = [
            f"SELECT * FROM (SELECT {place} AS car, s.recording_id, s.start_s, s.end_s, s.text, s.id "  # noqa: S608
            "FROM recording r JOIN stretch s ON s.recording_id = r.id AND s.edition = r.edition "
            f"WHERE r.id IN :c{place} AND ({letters}) "
            f"ORDER BY r.id, s.place LIMIT {_LOOKED_AT}) AS q{place}"
            for place in range(len(some))
        ]
        query = text(" UNION ALL ".join(each)).bindparams(
            *(bindparam(f"c{place}", list(known[name].recordings), expanding=True) for place, name in enumerate(some))
        )
        for place, *row in connection.execute(query, values).all():
            found[some[place]].append(tuple(row))
    return found


def _all(connection: Connection, car: _Known) -> list[_Row]:
    """Give the stretches of one car, for words that are written otherwise than they were looked for."""
    recording, stretch = tables.recording.c, tables.stretch.c
    query = (
        select(stretch.recording_id, stretch.start_s, stretch.end_s, stretch.text, stretch.id)
        .join(tables.recording, (recording.id == stretch.recording_id) & (recording.edition == stretch.edition))
        .where(recording.car_id.in_(car.numbers), recording.twin_of.is_(None))
        .order_by(stretch.recording_id, stretch.place)
        .limit(_FAR)
    )
    return [tuple(row) for row in connection.execute(query).all()]


def _best(rows: Sequence[_Row], fits: _Fits) -> list[_Row]:
    """Choose the stretches that hold most of the words, in the order in which they were said."""
    fitting = [(len(held), place, row) for place, row in enumerate(rows) if (held := fits.of(verbatim(row[3]) or ""))]
    fitting.sort(key=lambda one: (-one[0], one[1]))
    return [row for _, _, row in sorted(fitting[:MOST], key=lambda one: one[1])]


def _said(row: _Row, timed: Sequence[Word], fits: _Fits, recordings: Mapping[int, int]) -> Passage:
    number, start_s, end_s, said, _ = row
    words = timed or share_out(verbatim(said) or "", start_s, end_s)
    pieces, first = _cut([word.text for word in words], fits)
    return Passage(pieces, recordings[number], words[first].start_s if words else start_s)


def _otherwise(car: _Known, words: str, fits: _Fits) -> list[Passage]:
    """Give where the words stand in a car file, other than in what was said; the title shows its own."""
    title = car.title.casefold()
    for line in words.splitlines():
        if line != title and fits.any_of(line) and not fits.any_of(title):
            return [Passage(_cut(line.split(), fits)[0])]
    return []


def _cut(words: Sequence[str], fits: _Fits) -> tuple[tuple[Piece, ...], int]:
    """Cut words down to those around what was found; gives them, and the place of the first that was found."""
    held = [fits.any_of(word) for word in words]
    first = held.index(True) if True in held else 0
    begin, end = max(0, first - AROUND), min(len(words), first + 2 * AROUND)
    before, after = (Piece("…"),) if begin else (), (Piece("…"),) if end < len(words) else ()
    return (*before, *_run_on(words[begin:end], held[begin:end]), *after), first


def _run_on(words: Sequence[str], held: Sequence[bool]) -> tuple[Piece, ...]:
    """Join words that follow each other and were all found, or all not."""
    runs = groupby(zip(words, held, strict=True), key=lambda one: one[1])
    return tuple(Piece(" ".join(word for word, _ in run), found) for found, run in runs)
