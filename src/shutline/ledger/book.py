"""The ledger as a book: all pages of it."""

from __future__ import annotations

from collections.abc import Iterable

from shutline.ledger.entries import BOUGHT, Answer, Entry
from shutline.ledger.pages import Pages, Whole, gap


class Book(Pages):
    """All entries of a firm in the order they were entered, and what stands of each car.

    Parameters
    ----------
    entries : iterable of Entry
        As they were kept, numbers from 1 without gaps, and cars of stock likewise. They are taken as they are: each was
        checked when it was entered.
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
        super().__init__(entries, answers, currency=currency, whole=Whole(0, 0, 0, currency))

    def _keep(self, entry: Entry) -> None:
        if entry.number != self.last_entry + 1:
            raise gap(f"entry {entry.number}", f"{self.last_entry} entries before it")
        if entry.kind in BOUGHT and entry.stock != self.last_stock + 1:
            raise gap(f"stock number {entry.stock}", f"{self.last_stock} cars before it")
        super()._keep(entry)
        self.last_entry = entry.number
