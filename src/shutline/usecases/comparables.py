"""Comparables as they are kept: which of them count, noted by hand, amended and taken back."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import UTC, date, datetime, timedelta
from typing import TYPE_CHECKING

from shutline.car.comparables import Comparable, ComparableFile, KeptComparable, sale_id
from shutline.car.errors import BadInputError, NotFoundError, Problem
from shutline.usecases.own_sales import OwnSale, own_sales
from shutline.usecases.settings import author as present_author

if TYPE_CHECKING:
    from shutline.store import Store

SOLD, ASKED = "sold", "asked"
NOTED_TOO = "noted by hand as well"


@dataclass(frozen=True, slots=True)
class ComparableLine:
    """A comparable with whether it counts, and why it does not; `by` and `at` are those of its last change.

    A sale of the ledger of which nobody decided anything has version 0, and nobody changed it.
    """

    id: str
    comparable: Comparable
    counts: bool
    why_not: str
    holds: bool
    sale: int | None
    version: int
    by: str
    at: str


@dataclass(frozen=True, slots=True)
class ComparablesShown:
    """Comparables in the order they came in, what was told of them, and the files they came from.

    `counting` of `all` that are kept count; `lines` may be fewer, where words were looked for.
    """

    lines: tuple[ComparableLine, ...]
    all: int
    counting: int
    problems: tuple[Problem, ...]
    files: tuple[ComparableFile, ...]


def kept_comparables(store: Store) -> tuple[Comparable, ...]:
    """Give those that hold, in the order they came in, and the firm's own sales out of the ledger after them.

    Doubles and other currencies are not set aside yet. A sale that was noted by hand as well comes once, and one of
    the ledger that a person amended as it was amended.
    """
    held = store.comparables_that_hold()
    noted = [one for sale, one in held if sale is None]
    own = own_sales(store, noted)
    if not own and len(noted) == len(held):
        return tuple(noted)
    standing, decided = {one.number for one in own}, store.sales_noted()
    amended = [one for sale, one in held if sale in standing]
    fresh = [one.comparable for one in own if one.number not in decided and not one.noted_too]
    return (*noted, *amended, *fresh)


def comparables_shown(store: Store, *, words: str = "", currency: str = "") -> ComparablesShown:
    """Give all comparables, those that were taken back too, with what is told of doubles and other currencies.

    Parameters
    ----------
    store : Store
        Where they are kept.
    words : str
        Give only those in which each of these words stands.
    currency : str
        Prices in any other are set aside; left out, in any other than the ledger's.
    """
    from shutline.market.comparables import of_one_currency, without_doubles
    from shutline.usecases.ledger_settings import ledger_rules

    kept = store.comparables()
    own = own_sales(store, [one.comparable for one in kept if one.holds and one.sale is None])
    standing = {one.number for one in own}
    gone = {one.id for one in kept if one.sale is not None and one.sale not in standing}
    decided = {one.sale for one in kept}
    fresh = [one for one in own if one.number not in decided]
    holding = [one.comparable for one in kept if one.holds and one.id not in gone]
    holding += [one.comparable for one in fresh if not one.noted_too]
    same = of_one_currency(holding, currency or ledger_rules().currency)
    single = without_doubles(same.kept)
    why = {id(one): "another currency" for one in same.set_aside}
    why |= {id(one): "the same car, noted again later" for one in single.set_aside}
    lines = [_line(one, _why_not(one, why.get(id(one.comparable), ""), gone=one.id in gone)) for one in kept]
    lines += [_own_line(one, NOTED_TOO if one.noted_too else why.get(id(one.comparable), "")) for one in fresh]
    shown = tuple(one for one in lines if _has(one.comparable, words))
    problems = (*same.problems, *single.problems)
    counting = sum(one.counts for one in lines)
    return ComparablesShown(shown, len(lines), counting, problems, store.comparable_files())


def comparable_shown(store: Store, ref: str) -> KeptComparable:
    """Give one with all its changes, none for a sale of the ledger of which nobody decided; raises as the others."""
    own = None if store.comparable_ids(ref) else _own(store, ref)
    if own is not None:
        return KeptComparable(sale_id(own.number), own.comparable, True, own.number, "", "", version=0)  # noqa: FBT003
    return store.comparable(_meant(store, ref, author=None))


def note_comparable(
    store: Store, fields: Mapping[str, str], attributes: Mapping[str, str], *, author: str | None = None
) -> KeptComparable:
    """Note a comparable by hand; the same a second time changes nothing.

    Parameters
    ----------
    store : Store
        Where it is kept.
    fields : mapping of str to str
        As `market.FIELDS`: ``when`` as 2026-11-26, ``price``, ``sold`` as "sold" or "asked", and others.
    attributes : mapping of str to str
        What describes the car.
    author : str, optional
        Who says so.

    Raises
    ------
    BadInputError
        An entry cannot be (slug ``comparable-unfit``).
    """
    return store.add_comparable(_comparable(fields, attributes), author=author or present_author())


def amend_comparable(
    store: Store,
    ref: str,
    fields: Mapping[str, str],
    attributes: Mapping[str, str],
    *,
    version: int | None = None,
    author: str | None = None,
) -> KeptComparable:
    """Amend a comparable, or let one that was taken back hold again.

    Parameters
    ----------
    store : Store
        Where it is kept.
    ref : str
        Its id, or a beginning of it that no other has.
    fields, attributes : mapping of str to str
        What is to be said otherwise, as in `note_comparable`; an empty entry is left out from now on, what is not
        named stays. Without any the comparable holds again.
    version : int, optional
        Refuse it when the comparable is at another version.
    author : str, optional
        Who says so.

    Raises
    ------
    NotFoundError
        There is none of that id, or several begin so (slug ``comparable-unknown``).
    BadInputError
        An entry cannot be (slug ``comparable-unfit``).
    StaleError
        Somebody changed it since `version`.
    """
    who = author or present_author()
    id_ = _meant(store, ref, author=who)
    if not fields and not attributes:
        return store.change_comparable(id_, action="again", author=who, expected_version=_since(version))
    present = store.comparable(id_).comparable
    said = {name.casefold(): text for name, text in attributes.items()}
    kept = {name: text for name, text in present.attributes.items() if name.casefold() not in said}
    wanted = _comparable({**fields_of(present), **fields}, kept | said)
    return store.change_comparable(id_, action="amend", comparable=wanted, author=who, expected_version=_since(version))


def take_comparable_back(
    store: Store, ref: str, *, version: int | None = None, author: str | None = None
) -> KeptComparable:
    """Let a comparable count no longer; it is kept. Raises as `amend_comparable`."""
    who = author or present_author()
    id_ = _meant(store, ref, author=who)
    return store.change_comparable(id_, action="take back", author=who, expected_version=_since(version))


def fields_of(comparable: Comparable) -> dict[str, str]:
    """Give what a comparable says as entries, the attributes aside."""
    mileage = comparable.mileage
    return {
        "when": comparable.when.isoformat(),
        "price": f"{comparable.price:f}",
        "currency": comparable.currency,
        "sold": SOLD if comparable.sold else ASKED,
        "car": comparable.car,
        "mileage": "" if mileage is None else f"{mileage.value:.10g}",
        "unit": "" if mileage is None else mileage.unit.value,
        "condition": comparable.condition,
        "where": comparable.where,
        "days": "" if comparable.days is None else str(comparable.days),
        "source": comparable.source,
    }


def comparable_words(one: Comparable) -> str:
    """Give a comparable in a line of words."""
    days = "" if one.days is None else f"{one.days} days"
    told = ", ".join(filter(None, (one.words(), one.where, days, one.source)))
    return f"{one.when.isoformat()}  {SOLD if one.sold else ASKED:<5}  {price_words(one)}  {told}".rstrip()


def price_words(one: Comparable) -> str:
    """Give the price with its currency, pence only where there are any."""
    unit = "£" if one.currency == "GBP" else f"{one.currency} "
    whole = one.price == one.price.to_integral_value()
    return f"{unit}{one.price:,.0f}" if whole else f"{unit}{one.price:,.2f}"


def has_come(day: date) -> bool:
    """Tell whether a day has come, somewhere on earth."""
    return day <= datetime.now(UTC).date() + timedelta(days=1)


def _comparable(fields: Mapping[str, str], attributes: Mapping[str, str]) -> Comparable:
    from shutline.market import FIELDS, comparable_of

    unknown = sorted(set(fields) - set(FIELDS))
    if unknown:
        raise _unfit(f"entries {', '.join(unknown)[:200]}", ", ".join(FIELDS))
    for name in ("when", "price", "sold"):
        if not fields.get(name, "").strip():
            raise _unfit(f"no {name!r}", "when, price and sold are needed")
    if fields["sold"].strip().casefold() not in {SOLD, ASKED}:
        raise _unfit(f"sold: {fields['sold'][:40]!r}", f"{SOLD} or {ASKED}")
    if empty := [name for name in attributes if not name.strip() or len(name) > 100]:
        raise _unfit(f"an attribute called {empty[0][:40]!r}", "a name of up to 100 characters")
    try:
        made = comparable_of(fields, {name.strip().casefold(): text for name, text in attributes.items()})
    except ValueError as error:
        found, _, allowed = str(error).rpartition("; ")
        raise _unfit(found, allowed) from None
    if not has_come(made.when):
        raise _unfit(f"the day {made.when}", "a day that has come")
    return made


def _unfit(found: str, allowed: str) -> BadInputError:
    return BadInputError(Problem("comparable-unfit", "comparable", found, allowed, "Mend it, and enter it again."))


def _meant(store: Store, begin: str, *, author: str | None) -> str:
    """Give the id that begins so; a sale of the ledger is kept as a comparable once an author decides about it."""
    found = store.comparable_ids(begin) if begin else ()
    if not found and author is not None and (own := _own(store, begin)) is not None:
        return store.add_comparable(own.comparable, sale=own.number, author=author).id
    if begin in found:
        return begin
    if len(found) != 1:
        near = ", ".join(found)
        raise NotFoundError(
            Problem(
                slug="comparable-unknown",
                where=f"comparable {begin[:60]!r}",
                found=f"{len(found)} comparables whose ids begin so" if found else "there is none of that id",
                allowed=f"one of: {near}" if near else "the id of a comparable, or a beginning that no other has",
                advice="List them: shutline comparables list.",
            )
        )
    return found[0]


def _since(version: int | None) -> int | None:
    """Give the version that a change was made to; a sale of the ledger that nobody had decided of becomes the 1st."""
    return 1 if version == 0 else version


def _own(store: Store, id_: str) -> OwnSale | None:
    own = own_sales(store, [one for sale, one in store.comparables_that_hold() if sale is None])
    return next((one for one in own if sale_id(one.number) == id_), None)


def _line(kept: KeptComparable, why_not: str) -> ComparableLine:
    last = kept.changes[-1]
    return ComparableLine(
        id=kept.id,
        comparable=kept.comparable,
        counts=not why_not,
        why_not=why_not,
        holds=kept.holds,
        sale=kept.sale,
        version=kept.version,
        by=last.author,
        at=last.at,
    )


def _why_not(kept: KeptComparable, why: str, *, gone: bool) -> str:
    if not kept.holds:
        return "taken back"
    return "the sale does not stand in the ledger any longer" if gone else why


def _own_line(own: OwnSale, why_not: str) -> ComparableLine:
    """Make the line of a sale of the ledger of which nobody decided anything."""
    return ComparableLine(
        id=sale_id(own.number),
        comparable=own.comparable,
        counts=not why_not,
        why_not=why_not,
        holds=True,
        sale=own.number,
        version=0,
        by="",
        at="",
    )


def _has(comparable: Comparable, words: str) -> bool:
    if not words.strip():
        return True
    told = " ".join((*fields_of(comparable).values(), *comparable.attributes.values(), comparable.line)).casefold()
    return all(word in told for word in words.casefold().split())
