"""Money: an amount to the penny, and its currency; nothing here is ever a float."""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import dataclass
from decimal import ROUND_HALF_UP, Context, Decimal

from shutline.car.errors import BadInputError, Problem

PENNY = Decimal("0.01")
"""The smallest step of every amount; currencies with another number of places are not kept."""

MOST = Decimal(1_000_000_000)
"""No amount is larger."""

NOUGHT = Decimal("0.00")

_EXACT = Context(prec=40)
_WRITTEN = re.compile(r"(?P<sign>-?)(?P<unit>£?)(?P<whole>\d{1,3}(?:,\d{3})+|\d+)(?:\.(?P<part>\d{1,2}))?\Z", re.ASCII)
_CURRENCY = re.compile(r"[A-Z]{3}\Z", re.ASCII)


def nearest_penny(value: Decimal, *, times: tuple[int, int] = (1, 1)) -> Decimal:
    """Round to the nearest penny, halves away from nought.

    No rule of rounding of the margin scheme was seen; every published example is rounded so.

    Parameters
    ----------
    value : Decimal
        At most `MOST`, either way.
    times : (int, int)
        A fraction that it is taken times before it is rounded.

    >>> nearest_penny(Decimal(500), times=(1, 6))
    Decimal('83.33')
    >>> nearest_penny(Decimal("0.03"), times=(1, 6)), nearest_penny(Decimal("-0.03"), times=(1, 6))
    (Decimal('0.01'), Decimal('-0.01'))
    """
    above, below = times
    taken = value if above == below else _EXACT.divide(_EXACT.multiply(value, Decimal(above)), Decimal(below))
    return taken.quantize(PENNY, ROUND_HALF_UP, _EXACT)


@dataclass(frozen=True, slots=True)
class Money:
    """An amount to the penny; `currency` is its code of ISO 4217.

    Amounts of two currencies are neither added nor compared: that raises ValueError.
    """

    amount: Decimal
    currency: str = "GBP"

    def __post_init__(self) -> None:
        if not isinstance(self.amount, Decimal) or not self.amount.is_finite():
            raise TypeError(f"an amount is a decimal number, not {self.amount!r}")
        if self.amount != self.amount.quantize(PENNY, context=_EXACT) or abs(self.amount) > MOST:
            raise ValueError(f"{self.amount} is not an amount to the penny of at most {MOST}")
        if not _CURRENCY.match(self.currency):
            raise ValueError(f"{self.currency!r} is no code of a currency: three capital letters")

    @classmethod
    def of(cls, text: str, currency: str = "GBP", *, where: str = "amount") -> Money:
        """Read an amount as people write it: ``8500``, ``8,500.00``, ``-12.5``, and of pounds ``£8,500``.

        Parameters
        ----------
        text : str
            The amount.
        currency : str
            Its code.
        where : str
            How the message calls it.

        Raises
        ------
        BadInputError
            It is none (slug ``ledger-amount``).
        """
        found = _WRITTEN.match(text.strip())
        amount = Decimal(re.sub("[,£]", "", text.strip())) if found else None
        if found and found["unit"] and currency != "GBP":
            amount = None
        if amount is None or abs(amount) > MOST or not _CURRENCY.match(currency):
            raise BadInputError(
                Problem(
                    slug="ledger-amount",
                    where=where,
                    found=repr(text[:40]) if currency == "GBP" else f"{text[:40]!r} in {currency[:8]!r}",
                    allowed=f"an amount with at most two places, such as 8500 or 8,500.00, of at most {MOST:,}",
                    advice="Write it so.",
                )
            )
        return cls(amount.quantize(PENNY, context=_EXACT), currency)

    def told(self) -> str:
        """Give it to be read: ``£8,500.00``, ``-£12.00``, ``EUR 8,500.00``."""
        sign = "-" if self.amount < 0 else ""
        unit = "£" if self.currency == "GBP" else f"{self.currency} "
        return f"{sign}{unit}{abs(self.amount):,.2f}"

    def __add__(self, other: Money) -> Money:
        return Money(self.amount + self._same(other), self.currency)

    def __sub__(self, other: Money) -> Money:
        return Money(self.amount - self._same(other), self.currency)

    def __neg__(self) -> Money:
        return Money(-self.amount, self.currency)

    def __lt__(self, other: Money) -> bool:
        return self.amount < self._same(other)

    def __le__(self, other: Money) -> bool:
        return self.amount <= self._same(other)

    def __bool__(self) -> bool:
        return bool(self.amount)

    def _same(self, other: Money) -> Decimal:
        if other.currency != self.currency:
            raise ValueError(f"{self.currency} and {other.currency} do not go together")
        return other.amount


def total(amounts: Iterable[Decimal], currency: str) -> Money:
    """Add amounts up."""
    return Money(sum(amounts, NOUGHT), currency)
