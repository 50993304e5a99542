"""The market: what a car will fetch, what to ask for it, and the most to pay, each with its doubt.

Takes prices that the firm has noted, what it expects where few were seen, and what a car costs; gives estimates with
intervals that say what they promise, bridges in pounds, curves of time and price, and the highest bid. May not read or
write anything but its own data, keeps no prices, and gives no advice.
"""

from shutline.car.comparables import Comparable, Mileage, Unit
from shutline.market.asking import Ask, Asking, Cut, Stock, asking_of, days_to_sell
from shutline.market.bridge import Bridge, Step
from shutline.market.columns import Car
from shutline.market.conditions import ConditionWorth
from shutline.market.fetch import NOTE, Effect, Fetch, Fetched, fetch_of
from shutline.market.fitted import expected_prices
from shutline.market.most import Most, Mover, Outlay, Premium, Tier, margin_tax, most_to_pay, no_tax
from shutline.market.moving import Index, Ratio, YearAgo
from shutline.market.reading import (
    FIELDS,
    Columns,
    Read,
    Row,
    attribute_names,
    columns_by_name,
    comparable_of,
    guarded,
    heading_of,
    read_comparables,
    rows_of,
)
from shutline.market.settings import MarketSettings, Money, holding_a_day, market_settings

__all__ = [
    "FIELDS",
    "NOTE",
    "Ask",
    "Asking",
    "Bridge",
    "Car",
    "Columns",
    "Comparable",
    "ConditionWorth",
    "Cut",
    "Effect",
    "Fetch",
    "Fetched",
    "Index",
    "MarketSettings",
    "Mileage",
    "Money",
    "Most",
    "Mover",
    "Outlay",
    "Premium",
    "Ratio",
    "Read",
    "Row",
    "Step",
    "Stock",
    "Tier",
    "Unit",
    "YearAgo",
    "asking_of",
    "attribute_names",
    "columns_by_name",
    "comparable_of",
    "days_to_sell",
    "expected_prices",
    "fetch_of",
    "guarded",
    "heading_of",
    "holding_a_day",
    "margin_tax",
    "market_settings",
    "most_to_pay",
    "no_tax",
    "read_comparables",
    "rows_of",
]
