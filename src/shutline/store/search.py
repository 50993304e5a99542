"""Search over all that is kept of the cars: names, what was said, what was found, facts and the names of files."""

from __future__ import annotations

import re
import time
import unicodedata
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from sqlalchemy import (
    ColumnElement,
    Connection,
    ScalarSelect,
    bindparam,
    column,
    except_,
    func,
    literal_column,
    select,
    table,
    text,
    update,
)
from sqlalchemy.dialects import postgresql, sqlite

from shutline.car.carfile import CarSummary
from shutline.car.vocabulary import vocabulary
from shutline.store import tables
from shutline.store.base import Base
from shutline.store.cars import LINE, line_of, listed

AT_ONCE = 200
"""Cars whose words are put together in one search; more are left for the next, and told."""

LONGEST_S = 0.05
"""How long a search may put words together, seconds; the cars that are left then are told too."""

_TOGETHER = 10
"""Cars whose words are read and kept in one go: enough that the queries count little."""

# As SQLite cuts them: letters and figures alone, so that each is one word to it and never a phrase.
WORD = re.compile(r"[^\W_]+")
_LATIN_ENDS = "\u0250"


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

    def search_cars(
        self, words: str, *, limit: int = 50, skip: int = 0, only_heard: bool = False, aside: bool = False
    ) -> Searched:
        """Find the cars in whose file all the words stand, whole or as beginnings, in any order.

        Parameters
        ----------
        words : str
            What to look for; marks between words count for nothing, and so does case. Without a word all cars fit.
        limit, skip : int
            At most so many cars, after leaving out so many.
        only_heard : bool
            Only cars with findings or facts that nobody has looked at yet.
        aside : bool
            Those that are set aside, in place of the others.
        """
        wanted = WORD.findall(words.casefold())
        behind = self.gather_words(limit=AT_ONCE, seconds=LONGEST_S) if wanted else 0
        car = tables.car.c
        here = listed(only_heard=only_heard, aside=aside)
        newest = (car.created_at.desc(), car.id.desc())
        with self._db.read() as connection:
            if not wanted:
                count = connection.execute(select(func.count()).select_from(tables.car).where(*here)).scalar_one()
                query = select(*LINE).where(*here).order_by(*newest).limit(limit).offset(skip)
            else:
                # Looked for once: the words are the dear part, and numbers of cars are few enough to hold. The plus
                # keeps to the order of the yard, which an index has, instead of sorting all that fits.
                fits = literal_column("+car.id").in_(_fitting(connection, wanted))
                numbers = connection.execute(select(car.id).where(fits, *here).order_by(*newest)).scalars().all()
                count = len(numbers)
                shown = numbers[skip : skip + limit]
                query = select(*LINE).where(car.id.in_(shown)).order_by(*newest)
            return Searched(tuple(line_of(row) for row in connection.execute(query)), count, behind)

    def faces(self, names: Sequence[str]) -> dict[str, str]:
        """Give for each of some cars the SHA-256 of a still to know it by: the first of its earliest finding shown.

        A car without stills is left out.
        """
        car, recording, still = tables.car.c, tables.recording.c, tables.still.c
        filmed = (
            select(still.id)
            .join(tables.recording, recording.id == still.recording_id)
            .where(recording.car_id == car.id)
            .exists()
        )
        start_s = tables.finding.c.start_s
        face = func.coalesce(_first_still(start_s.is_not(None)), _first_still(start_s.is_(None)))
        shown = car.name.in_(list(names)) | car.joined_to.in_(list(names))
        query = select(car.name, car.joined_to, face).where(shown, filmed).order_by(car.joined_to.is_not(None), car.id)
        found: dict[str, str] = {}
        with self._db.read() as connection:
            for name, head, sha256 in connection.execute(query):
                if sha256 is not None:
                    found.setdefault(head or name, sha256)
        return found

    def gather_words(self, *, limit: int | None = None, seconds: float | None = None) -> int:
        """Put the words of the cars that have changed together anew; give how many are left.

        Parameters
        ----------
        limit : int, optional
            At most so many cars; those changed last come first.
        seconds : float, optional
            Stop soon after so long, seconds; two cars are always done.
        """
        car, kept = tables.car.c, tables.car_words.c
        changed = except_(select(car.id, car.changed_at), select(kept.car_id, kept.as_of))
        with self._db.read() as connection:
            waiting = connection.execute(changed).all()
        # Those changed last come first.
        waiting = sorted(waiting, key=lambda row: (row[1], row[0]), reverse=True)
        taken = waiting if limit is None else waiting[:limit]
        until = None if seconds is None else time.monotonic() + seconds
        # One car of 1,000 findings takes as long as ten usual ones.
        step = _TOGETHER if until is None else 2
        done = 0
        late = False
        while done < len(taken) and not late:
            with self._db.write() as connection:
                together = min(done + AT_ONCE, len(taken))
                while done < together and not late:
                    some = [number for number, _ in taken[done : done + step]]
                    _keep_words(connection, some, now=self._db.now())
                    done += len(some)
                    late = until is not None and time.monotonic() >= until
        return len(waiting) - done


def _first_still(when: ColumnElement[bool]) -> ScalarSelect[str]:
    """Give, for a car of the query around it, the first still of its earliest finding among some."""
    finding, shown, still = tables.finding.c, tables.finding_still.c, tables.still.c
    return (
        select(still.sha256)
        .join(tables.finding_still, shown.still_id == still.id)
        .join(tables.finding, finding.id == shown.finding_id)
        .where(finding.car_id == tables.car.c.id, finding.withdrawn.is_(False), when)
        .where(finding.state != "struck", shown.put_aside.is_(False))
        .order_by(finding.start_s, finding.id, shown.place)
        .limit(1)
        .correlate(tables.car)
        .scalar_subquery()
    )


def _fitting(connection: Connection, words: list[str]) -> Any:
    """Give a query for the ids of the cars that hold all words as beginnings."""
    if connection.dialect.name == "sqlite":
        search = table("car_search", column("rowid"))
        # SQLite may cut words in other scripts otherwise than we do; those are looked for letter by letter.
        plain = [word for word in words if max(word) < _LATIN_ENDS]
        asked = " ".join(f'"{word}"*' for word in plain)
        indexed = select(search.c.rowid).where(text("car_search MATCH :words").bindparams(words=asked))
        kept = tables.car_words.c
        others = [kept.words.contains(word, autoescape=True) for word in words if word not in plain]
        if not others:
            return indexed
        return select(kept.car_id).where(*others, *([kept.car_id.in_(indexed)] if plain else []))
    vector = func.to_tsvector("simple", tables.car_words.c.words)
    query = func.to_tsquery("simple", " & ".join(f"{word}:*" for word in words))
    return select(tables.car_words.c.car_id).where(vector.op("@@")(query))


def _keep_words(connection: Connection, numbers: Sequence[int], *, now: str) -> None:
    """Keep the words of some cars as they stand now."""
    car, kept = tables.car.c, tables.car_words.c
    rows = connection.execute(select(car.id, car.name, car.title, car.changed_at).where(car.id.in_(numbers))).all()
    found = words_of(connection, {row.id: [row.name.replace("-", " "), row.title] for row in rows})
    before = connection.execute(select(kept.car_id, kept.words).where(kept.car_id.in_(numbers)))
    present = {number: words for number, words in before}  # noqa: C416
    # A change in the same millisecond would not be seen afterwards, so such a text counts as old.
    as_of = {row.id: row.changed_at if row.changed_at != now else "" for row in rows}
    same = [{"number": number, "at": as_of[number]} for number in found if present.get(number) == found[number]]
    if same:
        # The index of the words is left alone where they are as they were.
        noted = update(tables.car_words).where(kept.car_id == bindparam("number")).values(as_of=bindparam("at"))
        connection.execute(noted, same)
    new = [
        {"car_id": number, "as_of": as_of[number], "words": words}
        for number, words in found.items()
        if present.get(number) != words
    ]
    if new:
        adding = (sqlite.insert if connection.dialect.name == "sqlite" else postgresql.insert)(tables.car_words)
        changed = {"as_of": adding.excluded.as_of, "words": adding.excluded.words}
        connection.execute(adding.on_conflict_do_update(index_elements=["car_id"], set_=changed), new)


def words_of(connection: Connection, begun: Mapping[int, Sequence[str]]) -> dict[int, str]:
    """Put together all the words of some cars: what is struck or withdrawn is left out.

    Parameters
    ----------
    connection : Connection
        A read or a write.
    begun : mapping of int to sequence of str
        By the number of the car, what its text begins with.
    """
    known = vocabulary()
    lines: dict[int, list[str]] = {number: list(first) for number, first in begun.items()}
    # What is kept of a car that is joined with another is found by the other.
    car, head = tables.car.c, tables.car.alias().c
    joined = select(car.id, car.name, car.title, head.id).where(car.joined_to == head.name, head.id.in_(list(begun)))
    for number, name, title, of in connection.execute(joined):
        lines[of] += [name.replace("-", " "), title]
        lines[number] = lines[of]
    numbers = list(lines)
    finding, fact, recording, stretch = (t.c for t in (tables.finding, tables.fact, tables.recording, tables.stretch))
    said = (
        select(recording.car_id, stretch.text)
        .join(tables.stretch, (recording.id == stretch.recording_id) & (recording.edition == stretch.edition))
        .where(recording.car_id.in_(numbers))
        .order_by(recording.id, stretch.place)
    )
    for number, text_ in connection.execute(said):
        lines[number].append(text_)
    found = (
        select(finding.car_id, finding.part, finding.condition)
        .where(finding.car_id.in_(numbers), finding.withdrawn.is_(False), finding.state != "struck")
        .distinct()
        .order_by(finding.part, finding.condition)
    )
    for number, part, condition in connection.execute(found):
        lines[number].append(f"{known.parts[part].label} {known.conditions[condition].label}")
    told = (fact.car_id.in_(numbers), fact.withdrawn.is_(False), fact.state != "struck")
    for number, named, value in connection.execute(select(fact.car_id, fact.name, fact.value).where(*told)):
        lines[number].append(f"{named.replace('_', ' ')} {value}")
    note, footing = tables.note.c, tables.footing.c
    by_hand = (finding.car_id.in_(numbers), finding.recording_id.is_(None), finding.state != "struck")
    others = [
        select(finding.car_id, footing.quote).join(tables.footing, finding.id == footing.finding_id).where(*by_hand),
        select(note.car_id, note.words).where(note.car_id.in_(numbers)).order_by(note.id),
    ]
    for sort in (tables.recording, tables.picture):
        came_as = tables.original_name.c
        named_so = select(sort.c.car_id, came_as.name).join(sort, sort.c.original_id == came_as.original_id)
        others.append(named_so.where(sort.c.car_id.in_(numbers)))
    for query in others:
        for number, words in connection.execute(query):
            lines[number].append(words)
    together = {number: "\n".join(line for line in lines[number] if line).casefold() for number in begun}
    if connection.dialect.name == "sqlite":
        return together
    # SQLite looks for words without their accents by itself; for the other engine they stand there both ways.
    return {number: "\n".join((own, *_bare_words(own))) for number, own in together.items()}


def bare(word: str) -> str:
    """Give a word without its accents."""
    return "".join(sign for sign in unicodedata.normalize("NFKD", word) if not unicodedata.combining(sign))


def _bare_words(words: str) -> list[str]:
    """Give the words that have accents without them, as one line; nothing where there are none."""
    there = set(WORD.findall(words))
    plain = sorted({bare(word) for word in there if not word.isascii()} - there)
    return [" ".join(plain)] if plain else []
