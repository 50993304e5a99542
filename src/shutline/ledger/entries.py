"""What is entered in the ledger: dated, authored, never altered, only reversed."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from enum import StrEnum

from shutline.ledger.money import Money, nearest_penny
from shutline.ledger.rules import Said, share_of_tax


class Kind(StrEnum):
    """What an entry is."""

    PURCHASE = "purchase"
    PART_IN = "part-exchange-in"
    """A car taken in against the price of one sold: a purchase at the full allowance."""
    COST = "cost"
    DEPOSIT = "deposit"
    SALE = "sale"
    PART_OUT = "part-exchange-out"
    """A car of the firm's given against the price of one bought: a sale at the full allowance."""
    RETURN = "return"
    """A car that came back for its money, or a deposit that was given back."""
    REVERSAL = "reversal"
    """An entry taken back because it was wrong."""


BOUGHT = frozenset({Kind.PURCHASE, Kind.PART_IN})
SOLD = frozenset({Kind.SALE, Kind.PART_OUT})


@dataclass(frozen=True, slots=True)
class Party:
    """Who a car was bought from or sold to, or who did work: name, address on one line, VAT number if any."""

    name: str = ""
    address: str = ""
    vat_number: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Draft:
    """What somebody wants to enter.

    Parameters
    ----------
    kind : Kind
        What it is.
    day : date
        When it happened: of a purchase and a sale the tax point.
    amount : Money
        All of it, tax included; never below nought. Of a return what was given back, of a reversal the amount of the
        entry that it takes back.
    stock : int
        Stock number; 0 with a purchase or a part exchange taken in, which gets the next one.
    vat : Money, optional
        The tax that the other side's invoice shows; of a purchase and a cost alone. None where it shows none.
    rate : Decimal, optional
        The rate that the invoice shows it at, in per cent; None where it shows none, or several.
    party : Party
        The other side.
    paper : str
        Number of the invoice.
    self_billed : bool
        The firm made out the invoice of the purchase itself.
    what : str
        Of a purchase the car with its registration mark; of a cost what for; of a return or a reversal why; of a sale
        for nothing how the car went.
    against : int
        Number of the entry that a return, a reversal or a part exchange is about; else 0.
    outside : bool
        Of a sale: sold outside the margin scheme by choice, with tax on the full price.
    car : str
        Name of the car file, where there is one; of a purchase.
    """

    kind: Kind
    day: date
    amount: Money
    stock: int = 0
    vat: Money | None = None
    rate: Decimal | None = None
    party: Party = Party()
    paper: str = ""
    self_billed: bool = False
    what: str = ""
    against: int = 0
    outside: bool = False
    car: str = ""


def tax_at(amount: Money, percent: Decimal) -> Money:
    """Give the tax that an amount contains at a rate in per cent, to the nearest penny.

    >>> tax_at(Money(Decimal(240)), Decimal(20)).told()
    '£40.00'
    """
    return Money(nearest_penny(amount.amount, times=share_of_tax(percent)), amount.currency)


@dataclass(frozen=True, slots=True, kw_only=True)
class Entry(Draft):
    """A draft that was entered: its number, from 1 without gaps, who entered it, and when (ISO 8601, UTC)."""

    number: int
    author: str
    at: str

    def net(self) -> Decimal:
        """Give the amount without the tax that its invoice shows."""
        return self.amount.amount if self.vat is None else self.amount.amount - self.vat.amount


@dataclass(frozen=True, slots=True)
class Answer:
    """What somebody answered to a question about a car of stock; the last one of a question counts, all are kept."""

    stock: int
    question: str
    said: Said
    author: str
    at: str
    note: str = ""
