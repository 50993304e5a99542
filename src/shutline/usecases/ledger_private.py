"""What of the ledger a buyer of the car must never see, wherever it may have been said or written."""

from __future__ import annotations

from decimal import Decimal
from typing import TYPE_CHECKING

from shutline.car.going_out import PrivateKind

if TYPE_CHECKING:
    from shutline.store import Store

_LEAST = Decimal(100)
"""A smaller sum is any number, and would be missed all over."""
_BOUGHT, _SOLD = frozenset({"purchase", "part-exchange-in"}), frozenset({"sale", "part-exchange-out"})


def ledger_words(store: Store, car: str) -> tuple[tuple[PrivateKind, str], ...]:
    """Give what was paid for a car, what was made on it, and who sold it, as words that may not leave.

    The prices it was sold for are left out: they are the buyers' own. Entries that were reversed count too.

    Parameters
    ----------
    store : Store
        Where it is kept.
    car : str
        The car's whole name.
    """
    sums: list[Decimal] = []
    told: list[tuple[PrivateKind, str]] = []
    paid: dict[int, Decimal] = {}
    for entry in store.ledger_of(car):
        amount = Decimal(entry["amount"])
        if entry["kind"] in _BOUGHT:
            paid[entry["stock"]] = amount
            sums.append(amount)
            told.append((PrivateKind.KEEPER, entry["party"]))
            # Street and town may be said apart.
            told += [(PrivateKind.ADDRESS, part.strip()) for part in entry["address"].split(",")]
        elif entry["kind"] in _SOLD:
            sums.append(abs(amount - paid[entry["stock"]]))
    prices = [(PrivateKind.PRICE, _figure(one)) for one in sums if one >= _LEAST]
    # A name of one word may be any word, and so may a town.
    return tuple(dict.fromkeys((*prices, *(one for one in told if len(one[1].split()) > 1))))


def _figure(amount: Decimal) -> str:
    return f"{amount:,.0f}" if amount == amount.to_integral_value() else f"{amount:,.2f}"
