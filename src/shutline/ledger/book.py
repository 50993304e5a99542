"""The ledger as a book: entries are added and reversed, none is altered, and each is checked against what stands."""

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


class Book:
    """All entries of a firm in the order they were entered, and what stands of each car.

    Parameters
    ----------
    entries : iterable of Entry
        As they were kept, numbers from 1 without gaps. They are taken as they are: each was checked when it was
        entered.
    answers : iterable of Answer
        In the order they were given.
    currency : str
        Of every amount.

    Raises
    ------
    BadInputError
        The numbers of the entries have a gap (slug ``ledger-gap``), or one is in another currency (slug
        ``ledger-country``).
    """

    def __init__(self, entries: Iterable[Entry] = (), answers: Iterable[Answer] = (), *, currency: str = "GBP") -> None:
        self.currency = currency
        self.cars: list[StockCar] = []
        self.moves: list[Move] = []
        self.answers: list[Answer] = []
        self._entries: list[Entry] = []
        self._reversed: dict[int, Entry] = {}
        self._settled: dict[int, int] = {}
        self._set_off: dict[int, list[int]] = {}
        self._papers: dict[str, Entry] = {}
        for entry in entries:
            if entry.number != len(self._entries) + 1:
                raise BadInputError(
                    Problem(
                        slug="ledger-gap",
                        where=f"ledger, entry {entry.number}",
                        found=f"{len(self._entries)} entries before it",
                        allowed="numbers from 1 without gaps",
                        advice="Bring back a copy of the store from before; nothing was changed.",
                    )
                )
            if entry.amount.currency != currency:
                raise BadInputError(
                    Problem(
                        slug="ledger-country",
                        where=f"ledger, entry {entry.number}",
                        found=f"it is in {entry.amount.currency}, and the rules chosen are for {currency}",
                        allowed="one currency for the whole ledger",
                        advice="Choose the country in which it was begun, or begin another in a store of its own.",
                    )
                )
            self._take(entry)
        for answer in answers:
            self.answer(answer)

    @property
    def entries(self) -> tuple[Entry, ...]:
        """All entries, those that were reversed too."""
        return tuple(self._entries)

    def entry(self, number: int) -> Entry | None:
        """Give an entry by its number; None where there is none."""
        return self._entries[number - 1] if 0 < number <= len(self._entries) else None

    def car(self, stock: int) -> StockCar | None:
        """Give a car by its stock number; None where there is none."""
        return self.cars[stock - 1] if 0 < stock <= len(self.cars) else None

    def reversed_by(self, number: int) -> Entry | None:
        """Give the reversal of an entry; None while it stands."""
        return self._reversed.get(number)

    def stands(self, number: int) -> bool:
        """Tell whether an entry counts: it was not reversed, and no car or deposit of it came back."""
        entry = self.entry(number)
        if entry is None or entry.kind is Kind.REVERSAL or number in self._reversed:
            return False
        car = self.cars[entry.stock - 1]
        return all(one.against != number for one in car.returns.values())

    def settled_by(self, deposit: int) -> Entry | None:
        """Give the sale that a deposit went into; None while it is open."""
        return self.entry(self._settled.get(deposit, 0))

    def settled_in(self, sale: int) -> Iterator[Entry]:
        """Give the deposits that went into a sale."""
        car = self.cars[self._entries[sale - 1].stock - 1]
        return (one for number, one in car.deposits.items() if self._settled.get(number) == sale)

    def open_deposits(self, car: StockCar) -> tuple[Entry, ...]:
        """Give the deposits of a car that were neither given back nor went into a sale."""
        return tuple(one for number, one in car.deposits.items() if number not in self._settled and self.stands(number))

    def against(self, number: int) -> Iterator[Entry]:
        """Give the part exchanges, standing, that are set off against an entry."""
        return (self._entries[one - 1] for one in self._set_off.get(number, ()) if self.stands(one))

    def sale_of_paper(self, paper: str) -> Entry | None:
        """Give the sale, standing or not, that has an invoice number; None where none has."""
        return self._papers.get(paper)

    def returned_in(self, start: date, end: date) -> Iterator[Entry]:
        """Give the returns, standing, of the days from one to another."""
        return (one for car in self.cars if car.returns for one in car.returns.values() if start <= one.day <= end)

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
            values["stock"] = len(self.cars) + 1
        entry = Entry(**values, number=len(self._entries) + 1, author=author, at=at)
        self._take(entry)
        return entry

    def answer(self, answer: Answer) -> None:
        """Keep an answer; raises BadInputError where there is no such car (slug ``ledger-stock-unknown``)."""
        car = self.car(answer.stock)
        if car is None:
            raise BadInputError(unknown_stock(answer.stock, len(self.cars)))
        self.answers.append(answer)
        car.answers[answer.question] = answer

    # What an entry does ----------------------------------------------------------------------------------------------

    def _take(self, entry: Entry) -> None:
        self._entries.append(entry)
        if entry.kind is Kind.REVERSAL:
            named = self._entries[entry.against - 1]
            self._reversed[named.number] = entry
            self._undo(named, entry)
            return
        if entry.kind in BOUGHT:
            self.cars.append(StockCar(entry.stock, entry, entry))
        if entry.kind in (Kind.PART_IN, Kind.PART_OUT):
            self._set_off.setdefault(entry.against, []).append(entry.number)
        if entry.kind in SOLD:
            self._papers[entry.paper] = entry
        self._do(entry, entry.day)

    def _do(self, entry: Entry, day: date) -> None:
        """Let an entry count from a day on."""
        car = self.cars[entry.stock - 1]
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
            named = self._entries[entry.against - 1]
            if named.kind in SOLD:
                car.sale = None
                self.moves.append(Move(day, -1, named))
            return
        self.moves.append(Move(day, 1, entry))

    def _undo(self, entry: Entry, by: Entry) -> None:
        """Let an entry count no longer, from the day of its reversal on."""
        car = self.cars[entry.stock - 1]
        kind = entry.kind
        if kind is Kind.RETURN:
            del car.returns[entry.number]
            named = self._entries[entry.against - 1]
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
