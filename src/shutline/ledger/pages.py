"""What stands in the ledger of some cars of stock: entries are added and reversed, none is altered, each is checked.

A whole ledger is read to show all of it. A quarter, or one more entry, needs the pages of a few cars: what stands on
them is worked out here, for a few as for all.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field, fields
from datetime import date
from typing import NamedTuple

from shutline.car.errors import BadInputError, Problem
from shutline.ledger.checking import Checks, unknown_stock
from shutline.ledger.entries import BOUGHT, SOLD, Answer, Draft, Entry, Kind
from shutline.ledger.rules import Said

_DRAFT = tuple(one.name for one in fields(Draft))


class Move(NamedTuple):
    """An entry that counts from a day on, or (`sign` -1) one that counts no longer from that day on."""

    day: date
    sign: int
    entry: Entry


@dataclass(slots=True)
class StockCar:
    """What stands in the ledger of one car of stock; `sale` is the one that stands, None while it is unsold.

    `bought` is None where the purchase was reversed: the number stays, and no other car gets it. `first` is it all the
    same. `returns` are those of sales and of deposits.
    """

    stock: int
    first: Entry
    bought: Entry | None
    sale: Entry | None = None
    costs: dict[int, Entry] = field(default_factory=dict)
    deposits: dict[int, Entry] = field(default_factory=dict)
    returns: dict[int, Entry] = field(default_factory=dict)
    answers: dict[str, Answer] = field(default_factory=dict)

    def said(self, question: str) -> Said:
        """Give the last answer to a question."""
        found = self.answers.get(question)
        return Said.NOT_KNOWN if found is None else found.said


class Whole(NamedTuple):
    """The whole ledger that pages are out of: how many entries, the last number, how many cars, and the currency."""

    entries: int
    last: int
    cars: int
    currency: str


class Pages:
    """All entries of some cars of stock in the order they were entered, and what stands of each car.

    Asking for an entry or a car that is in the ledger and not on the pages is a mistake of the caller, and a KeyError.

    Parameters
    ----------
    entries : iterable of Entry
        As they were kept, by their numbers: all of each car that any of them is about. They are taken as they are:
        each was checked when it was entered.
    answers : iterable of Answer
        About these cars, in the order they were given.
    currency : str
        Of every amount.
    whole : Whole
        What they are out of.

    Raises
    ------
    BadInputError
        The numbers of the ledger have a gap (slug ``ledger-gap``), or it was begun in another currency (slug
        ``ledger-country``).
    """

    def __init__(
        self,
        entries: Iterable[Entry] = (),
        answers: Iterable[Answer] = (),
        *,
        currency: str = "GBP",
        whole: Whole,
    ) -> None:
        self.currency = currency
        self.moves: list[Move] = []
        self.answers: list[Answer] = []
        self.last_entry, self.last_stock = whole.last, whole.cars
        self._cars: dict[int, StockCar] = {}
        self._entries: dict[int, Entry] = {}
        self._reversed: dict[int, Entry] = {}
        self._settled: dict[int, int] = {}
        self._set_off: dict[int, list[int]] = {}
        self._papers: dict[str, Entry] = {}
        if whole.entries != whole.last:
            raise gap(f"entry {whole.last}", f"{whole.entries - 1} entries before it")
        if whole.last and whole.currency != currency:
            raise self._foreign(1, whole.currency)
        for entry in entries:
            self._keep(entry)
        for answer in answers:
            self.answer(answer)

    @property
    def entries(self) -> tuple[Entry, ...]:
        """All entries that are here, those that were reversed too."""
        return tuple(self._entries.values())

    @property
    def cars(self) -> tuple[StockCar, ...]:
        """All cars that are here, those whose purchase was reversed too, by their numbers."""
        return tuple(self._cars.values())

    def entry(self, number: int) -> Entry | None:
        """Give an entry by its number; None where there is none."""
        return self._entries[number] if 0 < number <= self.last_entry else None

    def car(self, stock: int) -> StockCar | None:
        """Give a car by its stock number; None where there is none."""
        return self._cars[stock] if 0 < stock <= self.last_stock else None

    def car_of(self, entry: Entry) -> StockCar:
        """Give the car that an entry is about."""
        return self._cars[entry.stock]

    def reversed_by(self, number: int) -> Entry | None:
        """Give the reversal of an entry; None while it stands."""
        return self._reversed.get(number)

    def stands(self, number: int) -> bool:
        """Tell whether an entry counts: it was not reversed, and no car or deposit of it came back."""
        entry = self.entry(number)
        if entry is None or entry.kind is Kind.REVERSAL or number in self._reversed:
            return False
        car = self._cars[entry.stock]
        return all(one.against != number for one in car.returns.values())

    def settled_by(self, deposit: int) -> Entry | None:
        """Give the sale that a deposit went into; None while it is open."""
        return self.entry(self._settled.get(deposit, 0))

    def settled_in(self, sale: int) -> Iterator[Entry]:
        """Give the deposits that went into a sale."""
        car = self._cars[self._entries[sale].stock]
        return (one for number, one in car.deposits.items() if self._settled.get(number) == sale)

    def open_deposits(self, car: StockCar) -> tuple[Entry, ...]:
        """Give the deposits of a car that were neither given back nor went into a sale."""
        return tuple(one for number, one in car.deposits.items() if number not in self._settled and self.stands(number))

    def against(self, number: int) -> Iterator[Entry]:
        """Give the part exchanges, standing, that are set off against an entry."""
        return (self._entries[one] for one in self._set_off.get(number, ()) if self.stands(one))

    def sale_of_paper(self, paper: str) -> Entry | None:
        """Give the sale, standing or not, that has an invoice number; None where none has."""
        return self._papers.get(paper)

    def returned_in(self, start: date, end: date) -> Iterator[Entry]:
        """Give the returns, standing, of the days from one to another."""
        return (
            one for car in self._cars.values() if car.returns for one in car.returns.values() if start <= one.day <= end
        )

    def problems_of(self, draft: Draft, *, today: date) -> tuple[Problem, ...]:
        """Say what keeps a draft from being entered on a day; nothing where it may be."""
        return Checks(self, draft, today).problems()

    def enter(self, draft: Draft, *, author: str, at: str) -> Entry:
        """Enter a draft.

        Parameters
        ----------
        draft : Draft
            What is entered.
        author : str
            Who enters it.
        at : str
            When (ISO 8601, UTC); no entry is of a later day.

        Raises
        ------
        BadInputError
            Something keeps it from being entered (`problems_of`); the book is as it was.
        """
        found = self.problems_of(draft, today=date.fromisoformat(at[:10]))
        if not author.strip():
            raise BadInputError(
                Problem(
                    slug="ledger-entry",
                    where=f"{draft.kind} of {draft.day.isoformat()}",
                    found="nobody is named who enters it",
                    allowed="every entry has an author",
                    advice="Say who you are.",
                )
            )
        if found:
            raise BadInputError(found[0])
        values = {name: getattr(draft, name) for name in _DRAFT}
        if draft.kind in BOUGHT:
            values["stock"] = self.last_stock + 1
        entry = Entry(**values, number=self.last_entry + 1, author=author, at=at)
        self._take(entry)
        self.last_entry = entry.number
        return entry

    def answer(self, answer: Answer) -> None:
        """Keep an answer; raises BadInputError where there is no such car (slug ``ledger-stock-unknown``)."""
        car = self.car(answer.stock)
        if car is None:
            raise BadInputError(unknown_stock(answer.stock, self.last_stock))
        self.answers.append(answer)
        car.answers[answer.question] = answer

    # What an entry does ----------------------------------------------------------------------------------------------

    def _keep(self, entry: Entry) -> None:
        if entry.amount.currency != self.currency:
            raise self._foreign(entry.number, entry.amount.currency)
        self._take(entry)

    def _take(self, entry: Entry) -> None:
        self._entries[entry.number] = entry
        if entry.kind is Kind.REVERSAL:
            named = self._entries[entry.against]
            self._reversed[named.number] = entry
            self._undo(named, entry)
            return
        if entry.kind in BOUGHT:
            self._cars[entry.stock] = StockCar(entry.stock, entry, entry)
            self.last_stock = max(self.last_stock, entry.stock)
        if entry.kind in (Kind.PART_IN, Kind.PART_OUT):
            self._set_off.setdefault(entry.against, []).append(entry.number)
        if entry.kind in SOLD:
            self._papers[entry.paper] = entry
        self._do(entry, entry.day)

    def _do(self, entry: Entry, day: date) -> None:
        """Let an entry count from a day on."""
        car = self._cars[entry.stock]
        kind = entry.kind
        if kind in SOLD:
            for deposit in self.open_deposits(car):
                self._settled[deposit.number] = entry.number
            car.sale = entry
        elif kind is Kind.COST:
            car.costs[entry.number] = entry
        elif kind is Kind.DEPOSIT:
            car.deposits[entry.number] = entry
        elif kind is Kind.RETURN:
            car.returns[entry.number] = entry
            named = self._entries[entry.against]
            if named.kind in SOLD:
                car.sale = None
                self.moves.append(Move(day, -1, named))
            return
        self.moves.append(Move(day, 1, entry))

    def _undo(self, entry: Entry, by: Entry) -> None:
        """Let an entry count no longer, from the day of its reversal on."""
        car = self._cars[entry.stock]
        kind = entry.kind
        if kind is Kind.RETURN:
            del car.returns[entry.number]
            named = self._entries[entry.against]
            if named.kind in SOLD:
                car.sale = named
                self.moves.append(Move(by.day, 1, named))
            return
        if kind in BOUGHT:
            car.bought = None
        elif kind in SOLD:
            car.sale = None
            for deposit in car.deposits:
                if self._settled.get(deposit) == entry.number:
                    del self._settled[deposit]
        elif kind is Kind.COST:
            del car.costs[entry.number]
        else:
            del car.deposits[entry.number]
        self.moves.append(Move(by.day, -1, entry))

    def _foreign(self, number: int, found: str) -> BadInputError:
        return BadInputError(
            Problem(
                slug="ledger-country",
                where=f"ledger, entry {number}",
                found=f"it is in {found}, and the rules chosen are for {self.currency}",
                allowed="one currency for the whole ledger",
                advice="Choose the country in which it was begun, or begin another in a store of its own.",
            )
        )


def gap(what: str, found: str) -> BadInputError:
    """Say that numbers of the ledger have a gap."""
    return BadInputError(
        Problem(
            slug="ledger-gap",
            where=f"ledger, {what}",
            found=found,
            allowed="numbers from 1 without gaps",
            advice="Bring back a copy of the store from before; nothing was changed.",
        )
    )
