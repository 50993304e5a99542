"""Tyres that run together: constructions and sizes on an axle, front against rear, and what they carry."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from shutline.car.findings import Position, Side
from shutline.gauge.limits import Amount, Held, Limit, amount, fitting, hold, unfit
from shutline.gauge.results import Place, Result, result
from shutline.gauge.tyres.markings import Construction, Kind, Marking
from shutline.gauge.tyres.rules import aspects, limits, uses

Wheel = tuple[Position, Side]
"""A wheel of the car: front or rear, near or off; both sides at once where the two are alike."""


def tyres_together(fitted: Mapping[Wheel, Marking]) -> tuple[Result, ...]:
    """Hold the tyres of a car against the rules of what may not run together.

    Parameters
    ----------
    fitted : mapping
        What is marked on the tyre of each wheel; a wheel that nobody looked at is left out, and said so.

    Returns
    -------
    tuple of Result
        One for each axle, and one for front against rear; the bias-belted and sizes that are unlike are to be
        looked up.

    Raises
    ------
    BadInputError
        No tyre was given (slug ``reading-unfit``).
    """
    if not fitted:
        raise unfit("tyres", "none", "the marking of one at least", "Read the markings first.")
    ends = {end: _on(fitted, end) for end in (Position.FRONT, Position.REAR)}
    told = [_axle(end, tyres) for end, tyres in ends.items() if tyres]
    if ends[Position.FRONT] and ends[Position.REAR]:
        told.append(_front_and_rear(ends[Position.FRONT], ends[Position.REAR]))
    return tuple(told)


def carried_kg(tyres: Sequence[Marking]) -> int | None:
    """Give what tyres carry together by their load indices, kg; None where one has none.

    Raises
    ------
    BadInputError
        No tyre was given (slug ``reading-unfit``).
    """
    if not tyres:
        raise unfit("tyres", "none", "the marking of one at least", "Read the markings first.")
    loads = [one.load_kg for one in tyres if one.load_kg is not None]
    return sum(loads) if len(loads) == len(tyres) else None


def axle_load(tyres: Sequence[Marking], weight: Amount, *, end: Position | None = None) -> Result:
    """Hold what the tyres of an axle carry against the weight on it, kg.

    Raises
    ------
    BadInputError
        A tyre has no load index, or the weight is not above nought (slug ``reading-unfit``).
    """
    carried = carried_kg(tyres)
    if carried is None or weight.value <= 0:
        raise unfit(
            "what the tyres carry",
            "a tyre without a load index" if carried is None else f"a weight of {weight.value:g} kg",
            "a load index on each, and a weight above nought",
            "Read the number behind the size; an old tyre may have none: ask a tyre fitter.",
        )
    share = 100 * carried / weight.value
    figure = amount(share, "%", share * weight.uncertainty / weight.value)
    (limit,) = fitting(limits(), "axle_load_share", first_used=None)
    place = Place("tyre", position=end)
    told = f"{place.told()} tyres carry {carried:,} kg by their load indices.".strip()
    held = [hold(figure, limit, what=f"against {weight.told(0)} on the axle", decimals=0)]
    return result("axle_load", uses()["load"], place, figure=figure, told=told, held=held)


def _axle(end: Position, tyres: Sequence[Marking]) -> Result:
    place = Place("tyre", position=end)
    kinds = {one.construction for one in tyres}
    names = " and ".join(sorted(one.value for one in kinds))
    notes = [] if len(tyres) > 1 else ["Only one tyre of the axle was looked at."]
    (rule,) = fitting(limits(), "constructions_on_axle", first_used=None)
    # Of one tyre alone nothing can be told about the pair.
    likely = None if len(tyres) > 1 or len(kinds) > 1 else 0.5
    held = [_counted(rule, len(kinds), f"{names} in {end.value}", likely)]
    held += _bias_belted(kinds, place)
    sizes = {_alike(one) for one in tyres}
    if len(sizes) > 1:
        texts = " and ".join(sorted({one.text for one in tyres}))
        (rule,) = fitting(limits(), "sizes_on_axle", first_used=None)
        held.append(_counted(rule, len(sizes), f"{texts} on one axle", None))
    elif len({one.ratio_pct for one in tyres}) > 1:
        taken = " and ".join(f"{one.pct:g} % ({one.who})" for one in aspects())
        notes.append(f"A size without a ratio counts as near 80 %, and may run with it: {taken}.")
    return result("tyres_on_axle", uses()["mix"], place, held=held, notes=notes)


def _front_and_rear(front: Sequence[Marking], rear: Sequence[Marking]) -> Result:
    ahead, behind = ({one.construction for one in tyres} for tyres in (front, rear))
    wrong = Construction.RADIAL in ahead and Construction.CROSS_PLY in behind
    names = [" and ".join(sorted(one.value for one in kinds)) for kinds in (ahead, behind)]
    (rule,) = fitting(limits(), "radial_front_cross_ply_rear", first_used=None)
    what = f"{names[0]} in front, {names[1]} behind"
    # A wheel nobody looked at may turn what is in order out of order, never the other way.
    likely = None if wrong or len(front) + len(rear) == 4 else 0.5
    notes = [] if len(front) + len(rear) == 4 else ["Not every tyre was looked at."]
    held = [_counted(rule, int(wrong), what, likely), *_bias_belted(ahead | behind, Place("tyre"))]
    return result("tyres_front_and_rear", uses()["mix"], Place("tyre"), held=held, notes=notes)


def _bias_belted(kinds: set[Construction], place: Place) -> list[Held]:
    if Construction.BIAS_BELTED not in kinds or len(kinds) == 1:
        return []
    (rule,) = fitting(limits(), "bias_belted", first_used=None)
    return [_counted(rule, 1, f"bias-belted with another, {place.told() or 'front and rear'}", None)]


def _counted(limit: Limit, count: int, what: str, likely: float | None) -> Held:
    return hold(amount(float(count), ""), limit, what=what, probability=likely, counted=True)


def _on(fitted: Mapping[Wheel, Marking], end: Position) -> list[Marking]:
    both = fitted.get((end, Side.BOTH))
    return [both, both] if both else [fitted[end, side] for side in (Side.NEAR, Side.OFF) if (end, side) in fitted]


def _alike(tyre: Marking) -> str:
    """Give what has to be alike: no ratio counts as 80 %, with which it may run (MOT inspection manual, 5.2.3)."""
    ratio = tyre.ratio_pct or (80 if tyre.kind is Kind.OLD_METRIC else 0)
    return f"{tyre.width_mm:g}/{ratio} {tyre.rim_mm:g}"
