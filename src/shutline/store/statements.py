"""Findings and facts as they are kept: read with their footings and history, and changed with what stood before."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Any, Generic, TypeVar

import msgspec
from sqlalchemy import ColumnElement, Connection, RowMapping, Table, insert, select, update

from shutline.car.carfile import Change, KeptFact, KeptFinding
from shutline.car.findings import Fact, Finding, Footing
from shutline.car.recordings import Still
from shutline.car.vocabulary import vocabulary
from shutline.store import errors, tables
from shutline.store.base import PROGRAM
from shutline.store.database import in_chunks
from shutline.store.rows import (
    Plain,
    fact_of,
    finding_of,
    footing_columns,
    plain,
    start_of,
    statement_columns,
)
from shutline.store.stills import stills_of

S = TypeVar("S", Finding, Fact)
K = TypeVar("K", KeptFinding, KeptFact)


@dataclass(frozen=True, slots=True)
class Sort(Generic[S]):
    """Which of the two a statement is, and where it is kept."""

    name: str
    table: Table
    kind: type[S]
    of_values: Callable[[Plain], S]

    @property
    def owner(self) -> str:
        """The column by which footings and changes name it."""
        return f"{self.name}_id"

    @property
    def fields(self) -> tuple[str, ...]:
        """The names of its values, in their order."""
        return tuple(self.kind.__dataclass_fields__)


FINDING = Sort("finding", tables.finding, Finding, finding_of)
FACT = Sort("fact", tables.fact, Fact, fact_of)

_FOOTING = tuple(Footing.__dataclass_fields__)


@dataclass(frozen=True, slots=True)
class Kept(Generic[S]):
    """A statement with all that the store knows of it; `values` are what stands now, in plain values."""

    row: RowMapping
    statement: S
    values: Plain
    stills: tuple[Still, ...]
    changes: tuple[Change, ...]
    stored: tuple[RowMapping, ...]


def load(connection: Connection, sort: Sort[S], *here: ColumnElement[bool]) -> list[Kept[S]]:
    """Read statements with everything that belongs to them, in a fixed number of queries.

    Parameters
    ----------
    connection : Connection
        A read or a write.
    sort : Sort
        Findings or facts.
    *here
        Which ones: conditions on the table.
    """
    table, footing, change = sort.table, tables.footing.c, tables.change.c
    rows = connection.execute(select(table).where(*here).order_by(table.c.id)).mappings().all()
    if not rows:
        return []
    footings: dict[int, list[Plain]] = defaultdict(list)
    owner = footing[sort.owner]
    # By place, not by name: a car may have thousands of them.
    for number, *values in connection.execute(
        select(owner, *(footing[name] for name in _FOOTING))
        .join(table, table.c.id == owner)
        .where(*here, footing.until_version.is_(None))
        .order_by(owner, footing.place)
    ):
        footings[number].append(dict(zip(_FOOTING, values, strict=True)))
    stored: dict[int, list[RowMapping]] = defaultdict(list)
    changed = change[sort.owner]
    for row in connection.execute(
        select(tables.change).join(table, table.c.id == changed).where(*here).order_by(change.id)
    ).mappings():
        stored[row[sort.owner]].append(row)
    stills = stills_of(connection, *here) if sort.kind is Finding else {}
    fields = sort.fields
    kept = []
    for row in rows:
        number = row["id"]
        standing = {name: footings.get(number, []) if name == "footings" else row[name] for name in fields}
        mine = tuple(stored.get(number, ()))
        standing["withdrawn"] = row["withdrawn"]
        history = _history(row, standing, mine)
        kept.append(Kept(row, sort.of_values(standing), standing, stills.get(number, ()), history, mine))
    return kept


def load_one(connection: Connection, sort: Sort[S], ref: str, *, lock: bool = False) -> Kept[S]:
    """Read one statement by its id; `lock` keeps others from changing it until the end.

    Raises
    ------
    NotFoundError
        The store holds none of that id (slugs ``finding-unknown``, ``fact-unknown``).
    """
    here = sort.table.c.ref == ref
    if lock:
        connection.execute(select(sort.table.c.id).where(here).with_for_update())
    kept = load(connection, sort, here)
    if not kept:
        slug = {"finding": "finding-unknown", "fact": "fact-unknown"}[sort.name]
        raise errors.not_found(
            slug=slug,
            where=f"{sort.name} {ref!r}",
            found=f"the store holds no {sort.name} of that id",
            allowed=f"a {sort.name} is named by the id it got when it came in",
            advice="Show the car for its ids.",
        )
    return kept[0]


def has(connection: Connection, sort: Sort[Any], ref: str) -> bool:
    """Tell whether a statement of that id is kept."""
    return connection.execute(select(sort.table.c.id).where(sort.table.c.ref == ref)).first() is not None


def kept_finding(kept: Kept[Finding]) -> KeptFinding:
    """Give the record of a kept finding."""
    row = kept.row
    return KeptFinding(row["ref"], kept.statement, kept.stills, row["version"], kept.changes, row["withdrawn"])


def kept_fact(kept: Kept[Fact]) -> KeptFact:
    """Give the record of a kept fact."""
    row = kept.row
    return KeptFact(row["ref"], kept.statement, row["version"], kept.changes, row["withdrawn"])


def enter(
    connection: Connection, sort: Sort[S], new: Sequence[tuple[str, S]], *, car_id: int, recording_id: int | None,
    author: str, at: str,
) -> None:  # fmt: skip
    """Insert statements under their ids, with their footings."""
    values = {ref: plain(statement) for ref, statement in new}
    with_start = "start_s" in sort.table.c
    rows = [
        {
            **statement_columns(value),
            **({"start_s": start_of(value)} if with_start else {}),
            "ref": ref,
            "car_id": car_id,
            "recording_id": recording_id,
            "touched": author != PROGRAM,
            "created_at": at,
            "created_by": author,
        }
        for ref, value in values.items()
    ]
    for chunk in in_chunks(rows):
        connection.execute(insert(sort.table), list(chunk))
    numbers: dict[str, int] = {}
    for refs in in_chunks(list(values)):
        found = select(sort.table.c.ref, sort.table.c.id).where(sort.table.c.ref.in_(refs))
        numbers.update((row.ref, row.id) for row in connection.execute(found))
    footings = [
        {**footing, sort.owner: numbers[ref]}
        for ref, value in values.items()
        for footing in footing_columns(value["footings"])
    ]
    for chunk in in_chunks(footings):
        connection.execute(insert(tables.footing), list(chunk))


def change(
    connection: Connection,
    sort: Sort[S],
    kept: Kept[S],
    after: Plain,
    *,
    author: str,
    action: str,
    at: str,
    undoes: int | None = None,
) -> bool:
    """Make the statement what `after` says and write down what changed; tell whether anything did.

    Stills are not of a statement's own values; a change of them has the one name ``stills`` on both sides and is
    written by `stills.choose`.
    """
    before = kept.values
    changed = [name for name in after if after[name] != before[name]]
    if not changed:
        return False
    row = kept.row
    version = row["version"] + 1
    write_change(
        connection,
        sort,
        row,
        before={name: before[name] for name in changed},
        after={name: after[name] for name in changed},
        author=author,
        action=action,
        at=at,
        undoes=undoes,
    )
    values = {name: after[name] for name in changed if name != "footings"}
    if "footings" in changed:
        owner = tables.footing.c[sort.owner]
        connection.execute(
            update(tables.footing)
            .where(owner == row["id"], tables.footing.c.until_version.is_(None))
            .values(until_version=version)
        )
        if "start_s" in sort.table.c:
            values["start_s"] = start_of(after)
        rows = [{**footing, sort.owner: row["id"]} for footing in footing_columns(after["footings"])]
        if rows:
            connection.execute(insert(tables.footing), rows)
    if values:
        connection.execute(update(sort.table).where(sort.table.c.id == row["id"]).values(values))
    return True


def write_change(
    connection: Connection,
    sort: Sort[Any],
    row: RowMapping,
    *,
    before: Plain,
    after: Plain,
    author: str,
    action: str,
    at: str,
    undoes: int | None = None,
) -> None:
    """Add one line to the history of a statement and raise its version."""
    version = row["version"] + 1
    connection.execute(
        insert(tables.change).values(
            {
                "car_id": row["car_id"],
                sort.owner: row["id"],
                "version": version,
                "at": at,
                "author": author,
                "action": action,
                "before": before,
                "after": after,
                "undoes": undoes,
            }
        )
    )
    connection.execute(
        update(sort.table)
        .where(sort.table.c.id == row["id"])
        .values(version=version, touched=row["touched"] or author != PROGRAM)
    )


def values_at(kept: Kept[S], version: int) -> Plain:
    """Give what stood at an earlier version, in plain values."""
    values = dict(kept.values)
    for row in reversed(kept.stored):
        if row["version"] > version:
            values.update(row["before"])
    values.pop("stills", None)
    return values


def statement_of(sort: Sort[S], values: Plain) -> S:
    """Give the record that plain values make.

    Raises
    ------
    UserError
        They make none (slug ``not-a-statement``), or name a part or condition that is not in the vocabulary.
    """
    names = sort.kind.__dataclass_fields__
    try:
        statement = msgspec.convert({name: values[name] for name in names}, sort.kind)
    except msgspec.ValidationError as error:
        raise errors.refused(
            slug="not-a-statement",
            where=sort.name,
            found=str(error),
            allowed="each field takes the words that the published schema lists for it",
            advice="Take one of those.",
        ) from error
    check(statement)
    return statement


def check(statement: Finding | Fact) -> None:
    """Refuse what nothing could be done with later.

    Raises
    ------
    UserError
        A part or condition is not in the vocabulary (slugs ``unknown-part``, ``unknown-condition``).
    ValueError
        A number is not one, or a sureness lies outside [0, 1].
    """
    if isinstance(statement, Finding):
        words = vocabulary()
        for slug, word, known in (
            ("unknown-part", statement.part, words.parts),
            ("unknown-condition", statement.condition, words.conditions),
        ):
            if word not in known:
                raise errors.refused(
                    slug=slug,
                    where="finding",
                    found=f"{word!r} is not in the vocabulary",
                    allowed=f"one of the {len(known)} ids of the vocabulary",
                    advice="Choose the nearest of them; the words themselves are kept as the quote.",
                )
    sureness = statement.sureness
    if sureness is not None and not 0 <= sureness <= 1:
        raise ValueError(f"sureness {sureness} lies outside [0, 1]")
    for footing in statement.footings:
        for seconds in (footing.start_s, footing.end_s):
            if seconds is not None and not abs(seconds) < float("inf"):
                raise ValueError(f"{seconds} is no time in seconds")


def _history(row: RowMapping, standing: Plain, stored: Sequence[RowMapping]) -> tuple[Change, ...]:
    """Give how a statement came in, worked out from what stands now, and then each change of it."""
    first = dict(standing)
    for change_row in reversed(stored):
        first.update(change_row["before"])
    first.pop("stills", None)
    came_in = "drawn" if row["created_by"] == PROGRAM else "entered"
    return (
        Change(row["created_at"], row["created_by"], came_in, {}, first),
        *(Change(c["at"], c["author"], c["action"], c["before"], c["after"]) for c in stored),
    )
