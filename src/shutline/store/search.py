"""Search over all that is kept of the cars: names, what was said, what was found, facts and the names of files."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from sqlalchemy import ColumnElement, Connection, column, func, select, table, text
from sqlalchemy.dialects import postgresql, sqlite

from shutline.car.carfile import CarSummary
from shutline.car.vocabulary import vocabulary
from shutline.store import tables
from shutline.store.base import Base
from shutline.store.cars import LINE, line_of

AT_ONCE = 200
"""Cars whose words are put together in one search; more are left for the next, and told."""

_WORD = re.compile(r"\w+", re.UNICODE)


@dataclass(frozen=True, slots=True)
class Searched:
    """Cars that hold all the words, newest first.

    `count` is how many there are beyond those shown; `behind` how many cars have changed and were not searched yet.
    """

    cars: tuple[CarSummary, ...]
    count: int
    behind: int = 0


class Searches(Base):
    """The part of the store that finds cars by words."""

    def search_cars(self, words: str, *, limit: int = 50, skip: int = 0, only_heard: bool = False) -> Searched:
        """Find the cars in whose file all the words stand, whole or as beginnings, in any order.

        Parameters
        ----------
        words : str
            What to look for; marks between words count for nothing, and so does case. Without a word all cars fit.
        limit, skip : int
            At most so many cars, after leaving out so many.
        only_heard : bool
            Only cars with findings that nobody has looked at yet.
        """
        behind = self.gather_words(limit=AT_ONCE)
        wanted = _WORD.findall(words.casefold())
        car = tables.car.c
        here: list[ColumnElement[bool]] = [car.heard_count > 0] if only_heard else []
        with self._db.read() as connection:
            if wanted:
                here.append(car.id.in_(_fitting(connection, wanted)))
            count = connection.execute(select(func.count()).select_from(tables.car).where(*here)).scalar_one()
            query = select(*LINE).where(*here).order_by(car.created_at.desc(), car.id.desc()).limit(limit).offset(skip)
            return Searched(tuple(line_of(row) for row in connection.execute(query)), count, behind)

    def faces(self, names: Sequence[str]) -> dict[str, str]:
        """Give for each of some cars the SHA-256 of a still to know it by: the first of its earliest finding shown.

        A car without stills is left out.
        """
        car, finding, shown, still = (t.c for t in (tables.car, tables.finding, tables.finding_still, tables.still))
        query = (
            select(car.name, still.sha256)
            .join(tables.finding, finding.car_id == car.id)
            .join(tables.finding_still, shown.finding_id == finding.id)
            .join(tables.still, still.id == shown.still_id)
            .where(car.name.in_(list(names)), shown.put_aside.is_(False), finding.withdrawn.is_(False))
            .where(finding.state != "struck")
            .order_by(finding.start_s.desc(), shown.place.desc())
        )
        with self._db.read() as connection:
            # Later rows take the place of earlier ones, so that the earliest moment stays.
            return {row[0]: row[1] for row in connection.execute(query)}

    def gather_words(self, *, limit: int | None = None) -> int:
        """Put the words of the cars that have changed together anew; give how many are left.

        Parameters
        ----------
        limit : int, optional
            At most so many cars; those changed last come first.
        """
        car, kept = tables.car.c, tables.car_words.c
        changed = (
            select(car.id, car.changed_at)
            .outerjoin(tables.car_words, kept.car_id == car.id)
            .where((kept.as_of.is_(None)) | (kept.as_of != car.changed_at))
            .order_by(car.changed_at.desc())
        )
        with self._db.read() as connection:
            waiting = connection.execute(changed).all()
        taken = waiting if limit is None else waiting[:limit]
        for start in range(0, len(taken), AT_ONCE):
            with self._db.write() as connection:
                for number, _ in taken[start : start + AT_ONCE]:
                    _keep_words(connection, number, now=self._db.now())
        return len(waiting) - len(taken)


def _fitting(connection: Connection, words: list[str]) -> Any:
    """Give a query for the ids of the cars that hold all words as beginnings."""
    if connection.dialect.name == "sqlite":
        search = table("car_search", column("rowid"))
        fits = text("car_search MATCH :words").bindparams(words=" ".join(f'"{word}"*' for word in words))
        return select(search.c.rowid).where(fits)
    vector = func.to_tsvector("simple", tables.car_words.c.words)
    asked = func.to_tsquery("simple", " & ".join(f"{word}:*" for word in words))
    return select(tables.car_words.c.car_id).where(vector.op("@@")(asked))


def _keep_words(connection: Connection, car_id: int, *, now: str) -> None:
    row = connection.execute(select(tables.car).where(tables.car.c.id == car_id)).mappings().one()
    # A change in the same millisecond would not be seen afterwards, so such a text counts as old.
    as_of = row["changed_at"] if row["changed_at"] != now else ""
    values = {"car_id": car_id, "as_of": as_of, "words": words_of(connection, car_id, row["name"], row["title"])}
    insert = sqlite.insert if connection.dialect.name == "sqlite" else postgresql.insert
    changed = {"as_of": values["as_of"], "words": values["words"]}
    connection.execute(
        insert(tables.car_words).values(values).on_conflict_do_update(index_elements=["car_id"], set_=changed)
    )


def words_of(connection: Connection, car_id: int, name: str, title: str) -> str:
    """Put together all the words of a car: what is struck or withdrawn is left out."""
    known = vocabulary()
    finding, fact, recording, stretch = (t.c for t in (tables.finding, tables.fact, tables.recording, tables.stretch))
    lines = [name.replace("-", " "), title]
    lines += connection.execute(
        select(stretch.text)
        .join(tables.recording, (recording.id == stretch.recording_id) & (recording.edition == stretch.edition))
        .where(recording.car_id == car_id)
        .order_by(recording.id, stretch.place)
    ).scalars()
    found = connection.execute(
        select(finding.part, finding.condition)
        .where(finding.car_id == car_id, finding.withdrawn.is_(False), finding.state != "struck")
        .distinct()
    )
    for part, condition in found:
        lines.append(f"{known.parts[part].label} {known.conditions[condition].label}")
    facts = select(fact.name, fact.value).where(
        fact.car_id == car_id, fact.withdrawn.is_(False), fact.state != "struck"
    )
    lines += [f"{named.replace('_', ' ')} {value}" for named, value in connection.execute(facts)]
    footing = tables.footing.c
    quotes = select(footing.quote).join(tables.finding, finding.id == footing.finding_id)
    by_hand = (finding.car_id == car_id, finding.recording_id.is_(None), finding.state != "struck")
    lines += [quote for quote in connection.execute(quotes.where(*by_hand)).scalars() if quote]
    note = tables.note.c
    lines += connection.execute(select(note.words).where(note.car_id == car_id).order_by(note.id)).scalars()
    for sort in (tables.recording, tables.picture):
        names = select(tables.original_name.c.name).join(sort, sort.c.original_id == tables.original_name.c.original_id)
        lines += connection.execute(names.where(sort.c.car_id == car_id)).scalars()
    return "\n".join(line for line in lines if line)
