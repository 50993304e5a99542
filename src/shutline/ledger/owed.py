"""What is owed on a sale: whether the car is eligible, the margin, and the tax in it."""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal
from enum import StrEnum

from shutline.ledger.entries import Entry
from shutline.ledger.money import NOUGHT, nearest_penny
from shutline.ledger.pages import StockCar
from shutline.ledger.rules import Question, Rules, Said, share_of_tax


class Eligible(StrEnum):
    """Whether a car may be sold in the margin scheme."""

    YES = "eligible"
    NO = "not eligible"
    NOT_KNOWN = "not known"


@dataclass(frozen=True, slots=True)
class Eligibility:
    """Whether a car is eligible, why not, which answers it stands on, and what is still to be asked."""

    standing: Eligible
    why_not: tuple[str, ...]
    answers: tuple[str, ...]
    to_ask: tuple[Question, ...]

    def told(self) -> str:
        """Give it as a sentence."""
        if self.standing is Eligible.NO:
            return f"Not eligible: {'; '.join(self.why_not)}. Tax is owed on the full price."
        if self.standing is Eligible.NOT_KNOWN:
            return f"Not known, and not assumed: {len(self.to_ask)} of the questions about it have no answer."
        return f"Eligible, by what was answered: {'; '.join(self.answers)}."


class Taxed(StrEnum):
    """What the tax of a sale is worked out from."""

    MARGIN = "the margin"
    FULL = "the full price"
    NOT_KNOWN = "not known"


@dataclass(frozen=True, slots=True)
class Owed:
    """The tax of a sale in the currency of the book: None where nobody has said enough; then `least` and `most`."""

    taxed: Taxed
    margin: Decimal
    tax: Decimal | None
    least: Decimal
    most: Decimal


def standing_of(car: StockCar, rules: Rules) -> Eligible:
    """Tell whether a car is eligible.

    A single answer that bars it makes it not eligible; where none does, and one is missing, it is not known. VAT that
    was entered with the purchase bars it whatever was answered.
    """
    if car.first.vat is not None:
        return Eligible.NO
    known = True
    for question in rules.questions:
        if question.after:
            before = car.said(question.after)
            if before is not Said.YES:
                # Where the question before it has no answer, that one says so already.
                continue
        said = car.said(question.id)
        if said is Said.NOT_KNOWN:
            known = False
        elif said is question.bars:
            return Eligible.NO
    return Eligible.YES if known else Eligible.NOT_KNOWN


def eligibility_of(car: StockCar, rules: Rules) -> Eligibility:
    """Tell whether a car is eligible, with why, who answered what, and what is to be asked; see `standing_of`."""
    why, answers, ask = [], [], []
    if car.first.vat is not None:
        why.append(f"the purchase was entered with VAT of {car.first.vat.told()} on its invoice")
    for question in rules.questions:
        if question.after and car.said(question.after) is not Said.YES:
            continue
        answer = car.answers.get(question.id)
        if answer is None or answer.said is Said.NOT_KNOWN:
            ask.append(question)
            continue
        answers.append(f"{question.question} {answer.said.capitalize()}, said {answer.author} on {answer.at[:10]}")
        if answer.said is question.bars:
            why.append(f"{question.why} ({question.source})")
    return Eligibility(standing_of(car, rules), tuple(why), tuple(answers), tuple(ask))


def owed_on(car: StockCar, sale: Entry, rules: Rules) -> Owed:
    """Work out the tax of a sale of a car.

    The margin is the selling price less the purchase price and nothing else: what was spent on the car stays out of
    it, a part exchange counts at its full allowance on both sides, and a loss owes nothing (gov.uk VATMARG13350).
    Tax is that of the day of the sale, to the nearest penny.

    Parameters
    ----------
    car : StockCar
        The car of stock, with its purchase and its answers.
    sale : Entry
        A sale of it, standing or not.
    rules : Rules
        Of the country.
    """
    price = sale.amount.amount
    margin = price - car.first.amount.amount
    standing = Eligible.NO if sale.outside else standing_of(car, rules)
    if standing is Eligible.YES:
        tax = rules.tax_within(margin, sale.day)
        return Owed(Taxed.MARGIN, margin, tax, tax, tax)
    full = rules.tax_within(price, sale.day)
    if standing is Eligible.NO:
        return Owed(Taxed.FULL, margin, full, full, full)
    return Owed(Taxed.NOT_KNOWN, margin, None, min(rules.tax_within(margin, sale.day), full), full)


def tax_on_margin(bought: Decimal, sold: Decimal, *, percent: Decimal) -> Decimal:
    """Give the tax that the scheme owes at a rate, to the nearest penny; nothing for a loss.

    For sums that look ahead: what may be paid for a car at most, so that something is left.

    >>> tax_on_margin(Decimal(1500), Decimal(2000), percent=Decimal(20))
    Decimal('83.33')
    >>> tax_on_margin(Decimal(1200), Decimal(950), percent=Decimal(20))
    Decimal('0.00')
    """
    return nearest_penny(max(sold - bought, NOUGHT), times=share_of_tax(percent))
