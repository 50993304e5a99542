"""A little of many cars at once: some of their facts, and what people said of their price."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

from sqlalchemy import Connection, RowMapping, func, select

from shutline.car.findings import Fact, State
from shutline.car.prep_decisions import PrepKind
from shutline.store import tables
from shutline.store.database import in_chunks
from shutline.store.statements import FACT, load


@dataclass(frozen=True, slots=True)
class CarTold:
    """Of one car and those joined with it: its title, facts that were not struck, and what people said of its price.

    `said` are the attributes that people keep for it, `asking_pence` what they decided to ask.
    """

    title: str
    facts: tuple[Fact, ...] = ()
    said: Mapping[str, str] | None = None
    asking_pence: int | None = None


def cars_told(connection: Connection, names: Iterable[str], facts: Sequence[str]) -> dict[str, CarTold]:
    """Give that of cars by their whole names, of one that was joined with another that of both.

    One that there is not is left out.
    """
    car = tables.car.c
    under = func.coalesce(car.joined_to, car.name)
    asked: dict[str, str] = {}
    rows: list[RowMapping] = []
    for some in in_chunks(sorted(set(names))):
        asked.update(
            (row.name, row.shown)
            for row in connection.execute(select(car.name, under.label("shown")).where(car.name.in_(some)))
        )
    for some in in_chunks(sorted(set(asked.values()))):
        query = select(car.id, car.title, car.joined_to, under.label("shown")).where(under.in_(some))
        rows += connection.execute(query).mappings().all()
    # The car itself before those that are joined with it: what was said of it counts.
    rows.sort(key=lambda row: (row["joined_to"] is not None, row["id"]))
    shown = {row["id"]: row["shown"] for row in rows}
    place = {number: at for at, number in enumerate(shown)}
    found: dict[str, list[Fact]] = defaultdict(list)
    said: dict[str, Mapping[str, str]] = {}
    asking: dict[str, int] = {}
    fact, price, decided = tables.fact.c, tables.price_said.c, tables.prep_decision.c
    for some in in_chunks(list(shown)):
        here = (fact.car_id.in_(some), fact.name.in_(facts), fact.withdrawn.is_(False))
        for kept in load(connection, FACT, *here, fact.state != State.STRUCK.value):
            found[shown[kept.row["car_id"]]].append(kept.statement)
        wanted = (decided.kind == PrepKind.ASKING.value, decided.holds, decided.car_id.in_(some))
        for into, column, query in (
            (said, "attributes", select(tables.price_said).where(price.car_id.in_(some))),
            (asking, "pence", select(tables.prep_decision).where(*wanted)),
        ):
            for row in sorted(connection.execute(query).mappings(), key=lambda row: place[row["car_id"]]):
                into.setdefault(shown[row["car_id"]], row[column])
    made = {
        row["shown"]: CarTold(
            row["title"],
            tuple(found.get(row["shown"], ())),
            said.get(row["shown"]),
            asking.get(row["shown"]),
        )
        for row in rows
        if row["joined_to"] is None
    }
    return {name: made[head] for name, head in asked.items()}
