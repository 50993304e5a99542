"""What a car will fetch, as commands print it."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from shutline.cli import output

if TYPE_CHECKING:
    from shutline.market import Bridge, Fetch


def fetch_lines(fetch: Fetch) -> Iterator[str]:
    """Give the estimate, what it promises, what lies outside, and the way from the nearest cars; the note aside."""
    unit = "£" if fetch.currency == "GBP" else f"{fetch.currency} "
    yield f"{unit}{fetch.middle:,}, between {unit}{fetch.low:,} and {unit}{fetch.high:,}; from {fetch.cars} prices"
    yield output.wrapped(fetch.promise, indent="  ")
    for one in fetch.outside:
        yield f"  beyond what was seen: {output.printable(one)}"
    if fetch.unsaid:
        yield output.wrapped(f"not noted of this car: {output.printable(', '.join(fetch.unsaid))}", indent="  ")
    for same in fetch.same:
        yield f"  what each is worth by itself cannot be told: {output.printable(same.sentence())}"
    for first, second, close in fetch.together:
        pair = output.printable(f"{first}, {second}")
        yield f"  these move together ({close:g}), what each is worth is doubtful: {pair}"
    if fetch.ratio is not None:
        middle, low, high = fetch.ratio.percent()
        yield f"  paid of what is asked: {middle:.0f} % ({low:.0f} to {high:.0f}), {fetch.ratio.cars} cars seen as both"
    for year in fetch.years:
        ends = f"{year.low:.0f} to {year.high:.0f}"
        ago = f"{year.years} year{'s' * (year.years > 1)} ago"
        yield f"  prices {ago}, in % of today's: {year.percent:.0f} ({ends})"
    for bridge in fetch.bridges:
        yield from _bridge(bridge)


def _bridge(bridge: Bridge) -> Iterator[str]:
    yield f"from {output.printable(bridge.car)}"
    yield f"  {bridge.start:>9,}"
    for step in bridge.steps:
        yield f"  {step.pounds:>+9,}  ± {step.doubt:,}  {output.printable(step.what)}"
    yield f"  {bridge.end:>9,}"
