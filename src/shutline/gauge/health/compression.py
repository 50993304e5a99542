"""Compression dry and wet: cylinder against cylinder, by both rules that are about, each named."""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace

from shutline.car.readings import Reading
from shutline.gauge.health.rules import limits, meanings, uses
from shutline.gauge.limits import Amount, Held, Limit, Outcome, amount, fitting, hold, maker_in, makers_limit, unfit
from shutline.gauge.results import Meaning, Place, Result, result

_ENGINE = Place("engine")


def compression(
    readings: Iterable[Reading], *, cylinders: int | None = None, maker: Limit | None = None
) -> tuple[Result, ...]:
    """Tell what compression readings say.

    Parameters
    ----------
    readings : iterable of Reading
        ``compression``, all in one unit, whichever; the spot is the cylinder, ``state`` of the details is ``dry``
        (where nothing is said) or ``wet``. Of several of one cylinder the highest counts. Others are passed over.
    cylinders : int, optional
        How many the engine has, so that it can be said which were not measured.
    maker : Limit, optional
        What the maker asks, entered by the user: see `makers_compression`.

    Returns
    -------
    tuple of Result
        How even the cylinders are, by both rules; each held against the maker's figure, where there is one; and what
        oil changed in those that were measured wet.

    Raises
    ------
    BadInputError
        Units are mixed (slug ``reading-unfit``).
    """
    by = _sorted(readings)
    dry, wet, unit = by.dry, by.wet, by.unit
    missing = [number for number in range(1, (cylinders or 0) + 1) if number not in dry]
    notes = ["Comparable only when taken with one tester, engine warm, throttle open, battery strong."]
    if missing:
        notes.append(f"Not measured: {', '.join(map(str, missing))}.")
    if by.unnamed:
        notes.append(f"Left out, for nobody said of which cylinder: {by.unnamed}.")
    if len(dry) < 2 or not any(one.value > 0 for one in dry.values()):
        return (_too_few(dry, unit, notes),)
    told = [_evenness(dry, unit, notes)]
    if maker is not None:
        told.append(_by_the_book(dry, maker, unit))
    if any(number in dry for number in wet):
        told.append(_wet(dry, wet))
    return tuple(told)


def makers_compression(unit: str, *, least: float | None, most: float | None = None, source: str) -> Limit:
    """Make a limit of what the maker asks of each cylinder, in any of its units; raises as `makers_limit` does."""
    return makers_limit("compression", unit, least=least, most=most, source=source)


def ratio_pct(one: Amount, other: Amount) -> Amount:
    """Give one figure in per cent of another; their errors taken as independent, the wider choice.

    Raises
    ------
    BadInputError
        The other is nought (slug ``reading-unfit``).
    """
    if not other.value > 0:
        raise unfit("compression", "nought in every cylinder", "a figure above nought", "Crank with the throttle open.")
    share = one.value / other.value
    own = math.hypot(one.uncertainty, share * other.uncertainty) / other.value
    return amount(100 * share, "%", 100 * own, floor=0.0)


@dataclass(frozen=True, slots=True)
class _Sorted:
    """The figures by cylinder, dry and wet, in one unit; how many were of no cylinder."""

    dry: Mapping[int, Amount]
    wet: Mapping[int, Amount]
    unit: str
    unnamed: int


def _too_few(dry: Mapping[int, Amount], unit: str, notes: list[str]) -> Result:
    each = ", ".join(f"{number}: {_figure(one)} {unit}" for number, one in sorted(dry.items())) or "none by cylinder"
    told = f"Compression dry, {each}. Measure every cylinder: they tell by each other."
    return result("compression_even", uses()["compression"], _ENGINE, told=told, notes=notes)


def _figure(one: Amount) -> str:
    """Give a figure to three places: 9.05, 12.5, 130, 1,250."""
    return f"{one.value:.3g}" if one.value < 100 else f"{one.value:,.0f}"


def _sorted(readings: Iterable[Reading]) -> _Sorted:
    by: dict[str, dict[int, Amount]] = {"dry": {}, "wet": {}}
    units = set()
    unnamed = 0
    for reading in readings:
        if reading.quantity != "compression":
            continue
        if not reading.spot.isdecimal():
            unnamed += 1
            continue
        units.add(reading.unit)
        figures = by[str(reading.details.get("state", "dry"))]
        new = amount(reading.value, reading.unit, reading.uncertainty, floor=0.0)
        number = int(reading.spot)
        if number not in figures or new.value > figures[number].value:
            figures[number] = new
    if len(units) > 1:
        raise unfit("compression", f"units {', '.join(sorted(units))}", "one unit", "Give all figures in the same.")
    return _Sorted(by["dry"], by["wet"], next(iter(units), ""), unnamed)


def _evenness(dry: Mapping[int, Amount], unit: str, notes: list[str]) -> Result:
    lowest = min(dry, key=lambda number: dry[number].value)
    highest = max(dry, key=lambda number: dry[number].value)
    figure = ratio_pct(dry[lowest], dry[highest])
    each = ", ".join(f"{number}: {_figure(one)}" for number, one in sorted(dry.items()))
    told = f"Compression, {unit}: {each}; lowest {lowest}, highest {highest}."
    rules = fitting(limits(), "compression_ratio", first_used=None)
    held = [hold(figure, limit, what="the lowest against the highest") for limit in rules]
    return result("compression_even", uses()["compression"], _ENGINE, figure=figure, told=told, held=held, notes=notes)


def _by_the_book(dry: Mapping[int, Amount], maker: Limit, unit: str) -> Result:
    maker = maker_in(maker, "compression", unit)
    held = [hold(one, maker, what=f"cylinder {number}") for number, one in sorted(dry.items())]
    worst = min(held, key=lambda one: one.probability or 0.0)
    over = maker.upper is not None and any(one.low > maker.upper for one in dry.values())
    meant = [meanings()["all_high"]] if over else []
    told = "" if worst.outcome is Outcome.WITHIN else "Not every cylinder is surely within."
    place, use = _ENGINE, uses()["compression"]
    return result("compression_maker", use, place, told=told, held=_named_apart(held), meanings=meant)


def _named_apart(held: list[Held]) -> list[Held]:
    """Make each cylinder a thing of its own, so that they hold together: one outside is outside."""
    return [replace(one, limit=replace(one.limit, of=f"{one.limit.of}_{number}")) for number, one in enumerate(held, 1)]


def _wet(dry: Mapping[int, Amount], wet: Mapping[int, Amount]) -> Result:
    both = sorted(set(dry) & set(wet))
    (rule,) = fitting(limits(), "wet_rise", first_used=None)
    most = max(one.value for one in dry.values())
    even = next(one.value for one in limits() if one.id == "compression-90") or 0.0
    low = [number for number in both if 100 * dry[number].value < even * most]
    sentences, staying = [], []
    meant: list[Meaning] = []
    for number in both:
        if dry[number].value == 0:
            sentences.append(f"cylinder {number}: nothing dry, {wet[number].told()} with oil")
            continue
        share = ratio_pct(wet[number], dry[number])
        rise = amount(share.value - 100, "%", share.uncertainty)
        outcome = hold(rise, rule, what="rise").outcome
        words = {Outcome.OUTSIDE: "lifts it", Outcome.WITHIN: "hardly changes it"}.get(outcome, "may lift it or not")
        sentences.append(f"cylinder {number}: oil {words}, {rise.told()}")
        if outcome is Outcome.OUTSIDE:
            meant.append(meanings()["wet_rises"])
        elif outcome is Outcome.WITHIN and number in low:
            staying.append(number)
    if staying:
        side_by_side = any(number + 1 in staying for number in staying)
        meant.append(meanings()["wet_neighbours" if side_by_side else "wet_stays"])
    told = f"Dry and wet: {'; '.join(sentences)}. Held against {rule.rule} ({rule.source})."
    notes = ("Cylinders are taken to stand side by side where their numbers follow: not so in a V or a flat engine.",)
    return result(
        "compression_wet",
        uses()["compression"],
        _ENGINE,
        told=told,
        meanings=dict.fromkeys(meant),
        notes=notes if len(staying) > 1 else (),
    )
