"""The price of one car: what it will fetch, what to ask for it, the most to pay; and what people say of it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import asdict, replace
from datetime import UTC, date, datetime
from typing import TYPE_CHECKING, Any

from shutline.car.errors import BadInputError, Problem
from shutline.car.prep_decisions import PrepKind
from shutline.usecases.comparables import kept_comparables
from shutline.usecases.ledger_settings import ledger_rules
from shutline.usecases.look import find_car
from shutline.usecases.market_settings import firm_market
from shutline.usecases.own_sales import MARK, plain_mark
from shutline.usecases.own_stock import own_stock
from shutline.usecases.price_car import attributes_of, car_as_called, check_attributes
from shutline.usecases.price_fetch import MarketHere, conditions_of, market_here
from shutline.usecases.price_prep import PrepTaken, prep_taken, worths_of
from shutline.usecases.price_shown import FigureShown, PriceAsked, PriceShown
from shutline.usecases.price_sums import (
    PER_CENT,
    POUNDS,
    SumsAsked,
    asking_shown,
    figures_of,
    holding_of,
    mosts_of,
)
from shutline.usecases.price_tax import WAYS, TaxHere, tax_here
from shutline.usecases.settings import author as present_author
from shutline.usecases.told_facts import told_facts, values_of

if TYPE_CHECKING:
    from shutline.car.carfile import CarFile
    from shutline.car.prep_decisions import PrepDecision
    from shutline.car.price_said import PriceSaid
    from shutline.market import Fetch, Premium
    from shutline.market.firm import Firm
    from shutline.store import Store

LIMITS: Mapping[str, tuple[float, float]] = {
    "allowed": (0.1, 90),
    "days": (0, 3_650),
    "holding": (0, 10_000),
    "asking": (1, 100_000_000),
    **dict.fromkeys(("prep", "fees", "transport", "warranty", "knocked_off"), (0, 10_000_000)),
}
"""What a figure may be, from and to."""
KEPT = ("allowed", "days", "holding", "prep", "fees", "transport", "warranty", "knocked_off", "premium", "tax")
"""Figures that can be kept with a car; its asking price is kept with preparation."""
_TWICE = frozenset({"comparable-twice", "comparable-currency"})
_TO_THE_TRADE = (
    "A car that stands until the last day goes to the trade; that it fetches less then is in what to ask, and not in "
    "the most to pay."
)
_EACH_BY_ITSELF = (
    "Figures are drawn each by itself. A car that turns out bad costs more to put right and fetches less: then the "
    "most to pay is less than is told."
)


def price(store: Store, car: str, asked: PriceAsked | None = None) -> PriceShown:
    """Work out what a car will fetch, what to ask, and the most to pay.

    Parameters
    ----------
    store : Store
        Where it is kept.
    car : str
        Its name, or a beginning of it that no other has.
    asked : PriceAsked, optional
        In place of what was kept and of the firm's settings.

    Raises
    ------
    NotFoundError, UserError
        No car begins so, or several do; a figure, an auction or a way of taxing cannot be (slug ``price-refused``),
        or what is kept of the car, the firm's settings or its tables hold what they may not.
    """
    file = find_car(store, car)
    said = store.price_said(file.name)
    firm, rules = firm_market(), ledger_rules()
    wanted = _merged(asked or PriceAsked(), said, firm)
    day = wanted.day or today()
    check_figures({name: getattr(wanted, name) for name in (*KEPT, "asking")}, firm)
    here, others, alone = _market(store, file, firm, day=day, currency=rules.currency)
    attributes = attributes_of(file, said, others.names(), day=day)
    called = car_as_called({one.name: one.value for one in attributes}, where="what is noted of the car")
    found = others.fetched(called)
    fetch = found.cars[0]
    decisions = store.prep_decisions(file.name)
    taken = _prep(store, file, decisions, fetch)
    taxed = tax_here(store, file.name, wanted=wanted.tax or "", day=day)
    shown = PriceShown(
        car=file.name,
        title=file.title,
        day=day,
        currency=rules.currency,
        attributes=attributes,
        comparables=len(here.comparables),
        set_aside=sum(one.slug in _TWICE for one in found.problems),
        fetch=fetch,
        conditions=() if fetch is None else conditions_of(fetch, others.names(), called.condition),
        findings=worths_of(file, taken, fetch, attributes, others.names()),
        prep=taken.here,
        way_off=0.0,
        asking=None,
        last_day=firm.settings.money.last_day,
        figures=(),
        premium=wanted.premium or "",
        premiums=tuple(firm.premiums),
        tax=wanted.tax or "",
        taxed=taxed.taxed,
        tax_words=taxed.words,
        mosts=(),
        paid=taxed.paid,
        left_out=alone,
        said=said,
        problems=tuple(one for one in found.problems if one.slug not in _TWICE),
        note=_note(),
    )
    if fetch is None:
        return shown
    reckoned = 0.0 if called.condition else taken.stays
    off = reckoned if wanted.knocked_off is None else wanted.knocked_off
    stood = own_stock(
        store,
        here.comparables,
        today=day,
        currency=here.currency,
        index=here.index,
        settings=here.settings,
        expect=here.expected,
    )
    given = {name: value for name in KEPT if isinstance(value := getattr(wanted, name), float | int)}
    sums = SumsAsked(fetch, off, stood.stock, firm.settings, given)
    premium = firm.premiums.get(wanted.premium or "")
    shown = replace(shown, left_out=(_TO_THE_TRADE, _EACH_BY_ITSELF, *alone, *(f"{one}." for one in stood.left_out)))
    return _summed(shown, sums, taken, taxed, premium, wanted=wanted, decisions=decisions, reckoned=reckoned)


def _market(
    store: Store, file: CarFile, firm: Firm, *, day: date, currency: str
) -> tuple[MarketHere, MarketHere, tuple[str, ...]]:
    """Give the market by all prices, and by those of other cars, with what is told of the difference."""
    every = kept_comparables(store)
    marks = {plain_mark(str(value)) for value in values_of(told_facts(file, MARK))}
    marks |= {plain_mark(f"stock {row['stock']}") for row in store.ledger_of(file.name)}
    others = [one for one in every if not one.car or plain_mark(one.car) not in marks]
    here = market_here(every, day=day, currency=currency, firm=firm)
    if len(others) == len(every):
        return here, here, ()
    count = len(every) - len(others)
    told = f"{count} price{'s' * (count != 1)} of this very car: what it will fetch is by the others."
    return here, market_here(others, day=day, currency=currency, firm=firm), (told,)


def _summed(
    shown: PriceShown,
    sums: SumsAsked,
    taken: PrepTaken,
    taxed: TaxHere,
    premium: Premium | None,
    *,
    wanted: PriceAsked,
    decisions: tuple[PrepDecision, ...],
    reckoned: float,
) -> PriceShown:
    settings = 100 * sums.money.allowed
    a_day, whence = holding_of(sums, taxed.paid)
    decided = next((one for one in decisions if one.kind is PrepKind.ASKING), None)
    kept = None if decided is None or decided.pence is None or not decided.holds else decided.pence / 100
    asking = asking_shown(
        sums,
        taxed,
        holding=sums.given.get("holding", a_day),
        kept=kept,
        version=None if decided is None else decided.version,
        tried=wanted.asking,
    )
    figures, outlay = figures_of(sums, taken, taxed, asking=asking, holding=(a_day, whence))
    allowed = settings if wanted.allowed is None else wanted.allowed
    return replace(
        shown,
        way_off=sums.off,
        asking=asking,
        figures=(
            _allowed(allowed, settings, given=wanted.allowed is not None),
            _off(sums.off, reckoned, wanted, taken),
            *figures,
        ),
        mosts=mosts_of(sums, outlay, taxed, allowed=allowed / 100, premium=premium),
    )


def _allowed(allowed: float, settings: float, *, given: bool) -> FigureShown:
    whence = "given here" if given else "the firm's settings"
    words = "Allowed chance of a loss"
    return FigureShown("allowed", words, PER_CENT, *(allowed,) * 3, whence, given, settings, 50.0)


def _off(off: float, reckoned: float, wanted: PriceAsked, taken: PrepTaken) -> FigureShown:
    if wanted.knocked_off is not None:
        whence = "given here"
    elif reckoned:
        whence = "what stays after preparation, by the table; no condition is noted that says it already"
    else:
        whence = "the condition that is noted says it" if taken.stays else "nothing stays that the table knows"
    top = max(1000.0, 2 * off, 2 * taken.stays)
    words = "Knocked off for what stays"
    return FigureShown("knocked_off", words, POUNDS, *(off,) * 3, whence, wanted.knocked_off is not None, reckoned, top)


def _prep(store: Store, file: CarFile, decisions: tuple[PrepDecision, ...], fetch: Fetch | None) -> PrepTaken:
    kept = next((one.pence for one in decisions if one.kind is PrepKind.ASKING and one.holds), None)
    if kept is not None:
        return prep_taken(store, file, decisions, asking=kept / 100, words="what is to be asked for it")
    if fetch is not None:
        return prep_taken(store, file, decisions, asking=float(fetch.middle), words="what it will fetch")
    return prep_taken(store, file, decisions, asking=None, words="")


def keep_price(
    store: Store,
    car: str,
    *,
    attributes: Mapping[str, str | None] | None = None,
    figures: Mapping[str, float | str | None] | None = None,
    version: int | None = None,
    author: str | None = None,
) -> PriceSaid:
    """Keep what a car is called and the figures that count for it; what is not named stays, None takes it back.

    Parameters
    ----------
    store, car
        As for `price`.
    attributes : mapping of str to str or None, optional
        By the names of the comparables, ``mileage``, ``condition`` and ``where`` among them.
    figures : mapping of str to float, str or None, optional
        Some of `KEPT`.
    version : int, optional
        Refuse it when what is kept is at another version; 0 where nothing was.
    author : str, optional
        Who says so; who is logged in when left out.

    Raises
    ------
    NotFoundError, UserError
        No such car, or what was said cannot be (slugs ``price-refused``, ``fetch-asked``).
    StaleError
        Somebody said otherwise since `version`.
    """
    file = find_car(store, car)
    given = dict(figures or {})
    unknown = sorted(set(given) - set(KEPT))
    if unknown:
        raise _refused(unknown[0], "there is no such figure", ", ".join(KEPT))
    check_figures(given, firm_market())
    return store.say_price(
        file.name,
        attributes=check_attributes(attributes or {}),
        figures=given,
        author=author or present_author(),
        expected_version=version,
    )


def check_figures(given: Mapping[str, Any], firm: Firm) -> None:
    """Refuse a figure that cannot be; raises BadInputError (slug ``price-refused``)."""
    for name, value in given.items():
        if value is None:
            continue
        if name in LIMITS:
            low, high = LIMITS[name]
            if isinstance(value, bool) or not isinstance(value, int | float) or not low <= value <= high:
                raise _refused(name, repr(value)[:40], f"a number from {low:g} to {high:,g}")
        elif name == "premium" and value not in {"", *firm.premiums}:
            allowed = ", ".join(firm.premiums) or "none is in the settings of the market"
            raise _refused(name, repr(value)[:40], allowed)
        elif name == "tax" and value not in {"", *WAYS}:
            raise _refused(name, repr(value)[:40], ", ".join(WAYS))


def _merged(asked: PriceAsked, said: PriceSaid | None, firm: Firm) -> PriceAsked:
    """Lay what is asked over what was kept; an auction that is no longer in the settings counts as none."""
    kept = dict(said.figures) if said is not None and asked.kept else {}
    if kept.get("premium") not in firm.premiums:
        kept.pop("premium", None)
    given = {name: value for name, value in asdict(asked).items() if value is not None}
    return PriceAsked(**{**kept, **given})


def _refused(where: str, found: str, allowed: str) -> BadInputError:
    return BadInputError(Problem("price-refused", where, found, allowed, "Give another."))


def _note() -> str:
    from shutline.market import NOTE

    return NOTE


def today() -> date:
    """Give the day that prices are moved to where none is named."""
    return datetime.now(UTC).date()
