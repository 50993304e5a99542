"""The ledger in the store: rows are added in their order, and none is changed or taken away.

What an entry means is not known here: whoever enters one looks at all that is there and gives its row, while nobody
else can write.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from sqlalchemy import Connection, RowMapping, func, insert, select, text

from shutline.store import tables
from shutline.store.base import Base, under
from shutline.store.decisions import check_person
from shutline.store.rows import Plain

_COLUMNS = (
    *("number", "kind", "day", "stock", "currency", "amount", "vat", "party", "address", "vat_number", "paper"),
    *("self_billed", "what", "against", "outside", "rate", "created_at", "created_by"),
)


@dataclass(frozen=True, slots=True)
class KeptLedger:
    """All rows of the ledger in the order they were entered, by the names of their columns.

    Of an entry `car` is the name that its car is shown under now, empty where it has none.
    """

    entries: tuple[RowMapping, ...]
    answers: tuple[RowMapping, ...]


class Ledgers(Base):
    """The part of the store that keeps the ledger."""

    def ledger(self) -> KeptLedger:
        """Give all of it, as it stood at one moment."""
        with self._db.read() as connection:
            return _kept(connection)

    def ledger_of(self, car: str) -> tuple[RowMapping, ...]:
        """Give the entries of the stock numbers under which a car, or one joined with it, was bought.

        Raises
        ------
        NotFoundError
            The store holds no such car (slug ``car-unknown``).
        """
        entry = tables.ledger_entry
        with self._db.read() as connection:
            cars = under(connection, self._car(connection, car)["id"])
            bought = select(entry.c.stock).where(entry.c.car_id.in_(list(cars)))
            query = select(*(entry.c[name] for name in _COLUMNS)).where(entry.c.stock.in_(bought))
            return tuple(connection.execute(query.order_by(entry.c.number)).mappings())

    def add_ledger_entry(self, make: Callable[[KeptLedger, str], Plain], *, author: str) -> Plain:
        """Add an entry.

        Parameters
        ----------
        make : callable
            Is given what is there and the time, and gives the values of the row, with `car` as the whole name of a car
            or empty; what it raises leaves the ledger as it was. Nobody else writes meanwhile.
        author : str
            Who enters it.

        Returns
        -------
        dict
            The values.

        Raises
        ------
        NotFoundError
            The store holds no car of that name (slug ``car-unknown``).
        """
        check_person(author)
        with self._db.write() as connection:
            _lock(connection)
            at = self._db.now()
            values = make(_kept(connection), at)
            row = {name: values[name] for name in _COLUMNS if name in values}
            car = self._car(connection, values["car"])["id"] if values["car"] else None
            connection.execute(insert(tables.ledger_entry).values(**row, car_id=car, created_at=at, created_by=author))
            return values

    def add_ledger_answer(self, make: Callable[[KeptLedger, str], Plain], *, author: str) -> Plain:
        """Add an answer about a car of stock; as `add_ledger_entry`."""
        check_person(author)
        with self._db.write() as connection:
            _lock(connection)
            at = self._db.now()
            values = make(_kept(connection), at)
            connection.execute(insert(tables.ledger_answer).values(**values, created_at=at, created_by=author))
            return values


def _lock(connection: Connection) -> None:
    """Keep others from writing to the ledger until the end; SQLite has one writer as it is."""
    if connection.dialect.name == "postgresql":
        connection.execute(text("LOCK TABLE ledger_entry, ledger_answer IN EXCLUSIVE MODE"))


def _kept(connection: Connection) -> KeptLedger:
    entry, car, answer = tables.ledger_entry, tables.car.c, tables.ledger_answer
    shown = func.coalesce(car.joined_to, car.name, "").label("car")
    columns = [entry.c[name] for name in _COLUMNS]
    query = select(*columns, shown).outerjoin(tables.car, car.id == entry.c.car_id).order_by(entry.c.number)
    return KeptLedger(
        tuple(connection.execute(query).mappings()),
        tuple(connection.execute(select(answer).order_by(answer.c.id)).mappings()),
    )
