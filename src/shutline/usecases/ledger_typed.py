"""What somebody types for the ledger, read field by field: an entry, an import, the facts of a sale to a consumer."""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from datetime import date
from decimal import Decimal
from typing import TYPE_CHECKING

from shutline.car.errors import BadInputError, UserError
from shutline.ledger import (
    Brought,
    Clock,
    Draft,
    Handed,
    ImportTold,
    Kind,
    Money,
    Party,
    Repair,
    Said,
    consumer_clock,
    import_told,
    tax_at,
)
from shutline.ledger.checking import FieldProblem
from shutline.ledger.imports import conditions
from shutline.usecases.ledger import Asked, Entered, answer_about, enter_in_ledger, give_back, reverse_entry, today
from shutline.usecases.ledger_settings import ledger_rules

if TYPE_CHECKING:
    from shutline.store import Store

ENTRY_FIELDS = (
    *("kind", "stock", "amount", "vat", "rate", "day", "name", "address", "vat_number", "paper", "self_billed"),
    *("what", "against", "outside", "car"),
)
"""What an entry is typed in, as a draft and its party call it; `self_billed` and `outside` are ``yes`` or empty."""

IMPORT_FIELDS = ("value", "costs", "arrived", "made", "taken_out")
REPAIRS = 9
"""Repairs of one sale, at most."""
CLOCK_FIELDS = (
    *("delivered", "owned", "ready", "agreed", "distance", "told", "told_on", "returned", "agreed_refund"),
    *(f"{what}_{number}" for number in range(1, REPAIRS + 1) for what in ("asked", "back")),
)


def enter_typed(store: Store, typed: Mapping[str, str], *, author: str | None = None) -> Entered:
    """Enter what was typed.

    Parameters
    ----------
    store : Store
        Where the ledger is kept.
    typed : mapping of str to str
        Some of `ENTRY_FIELDS`. Without a day it is today, of a reversal `ledger.reversal_day`; with a rate and without
        VAT, the VAT is worked out. A return and a reversal need the entry that they are `against`, and `what` was the
        matter with it; a return without an amount is one of all of it.
    author : str, optional
        Who enters it; who is logged in when left out.

    Raises
    ------
    BadInputError
        A field cannot be read (slug ``ledger-typed``, ``ledger-amount``), or it may not be entered
        (`ledger.enter_in_ledger`); the problem has the field that it is about, and nothing was entered.
    """
    _known(typed, ENTRY_FIELDS)
    kind, said = _kind(typed.get("kind", "")), day_typed(typed, "day")
    if kind is Kind.REVERSAL:
        return reverse_entry(store, number_typed(typed, "against"), why=_text(typed, "what"), day=said, author=author)
    day = said or today()
    amount = money_typed(typed, "amount")
    if kind is Kind.RETURN:
        number, why = number_typed(typed, "against"), _text(typed, "what")
        return give_back(store, number, why=why, day=day, amount=amount, author=author)
    if amount is None:
        raise _refused("amount", "no amount", "such as 8500 or 8,500.00", "Say it, and enter it again.")
    vat, rate = money_typed(typed, "vat"), rate_typed(typed, "rate")
    draft = Draft(
        kind=kind,
        day=day,
        amount=amount,
        stock=number_typed(typed, "stock"),
        vat=tax_at(amount, rate) if vat is None and rate is not None else vat,
        rate=rate,
        party=Party(*(_text(typed, name) for name in ("name", "address", "vat_number"))),
        paper=_text(typed, "paper"),
        self_billed=typed.get("self_billed") == "yes",
        what=_text(typed, "what"),
        against=number_typed(typed, "against"),
        outside=typed.get("outside") == "yes",
        car=_text(typed, "car"),
    )
    try:
        return enter_in_ledger(store, draft, author=author)
    except UserError as error:
        if error.problem.slug in ("car-unknown", "car-ambiguous"):
            raise BadInputError(_at("car", error)) from error
        raise


def answer_typed(store: Store, stock: int, typed: Mapping[str, str], *, author: str | None = None) -> Asked:
    """Keep an answer as it was typed: `question`, `said` and `note`; raises as `ledger.answer_about`."""
    _known(typed, ("question", "said", "note"))
    if not _text(typed, "said"):
        raise _refused("said", "no answer", "yes, no or not known", "Choose one of them.")
    said = said_typed(typed, "said")
    return answer_about(store, stock, _text(typed, "question"), said, note=_text(typed, "note"), author=author)


def import_typed(typed: Mapping[str, str]) -> ImportTold:
    """Tell what an import asks for, from `IMPORT_FIELDS` and an answer for each condition by its id.

    Raises
    ------
    BadInputError
        A field cannot be read; the problem has the field that it is about.
    """
    asked = [one.id for one in conditions()]
    _known(typed, (*IMPORT_FIELDS, *asked))
    arrived, value = day_typed(typed, "arrived"), money_typed(typed, "value", "GBP")
    if value is None:
        raise _refused("value", "no value", "such as 20000 or 20,000.00, in pounds", "Say it, and ask again.")
    if arrived is None:
        raise _no_day("arrived")
    return import_told(
        Brought(
            arrived,
            value,
            money_typed(typed, "costs", "GBP") or Money(Decimal("0.00")),
            made=day_typed(typed, "made"),
            taken_out=day_typed(typed, "taken_out"),
            answers={name: said_typed(typed, name) for name in asked if typed.get(name)},
        )
    )


def clock_typed(typed: Mapping[str, str]) -> Clock:
    """Work out the days of a sale to a consumer from `CLOCK_FIELDS`; raises as `import_typed`.

    A repair is the day it was asked for and the day the car came back, if it has: ``asked_1`` and ``back_1``.
    """
    _known(typed, CLOCK_FIELDS)
    delivered = day_typed(typed, "delivered")
    if delivered is None:
        raise _no_day("delivered")
    told_on = day_typed(typed, "told_on")
    return consumer_clock(
        Handed(
            owned=day_typed(typed, "owned") or delivered,
            delivered=delivered,
            ready=day_typed(typed, "ready"),
            agreed=day_typed(typed, "agreed"),
            distance=said_typed(typed, "distance"),
            told=Said.NO if told_on is not None else said_typed(typed, "told"),
            told_on=told_on,
            repairs=tuple(_repairs(typed)),
            returned=day_typed(typed, "returned"),
            agreed_refund=day_typed(typed, "agreed_refund"),
        )
    )


def _repairs(typed: Mapping[str, str]) -> Iterator[Repair]:
    for number in range(1, REPAIRS + 1):
        asked, back = day_typed(typed, f"asked_{number}"), day_typed(typed, f"back_{number}")
        if asked is not None:
            yield Repair(asked, back)
        elif back is not None:
            raise _refused(f"asked_{number}", "no day", "the day on which it was asked for", "Say it, and ask again.")


# Field by field ------------------------------------------------------------------------------------------------------


def day_typed(typed: Mapping[str, str], field: str) -> date | None:
    """Read a day; None for none."""
    text = _text(typed, field)
    try:
        return date.fromisoformat(text) if text else None
    except ValueError:
        raise _refused(field, repr(text[:40]), "a day such as 2026-11-26", "Mend it.") from None


def money_typed(typed: Mapping[str, str], field: str, currency: str = "") -> Money | None:
    """Read an amount, in the currency of the ledger unless another is named; None for none."""
    text = _text(typed, field)
    currency = currency or ledger_rules().currency
    try:
        return Money.of(text, currency, where=_called(field)) if text else None
    except BadInputError as error:
        raise BadInputError(_at(field, error)) from error


def rate_typed(typed: Mapping[str, str], field: str) -> Decimal | None:
    """Read a rate in per cent; None for none."""
    text = _text(typed, field).removesuffix("%").rstrip()
    if not text:
        return None
    if not re.fullmatch(r"[0-9]{1,2}(\.[0-9]{1,2})?", text, re.ASCII) or not Decimal(text):
        raise _refused(field, repr(text[:40]), "per cent, such as 20 or 17.5", "Mend it.")
    return Decimal(text)


def said_typed(typed: Mapping[str, str], field: str) -> Said:
    """Read an answer; not known where there is none."""
    word = _text(typed, field).replace("-", " ") or Said.NOT_KNOWN.value
    if word not in {one.value for one in Said}:
        raise _refused(field, repr(word[:40]), "yes, no or not known", "Choose one of them.")
    return Said(word)


def number_typed(typed: Mapping[str, str], field: str) -> int:
    """Read the number of a car of stock or of an entry; 0 where there is none."""
    text = _text(typed, field) or "0"
    if not (text.isascii() and text.isdigit() and len(text) <= 9):
        raise _refused(field, repr(text[:40]), "a whole number", "Mend it.")
    return int(text)


def _kind(text: str) -> Kind:
    kinds = [one.value for one in Kind]
    if text not in kinds:
        raise _refused("kind", repr(text[:40]), ", ".join(kinds), "Choose one of them.")
    return Kind(text)


def _text(typed: Mapping[str, str], field: str) -> str:
    return typed.get(field, "").strip()


def _known(typed: Mapping[str, str], fields: tuple[str, ...]) -> None:
    for name in typed:
        if name not in fields:
            raise _refused("", f"a field {name[:40]!r}", ", ".join(fields), "Leave it out.")


def _at(field: str, error: UserError) -> FieldProblem:
    found = error.problem
    return FieldProblem(found.slug, found.where, found.found, found.allowed, found.advice, field)


def _no_day(field: str) -> BadInputError:
    return _refused(field, "no day", "a day such as 2026-11-26", "Say it, and ask again.")


def _refused(field: str, found: str, allowed: str, advice: str) -> BadInputError:
    return BadInputError(FieldProblem("ledger-typed", _called(field), found, allowed, advice, field))


def _called(field: str) -> str:
    return field.replace("_", " ") or "what was typed"
