"""The rules by which statements are kept: what the program may change, and what people's decisions do."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any, Literal

from sqlalchemy import Connection, RowMapping, func, select

from shutline.car.carfile import KeptFact, KeptFinding
from shutline.car.findings import Finding, FootingKind, Found, State
from shutline.car.vocabulary import vocabulary
from shutline.store import errors, tables
from shutline.store.base import PROGRAM
from shutline.store.rows import Plain, digest, plain
from shutline.store.statements import (
    Kept,
    S,
    Sort,
    change,
    check,
    enter,
    has,
    load,
    load_one,
    statement_of,
    values_at,
    write_change,
)
from shutline.store.stills import set_stills

Action = Literal["confirm", "strike", "amend", "restore"]
"""What a person may do: say that it stands, reject it, change it (it stands then), take back a rejection."""

_UNDONE = "undone"

TOLD_ONCE = "told once"
"""What was done to a statement that is left out because a car it was joined with has the same from the same film."""

_WORDS = {
    "confirm": "confirmed",
    "strike": "struck",
    "amend": "amended",
    "restore": "restored",
    "otherwise": "drawn otherwise",
    "again": "drawn again",
    "withdrawn": "withdrawn",
    "same": "",
}


@dataclass(frozen=True, slots=True)
class Drawn:
    """What came of keeping what a recording gave.

    `ids` are those of the statements handed over, in their order. The others count: new ones, those as they were, those
    that came out otherwise, those that a person had decided and that were left as they are, those drawn again after
    they had been withdrawn, and those of an earlier time that are withdrawn now.
    """

    ids: tuple[str, ...]
    new: int = 0
    same: int = 0
    otherwise: int = 0
    left: int = 0
    again: int = 0
    withdrawn: int = 0


def put(connection: Connection, sort: Sort[S], row: RowMapping, statements: Sequence[S], *, at: str) -> Drawn:
    """Keep all that the program drew from the recording of `row`."""
    recording = row["ref"]
    sourced = [_sourced(statement, recording) for statement in statements]
    ids = tuple(digest(sort.name, row["car"], recording, statement.key()) for statement in sourced)
    wanted: dict[str, S] = {}
    for ref, statement in zip(ids, sourced, strict=True):
        wanted.setdefault(ref, statement)
    present = {kept.row["ref"]: kept for kept in load(connection, sort, sort.table.c.recording_id == row["id"])}
    new = [(ref, statement) for ref, statement in wanted.items() if ref not in present]
    enter(connection, sort, new, car_id=row["car_id"], recording_id=row["id"], author=PROGRAM, at=at)
    count = {"same": 0, "otherwise": 0, "left": 0, "again": 0, "withdrawn": 0}
    for ref, kept in present.items():
        if kept.row["touched"] or told_once(kept):
            count["left"] += 1
            continue
        drawn = {**plain(wanted[ref]), "withdrawn": False} if ref in wanted else {**kept.values, "withdrawn": True}
        outcome = _outcome(kept, drawn)
        change(connection, sort, kept, drawn, author=PROGRAM, action=_WORDS[outcome], at=at)
        count[outcome] += 1
    return Drawn(ids, new=len(new), **count)


def told_once(kept: Kept[Any]) -> bool:
    """Tell whether a statement is left out because a car it was joined with has the same."""
    last = next((row for row in reversed(kept.stored) if "withdrawn" in row["after"]), None)
    return last is not None and last["action"] == TOLD_ONCE


def add(
    connection: Connection,
    sort: Sort[S],
    car: RowMapping,
    statement: S,
    *,
    author: str,
    token: str | None,
    at: str,
    names: Sequence[str] = (),
) -> Kept[S]:
    """Keep what a person entered; `names` are those under which the token may have come before."""
    check_person(author)
    check(statement)
    entered = replace(statement, state=State.STANDS, sureness=None)
    _check_good(entered)
    if token is None:
        here = (sort.table.c.car_id == car["id"], sort.table.c.recording_id.is_(None))
        number = connection.execute(select(func.count()).select_from(sort.table).where(*here)).scalar_one()
        ref = digest(sort.name, car["name"], "entered", str(number))
    else:
        refs = [digest(sort.name, name, "token", token) for name in (car["name"], *names)]
        ref = next((one for one in refs if has(connection, sort, one)), refs[0])
    if not has(connection, sort, ref):
        enter(connection, sort, [(ref, entered)], car_id=car["id"], recording_id=None, author=author, at=at)
    return load_one(connection, sort, ref)


def decide(
    connection: Connection,
    sort: Sort[S],
    kept: Kept[S],
    *,
    action: Action,
    author: str,
    fields: Mapping[str, object],
    at: str,
) -> Kept[S]:
    """Do what a person decided."""
    check_person(author)
    before = kept.values
    after = {**before, **plain(dict(fields))}
    match action:
        case "confirm":
            after |= {"state": State.STANDS.value, "withdrawn": False}
        case "strike":
            after |= {"state": State.STRUCK.value}
        case "amend":
            if after != before:
                # The reader's own probability was for what it had drawn.
                after["sureness"] = None
            after |= {"state": State.STANDS.value, "withdrawn": False}
        case "restore":
            after |= {"state": _state_before_strike(sort, kept), "withdrawn": False}
        case _:
            raise ValueError(f"{action!r} is none of confirm, strike, amend, restore")
    if fields:
        if action != "amend":
            raise ValueError(f"{action} takes no fields, and {', '.join(fields)} were given")
        _check_good(statement_of(sort, after))
    change(connection, sort, kept, after, author=author, action=_WORDS[action], at=at)
    return load_one(connection, sort, kept.row["ref"])


def undo(connection: Connection, sort: Sort[S], kept: Kept[S], *, author: str, at: str) -> Kept[S]:
    """Take back the last change of a person that is not taken back yet."""
    check_person(author)
    last = _last_of_people(kept)
    if last is not None and "stills" in last["before"]:
        set_stills(connection, kept.row["id"], last["before"]["stills"], author=author, at=at)
        before, after = last["after"], last["before"]
        write_change(
            connection,
            sort,
            kept.row,
            before=before,
            after=after,
            author=author,
            action=_UNDONE,
            at=at,
            undoes=last["id"],
        )
    elif last is not None:
        change(
            connection,
            sort,
            kept,
            {**kept.values, **last["before"]},
            author=author,
            action=_UNDONE,
            at=at,
            undoes=last["id"],
        )
    elif kept.row["created_by"] != PROGRAM and kept.statement.state is not State.STRUCK:
        change(
            connection, sort, kept, {**kept.values, "state": State.STRUCK.value}, author=author, action=_UNDONE, at=at
        )
    else:
        raise errors.refused(
            slug="nothing-to-undo",
            where=f"{sort.name} {kept.row['ref']!r}",
            found="no decision of a person is left to take back",
            allowed="what the program drew is struck or amended, not undone",
            advice="Strike it if it ought not to be there.",
        )
    return load_one(connection, sort, kept.row["ref"])


def last_decisions(connection: Connection, sort: Sort[Any], cars: Sequence[int], author: str) -> dict[str, str]:
    """Give the statements of some cars of which the last decision not taken back is a person's, and when it was."""
    mine = select(tables.change.c[sort.owner]).where(tables.change.c.author == author)
    table = sort.table.c
    here = (table.car_id.in_(cars), table.withdrawn.is_(False))
    found: dict[str, str] = {}
    for kept in load(connection, sort, *here, table.id.in_(mine) | (table.created_by == author)):
        last = _last_of_people(kept)
        if last is not None and last["author"] == author:
            found[kept.row["ref"]] = last["at"]
        elif last is None and kept.row["created_by"] == author and kept.statement.state is not State.STRUCK:
            found[kept.row["ref"]] = kept.row["created_at"]
    return found


def _last_of_people(kept: Kept[Any]) -> RowMapping | None:
    """Give the last change of a person that is not taken back yet."""
    undone = {row["undoes"] for row in kept.stored}
    people = (row for row in reversed(kept.stored) if row["author"] != PROGRAM and row["action"] != _UNDONE)
    return next((row for row in people if row["id"] not in undone), None)


def expect(
    sort: Sort[S],
    kept: Kept[S],
    version: int,
    *,
    wanted: Mapping[str, object],
    record: Callable[[Kept[S]], KeptFinding | KeptFact],
) -> None:
    """Refuse a change that was made to another version than the one kept; the error carries both."""
    if kept.row["version"] != version:
        raise errors.StaleError(
            where=f"{sort.name} {kept.row['ref']!r}",
            expected_version=version,
            present=record(kept),
            wanted=statement_of(sort, {**values_at(kept, version), **plain(dict(wanted))}),
        )


def check_person(author: str) -> None:
    """Refuse a decision without a person's name (slug ``no-author``)."""
    if not author.strip() or author == PROGRAM:
        raise errors.refused(
            slug="no-author",
            where="author",
            found=f"{author!r}",
            allowed="a decision carries the name of the person who made it; 'program' is not one",
            advice="Give your name.",
        )


def _check_good(statement: object) -> None:
    if not isinstance(statement, Finding) or statement.found is Found.YES:
        return
    if not vocabulary().is_defect(statement.condition):
        raise errors.refused(
            slug="good-not-found",
            where="finding",
            found=f"a good condition ({statement.condition}) with found {statement.found.value}",
            allowed="a good condition is always found yes",
            advice="Name the defect that is there, or that may be there, instead.",
        )


def _sourced(statement: S, recording: str) -> S:
    footings = tuple(
        replace(f, source=recording) if f.kind is FootingKind.SAID and not f.source else f for f in statement.footings
    )
    return replace(statement, footings=footings)


def _outcome(kept: Kept[Any], drawn: Plain) -> str:
    if drawn["withdrawn"]:
        return "withdrawn"
    if kept.row["withdrawn"]:
        return "again"
    return "same" if drawn == kept.values else "otherwise"


def _state_before_strike(sort: Sort[Any], kept: Kept[Any]) -> str:
    if kept.statement.state is not State.STRUCK:
        raise errors.refused(
            slug="nothing-to-restore",
            where=f"{sort.name} {kept.row['ref']!r}",
            found=f"it is {kept.statement.state.value}, not struck",
            allowed="what was struck can be restored",
            advice="Confirm or amend it instead.",
        )
    struck = (row["before"]["state"] for row in reversed(kept.stored) if row["after"].get("state") == "struck")
    return str(next(struck, State.HEARD.value))
