"""The ledger in the store: rows are added in their order, and none is changed or taken away.

What an entry means is not known here: whoever enters one looks at what is there of the cars that it is about and gives
its row, while nobody else can write.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from sqlalchemy import CompoundSelect, Connection, RowMapping, func, insert, select, text, union

from shutline.store import tables
from shutline.store.base import Base, under
from shutline.store.decisions import check_person
from shutline.store.rows import Plain

_COLUMNS = (
    *("number", "kind", "day", "stock", "currency", "amount", "vat", "party", "address", "vat_number", "paper"),
    *("self_billed", "what", "against", "outside", "rate", "created_at", "created_by"),
)


@dataclass(frozen=True, slots=True)
class Wanted:
    """Which cars of stock are wanted: each that one of these names.

    `days` are the first and the last of those on which anything was entered about it; `stock` is its number; `entry` is
    one about it; `paper` is on one about it. With the cars of `stock` and `entry` come those given or taken for them,
    and those that they were given or taken for.
    `stocks` are the first and the last number of several in a row.
    """

    days: tuple[str, str] | None = None
    stocks: tuple[int, int] | None = None
    stock: int = 0
    entry: int = 0
    paper: str = ""


@dataclass(frozen=True, slots=True)
class KeptLedger:
    """Rows of the ledger in the order they were entered, by the names of their columns: all of it, or of some cars.

    Of an entry `car` is the name that its car is shown under now, empty where it has none. Of all of it, however many
    are here, `count` is the number of entries, `last_entry` and `last_stock` are the highest numbers, and `currency` is
    that of the first entry, empty where there is none.
    """

    entries: tuple[RowMapping, ...]
    answers: tuple[RowMapping, ...]
    count: int
    last_entry: int
    last_stock: int
    currency: str


class Ledgers(Base):
    """The part of the store that keeps the ledger."""

    def ledger(self) -> KeptLedger:
        """Give all of it, as it stood at one moment."""
        with self._db.read() as connection:
            return _kept(connection)

    def ledger_pages(self, wanted: Wanted) -> KeptLedger:
        """Give all that was entered about some cars of stock, as it stood at one moment."""
        with self._db.read() as connection:
            return _kept(connection, wanted)

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

    def add_ledger_entry(self, make: Callable[[KeptLedger, str], Plain], *, about: Wanted, author: str) -> Plain:
        """Add an entry.

        Parameters
        ----------
        make : callable
            Is given what is there of some cars and the time, and gives the values of the row, with `car` as the whole
            name of a car or empty; what it raises leaves the ledger as it was. Nobody else writes meanwhile.
        about : Wanted
            Which cars that is.
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
            values = make(_kept(connection, about), at)
            row = {name: values[name] for name in _COLUMNS if name in values}
            car = self._car(connection, values["car"])["id"] if values["car"] else None
            connection.execute(insert(tables.ledger_entry).values(**row, car_id=car, created_at=at, created_by=author))
            return values

    def add_ledger_answer(self, make: Callable[[KeptLedger, str], Plain], *, about: Wanted, author: str) -> Plain:
        """Add an answer about a car of stock; as `add_ledger_entry`."""
        check_person(author)
        with self._db.write() as connection:
            _lock(connection)
            at = self._db.now()
            values = make(_kept(connection, about), at)
            connection.execute(insert(tables.ledger_answer).values(**values, created_at=at, created_by=author))
            return values


def _lock(connection: Connection) -> None:
    """Keep others from writing to the ledger until the end; SQLite has one writer as it is."""
    if connection.dialect.name == "postgresql":
        connection.execute(text("LOCK TABLE ledger_entry, ledger_answer IN EXCLUSIVE MODE"))


def _kept(connection: Connection, wanted: Wanted | None = None) -> KeptLedger:
    entry, car, answer = tables.ledger_entry.c, tables.car.c, tables.ledger_answer.c
    shown = func.coalesce(car.joined_to, car.name, "").label("car")
    entries = select(*(entry[name] for name in _COLUMNS), shown).outerjoin(tables.car, car.id == entry.car_id)
    answers = select(tables.ledger_answer)
    if wanted is not None:
        stocks = _stocks(wanted)
        entries, answers = entries.where(entry.stock.in_(stocks)), answers.where(answer.stock.in_(stocks))
    whole = (
        select(func.count()).select_from(tables.ledger_entry).scalar_subquery(),
        select(func.coalesce(func.max(entry.number), 0)).scalar_subquery(),
        select(func.coalesce(func.max(entry.stock), 0)).scalar_subquery(),
        func.coalesce(select(entry.currency).where(entry.number == 1).scalar_subquery(), ""),
    )
    count, last_entry, last_stock, currency = connection.execute(select(*whole)).one()
    return KeptLedger(
        entries=tuple(connection.execute(entries.order_by(entry.number)).mappings().all()),
        answers=tuple(connection.execute(answers.order_by(answer.id)).mappings().all()),
        count=count,
        last_entry=last_entry,
        last_stock=last_stock,
        currency=currency,
    )


def _stocks(wanted: Wanted) -> CompoundSelect[tuple[int]]:
    """Give the stock numbers of the cars that are wanted."""
    entry = tables.ledger_entry.c
    stocks = [select(entry.stock).where(entry.stock == wanted.stock)]
    if wanted.entry:
        stocks.append(select(entry.stock).where(entry.number == wanted.entry))
    # Of two cars, one given for the other, the later entry names the earlier one; either may be the one wanted.
    cars = union(*stocks)
    own, named = (select(one).where(entry.stock.in_(cars)) for one in (entry.number, entry.against))
    stocks.append(select(entry.stock).where(entry.against.in_(own)))
    stocks.append(select(entry.stock).where(entry.number.in_(named)))
    if wanted.days is not None:
        stocks.append(select(entry.stock).where(entry.day.between(*wanted.days)))
    if wanted.stocks is not None:
        stocks.append(select(entry.stock).where(entry.stock.between(*wanted.stocks)))
    if wanted.paper:
        stocks.append(select(entry.stock).where(entry.paper == wanted.paper))
    return union(*stocks)
