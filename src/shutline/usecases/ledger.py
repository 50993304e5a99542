"""The ledger as it is kept: entries made and reversed, questions about a car answered, and the book read back."""

from __future__ import annotations

from dataclasses import asdict, dataclass, replace
from datetime import UTC, date, datetime
from decimal import Decimal
from typing import TYPE_CHECKING, Any

from shutline.car.errors import BadInputError, Problem
from shutline.ledger import (
    Answer,
    Book,
    Draft,
    Entry,
    Kind,
    Money,
    Pages,
    Party,
    Said,
    Taxed,
    Whole,
    eligibility_of,
    owed_on,
)
from shutline.ledger.checking import unknown_stock
from shutline.ledger.entries import BOUGHT, SOLD
from shutline.store.ledger import Wanted
from shutline.usecases.ledger_settings import ledger_rules
from shutline.usecases.settings import author as present_author

if TYPE_CHECKING:
    from shutline.ledger import Eligible, Rules
    from shutline.ledger.rules import Question
    from shutline.store import Store
    from shutline.store.ledger import KeptLedger

_PARTY = ("address", "vat_number")


@dataclass(frozen=True, slots=True)
class Asked:
    """What is asked about a car of stock: whether it is eligible, in words, what was answered, what is still open."""

    stock: int
    what: str
    eligible: Eligible
    sentence: str
    answers: tuple[str, ...]
    to_ask: tuple[Question, ...]


@dataclass(frozen=True, slots=True)
class Entered:
    """An entry that was made, and what follows from it in words: its number, what is owed, what is to be asked."""

    entry: Entry
    told: str


def ledger_book(store: Store) -> tuple[Book, Rules]:
    """Give the whole book as it is kept, and the rules that hold for it."""
    rules = ledger_rules()
    kept = store.ledger()
    return Book(map(_entry, kept.entries), map(_answer, kept.answers), currency=rules.currency), rules


def ledger_pages(
    store: Store,
    *,
    stock: int = 0,
    entry: int = 0,
    stocks: tuple[int, int] | None = None,
    start: date | None = None,
    end: date | None = None,
) -> tuple[Pages, Rules]:
    """Give the pages of some cars of stock, and the rules that hold for them: what a few cars need, and much quicker.

    Parameters
    ----------
    store : Store
        Where the ledger is kept.
    stock, entry : int
        The number of the car, or of an entry about it; with it come cars given or taken for it.
    stocks : (int, int), optional
        The first and the last number of several cars in a row.
    start, end : date, optional
        Both: each car about which anything was entered of one of these days. Sums of the days need no more.
    """
    rules = ledger_rules()
    days = None if start is None or end is None else (start.isoformat(), end.isoformat())
    return _pages(store.ledger_pages(Wanted(days=days, stock=stock, stocks=stocks, entry=entry)), rules), rules


def enter_in_ledger(store: Store, draft: Draft, *, author: str | None = None) -> Entered:
    """Enter a draft.

    Parameters
    ----------
    store : Store
        Where the ledger is kept.
    draft : Draft
        What is entered; of a purchase `car` may be a beginning of a car's name that no other has.
    author : str, optional
        Who enters it; who is logged in when left out.

    Raises
    ------
    BadInputError
        It may not be entered (slugs ``ledger-entry``, ``ledger-stock-unknown``); nothing was.
    NotFoundError, UserError
        No car begins so, or several do.
    """
    rules = ledger_rules()
    who = present_author() if author is None else author
    named = replace(draft, car=store.find_car("-".join(draft.car.split())).name) if draft.car else draft
    made: list[Entered] = []

    def row(kept: KeptLedger, at: str) -> dict[str, Any]:
        book = _pages(kept, rules)
        entry = book.enter(named, author=who, at=at)
        made.append(Entered(entry, _told(book, rules, entry)))
        return row_of(entry)

    about = Wanted(stock=named.stock, entry=named.against, paper=named.paper)
    store.add_ledger_entry(row, about=about, author=who)
    return made[0]


def reverse_entry(
    store: Store, number: int, *, why: str, day: date | None = None, author: str | None = None
) -> Entered:
    """Take an entry back, by a reversal of all of it; raises as `enter_in_ledger` does.

    Parameters
    ----------
    store : Store
        Where the ledger is kept.
    number : int
        The entry.
    why : str
        What was wrong with it.
    day : date, optional
        From when on it counts no longer; `reversal_day` when left out.
    author : str, optional
        Who enters it.
    """
    named = entry_of(ledger_pages(store, entry=number)[0], number)
    on = reversal_day(named) if day is None else day
    draft = Draft(kind=Kind.REVERSAL, day=on, amount=named.amount, stock=named.stock, against=named.number, what=why)
    return enter_in_ledger(store, draft, author=author)


def give_back(
    store: Store, number: int, *, why: str, day: date, amount: Money | None = None, author: str | None = None
) -> Entered:
    """Enter that a car came back, or that a deposit was given back.

    Parameters
    ----------
    store : Store
        Where the ledger is kept.
    number : int
        The sale or the deposit.
    why : str
        Why it came back.
    day : date
        When.
    amount : Money, optional
        What was given back; all of it when left out.
    author : str, optional
        Who enters it.
    """
    named = entry_of(ledger_pages(store, entry=number)[0], number)
    draft = Draft(
        kind=Kind.RETURN,
        day=day,
        amount=named.amount if amount is None else amount,
        stock=named.stock,
        against=named.number,
        what=why,
    )
    return enter_in_ledger(store, draft, author=author)


def asked_about(store: Store, stock: int) -> Asked:
    """Tell what was answered about a car of stock and what is still to be asked."""
    book, rules = ledger_pages(store, stock=stock)
    return _asked(book, rules, stock)


def answer_about(
    store: Store, stock: int, question: str, said: Said, *, note: str = "", author: str | None = None
) -> Asked:
    """Keep an answer about a car of stock; what was answered before is kept too.

    Raises
    ------
    BadInputError
        There is no such car (slug ``ledger-stock-unknown``) or no such question (``ledger-question``).
    """
    rules = ledger_rules()
    who = present_author() if author is None else author
    ids = [one.id for one in rules.questions]
    if question not in ids:
        raise BadInputError(
            Problem(
                slug="ledger-question",
                where=f"question {question[:40]!r}",
                found="there is no such question",
                allowed=", ".join(ids),
                advice=f"List them: shutline ledger answer {stock}.",
            )
        )

    def row(kept: KeptLedger, at: str) -> dict[str, Any]:
        _pages(kept, rules).answer(Answer(stock, question, said, who, at, note))
        return {"stock": stock, "question": question, "said": said.value, "note": note}

    store.add_ledger_answer(row, about=Wanted(stock=stock), author=who)
    return asked_about(store, stock)


def reversal_day(entry: Entry) -> date:
    """Give the day on which an entry is reversed unless another is said.

    What was entered today has been declared nowhere yet: it goes on its own day, and is then in no sum of that quarter.
    """
    return entry.day if entry.at[:10] == today().isoformat() else today()


def today() -> date:
    """Give the present day, UTC, as the store counts it: no entry is of a later one."""
    return datetime.now(UTC).date()


def entry_of(book: Pages, number: int) -> Entry:
    """Give an entry by its number; raises BadInputError where there is none (slug ``ledger-entry``)."""
    found = book.entry(number)
    if found is None:
        raise BadInputError(
            Problem(
                slug="ledger-entry",
                where=f"entry {number}",
                found="the ledger has no such entry",
                allowed=f"1 to {book.last_entry}" if book.last_entry else "nothing has been entered yet",
                advice="List them: shutline ledger entries.",
            )
        )
    return found


def _told(book: Pages, rules: Rules, entry: Entry) -> str:
    car = book.car_of(entry)
    if entry.kind in BOUGHT:
        return f"It has stock number {entry.stock}. {eligibility_of(car, rules).told()}"
    if entry.kind not in SOLD:
        return _again(book, entry)
    owed = owed_on(car, entry, rules)
    margin = Money(owed.margin, book.currency).told()
    if owed.tax is None:
        least, most = (Money(one, book.currency).told() for one in (owed.least, owed.most))
        return f"What is owed on it is not known: {least} to {most}. {eligibility_of(car, rules).told()}"
    if owed.taxed is Taxed.MARGIN and owed.margin < 0:
        return f"It is a loss of {Money(-owed.margin, book.currency).told()}, on which no VAT is owed."
    return f"VAT of {Money(owed.tax, book.currency).told()} is owed on it, from {owed.taxed}; the margin is {margin}."


def _again(book: Pages, entry: Entry) -> str:
    """Tell of an entry that is the same as one that stands: it may have been sent twice, and two may be meant."""

    def core(one: Entry) -> tuple[object, ...]:
        return one.kind, one.day, one.amount, one.stock, one.party, one.paper, one.what

    for one in book.entries:
        if one.number != entry.number and core(one) == core(entry) and book.stands(one.number):
            return f"Entry {one.number} is the same. If it was entered twice, reverse one of them."
    return ""


def _asked(book: Pages, rules: Rules, stock: int) -> Asked:
    car = book.car(stock)
    if car is None:
        raise BadInputError(unknown_stock(stock, book.last_stock))
    told = eligibility_of(car, rules)
    return Asked(stock, car.first.what, told.standing, told.told(), told.answers, told.to_ask)


def _pages(kept: KeptLedger, rules: Rules) -> Pages:
    whole = Whole(kept.count, kept.last_entry, kept.last_stock, kept.currency)
    return Pages(map(_entry, kept.entries), map(_answer, kept.answers), currency=rules.currency, whole=whole)


def _answer(row: Any) -> Answer:
    return Answer(row["stock"], row["question"], _SAID[row["said"]], row["created_by"], row["created_at"], row["note"])


def _entry(row: Any) -> Entry:
    currency = row["currency"]
    return Entry(
        kind=_KINDS[row["kind"]],
        day=date.fromisoformat(row["day"]),
        amount=Money(Decimal(row["amount"]), currency),
        stock=row["stock"],
        vat=None if row["vat"] is None else Money(Decimal(row["vat"]), currency),
        rate=None if row["rate"] is None else Decimal(row["rate"]),
        party=Party(row["party"], row["address"], row["vat_number"]),
        paper=row["paper"],
        self_billed=row["self_billed"],
        what=row["what"],
        against=row["against"],
        outside=row["outside"],
        car=row["car"],
        number=row["number"],
        author=row["created_by"],
        at=row["created_at"],
    )


_KINDS = {kind.value: kind for kind in Kind}
_SAID = {said.value: said for said in Said}


def row_of(entry: Entry) -> dict[str, Any]:
    """Give the values of an entry as the store keeps them, but for who entered it and when."""
    row = asdict(entry)
    for name in ("author", "at", "party"):
        del row[name]
    return {
        **row,
        "kind": entry.kind.value,
        "day": entry.day.isoformat(),
        "currency": entry.amount.currency,
        "amount": str(entry.amount.amount),
        "vat": None if entry.vat is None else str(entry.vat.amount),
        "rate": None if entry.rate is None else str(entry.rate),
        "party": entry.party.name,
        **{name: getattr(entry.party, name) for name in _PARTY},
    }
