"""How the sale of a car would be taxed: by what the ledger knows of it, or both ways where it does not."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import TYPE_CHECKING

from shutline.usecases.ledger import ledger_pages
from shutline.usecases.ledger_settings import ledger_rules

if TYPE_CHECKING:
    from datetime import date

    import numpy as np
    from numpy.typing import NDArray

    from shutline.ledger import Rules, StockCar
    from shutline.store import Store

    Array = NDArray[np.float64]

MARGIN, FULL, NONE, NOT_KNOWN = "margin", "full", "none", "not known"
WAYS = (MARGIN, FULL, NONE)
_WORDS = {
    MARGIN: "tax on the margin",
    FULL: "tax on the full price",
    NONE: "no tax",
}
_BACK = "Where the seller's invoice shows VAT, that comes back: the bid is then without it."
_NOT_THERE = (
    "It is not in the ledger, so nobody has said whether it may be sold in the margin scheme: both ways are told."
)


@dataclass(frozen=True)
class TaxWay:
    """One way of taxing it: what it is called, the sum, and what is kept of each pound above the price paid."""

    name: str
    words: str
    tax: Callable[[Array, float], Array]
    keeps: float


@dataclass(frozen=True)
class TaxHere:
    """How it is taxed, in words, the ways that have to be told, and what was paid for it, None where nobody knows."""

    taxed: str
    words: str
    ways: tuple[TaxWay, ...]
    paid: float | None


def tax_here(store: Store, car: str, *, wanted: str, day: date) -> TaxHere:
    """Tell how the sale of a car on a day would be taxed.

    Parameters
    ----------
    store : Store
    car : str
        Its whole name.
    wanted : str
        One of `WAYS` in place of what the ledger says, empty for that.
    day : date
        Whose rate counts.

    Raises
    ------
    BadInputError
        No rate is known of that day (slug ``ledger-no-rate``).
    """
    from shutline.ledger import Eligible, eligibility_of

    rules = ledger_rules()
    stock = _stock_of(store, car)
    paid = None if stock is None else float(stock.first.amount.amount)
    if wanted:
        return TaxHere(wanted, "As was chosen here, whatever the ledger says.", (_way(wanted, rules, day),), paid)
    if stock is None:
        return TaxHere(NOT_KNOWN, _NOT_THERE, (_way(MARGIN, rules, day), _way(FULL, rules, day)), paid)
    standing = eligibility_of(stock, rules)
    words = f"Stock number {stock.stock}. {standing.told()}"
    taxed = {Eligible.YES: MARGIN, Eligible.NO: FULL, Eligible.NOT_KNOWN: NOT_KNOWN}[standing.standing]
    ways = (MARGIN, FULL) if taxed == NOT_KNOWN else (taxed,)
    return TaxHere(taxed, words, tuple(_way(one, rules, day) for one in ways), paid)


def _stock_of(store: Store, car: str) -> StockCar | None:
    """Give the last stock number under which a car was bought and stands."""
    from shutline.ledger.entries import BOUGHT

    numbers = {row["stock"] for row in store.ledger_of(car) if row["kind"] in BOUGHT}
    for number in sorted(numbers, reverse=True):
        found = ledger_pages(store, stock=number)[0].car(number)
        if found is not None and found.bought is not None:
            return found
    return None


def _way(name: str, rules: Rules, day: date) -> TaxWay:
    from shutline.market import margin_tax, no_tax

    if name == NONE:
        return TaxWay(NONE, f"{_WORDS[NONE]}.", no_tax, 1.0)
    rate = rules.rate_on(day)
    above, below = rate.fraction()
    share = f"{_WORDS[name]}, {above}/{below} of it"
    if name == MARGIN:
        return TaxWay(MARGIN, f"{share}, nothing for a loss.", margin_tax(above, below), 1 - above / below)
    return TaxWay(FULL, f"{share}. {_BACK}", lambda fetched, _: fetched * above / below, 1 - above / below)
