"""What the house's own report says of the price; nothing for a buyer is made of it."""

from __future__ import annotations

import hashlib
from datetime import date
from typing import TYPE_CHECKING

from shutline.car.errors import UserError
from shutline.usecases.comparables import kept_comparables
from shutline.usecases.market_settings import firm_market
from shutline.usecases.prep_report import line_of, part_of
from shutline.usecases.price import price, today
from shutline.usecases.price_fetch import market_here
from shutline.usecases.price_shown import PriceAsked
from shutline.usecases.price_sums import money_words
from shutline.usecases.price_tax import tax_here

if TYPE_CHECKING:
    from shutline.car.carfile import CarFile
    from shutline.publish.report.model import MeasuredGauge, MeasuredSection
    from shutline.store import Store
    from shutline.usecases.price_shown import PriceShown

HEADING = "Price, for the house alone"
INTRO = (
    "What was worked out of what it will fetch, what to ask and the most to pay, from prices that the house has noted. "
    "These figures are the house's own: take this section out before the report is given to anybody else. Nothing that "
    "is made for a buyer has them."
)


def price_section(store: Store, car: CarFile, *, day: date) -> MeasuredSection | None:
    """Give the section of the house's report; None where nobody has said what the car is, or there are no prices.

    Parameters
    ----------
    store : Store
    car : CarFile
    day : date
        That of the report; prices are moved to it.

    Raises
    ------
    UserError
        As `price` does.
    """
    from shutline.publish.report.model import MeasuredSection

    if store.price_said(car.name) is None:
        return None
    found = price(store, car.name, PriceAsked(day=day))
    if found.fetch is None or found.asking is None:
        return None
    parts = (_fetched(found), _asked(found), _most(found))
    return MeasuredSection(HEADING, INTRO, "", parts)


def price_report_mark(store: Store, car: CarFile) -> str:
    """Give what changes whenever the section would, the day apart; empty where there is none."""
    said = store.price_said(car.name)
    if said is None:
        return ""
    try:
        firm, day = firm_market(), date(1, 1, 1)
        taxed = tax_here(store, car.name, wanted="", day=today())
        here = market_here(kept_comparables(store), day=day, currency="", firm=firm)
        made_of = repr((said.attributes, said.figures, here.mark, firm.premiums, taxed.words, taxed.paid))
    except UserError as error:
        made_of = str(error)
    return hashlib.sha256(made_of.encode("utf-8", "replace")).hexdigest()


def _fetched(found: PriceShown) -> MeasuredGauge:
    fetch = found.fetch
    lines = [] if fetch is None else [line_of(f"{_between(fetch.middle, fetch.low, fetch.high)}.", fetch.promise)]
    lines += [line_of(f"Beyond what was seen: {one}.") for one in (fetch.outside if fetch else ())]
    lines += [line_of(f"Not noted of this car: {', '.join(fetch.unsaid)}.")] if fetch and fetch.unsaid else []
    noted = ", ".join(f"{one.name} {one.value}" for one in found.attributes if one.value)
    return part_of("What it will fetch", lines, f"As {noted}; nothing here is advice." if noted else "")


def _asked(found: PriceShown) -> MeasuredGauge:
    if found.asking is None:
        return part_of("What to ask", [])
    asking = found.asking.asking
    best = f"{money_words(asking.best.price)} leaves most on average; from {money_words(asking.flat_low)} to "
    lines = [line_of(f"{best}{money_words(asking.flat_high)} it makes little difference.")]
    if found.asking.kept is not None:
        lines.append(line_of(f"To be asked, as was decided: {money_words(found.asking.kept)}."))
    return part_of("What to ask", lines)


def _most(found: PriceShown) -> MeasuredGauge:
    lines = [line_of(one.words, f"With {one.tax_words} {' '.join(one.movers)}") for one in found.mosts]
    return part_of("The most to pay", lines, found.tax_words)


def _between(middle: int, low: int, high: int) -> str:
    return f"About {money_words(middle)}, between {money_words(low)} and {money_words(high)}"
