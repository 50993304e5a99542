"""Readings into spots: the mean of close readings, one that does not repeat left out by a stated rule."""

from __future__ import annotations

import math
import statistics
from collections.abc import Sequence

from shutline.car.errors import Problem
from shutline.car.findings import Position, Side
from shutline.car.readings import Reading
from shutline.gauge.paint.construction import Body, refusal
from shutline.gauge.paint.results import DroppedReading, PaintSpot, Panel
from shutline.gauge.paint.tables import settings, words
from shutline.gauge.readings.quantities import quantity, spots

QUANTITY = "paint_film"
LEAST_UM = 1.0
"""A film is never taken as thinner than this where its logarithm is wanted: bare metal reads nought."""


def spots_of(readings: Sequence[Reading], *, body: Body | None = None) -> tuple[tuple[PaintSpot, ...], list[Problem]]:
    """Gather readings into spots.

    Readings of one panel, one series and one word for the spot are close readings of one spot, and so are those without
    a series that name the same spot on the same day; one that names neither is a spot by itself. Readings of other
    quantities are passed over.

    Parameters
    ----------
    readings : sequence of Reading
    body : Body, optional
        What the panels are made of; a figure on what is no metal, or by a method that does not go with it, is refused.

    Returns
    -------
    spots : tuple of PaintSpot
        By panel, in the order read.
    problems : list of Problem
        What was not taken (``paint-no-metal``, ``paint-method``, ``paint-not-a-panel``).
    """
    body = body or Body()
    problems: dict[tuple[str, str, str], Problem] = {}
    gathered: dict[tuple[Panel, str, str], list[Reading]] = {}
    for number, reading in enumerate((one for one in readings if one.quantity == QUANTITY), start=1):
        for panel in _panels(reading):
            problem = refusal(panel.name, panel.part, body=body, method=str(reading.details.get("method", "")))
            if problem is not None:
                problems.setdefault((problem.slug, problem.where, problem.found), problem)
                continue
            # Three readings at 'top' are of one spot; of three with no word for it nobody knows.
            day = (reading.measured_at or "")[:10]
            series = reading.series or (day if reading.spot.strip() else f"{day} reading {number}")
            gathered.setdefault((panel, series, reading.spot.strip().casefold()), []).append(reading)
    found = [_spot(panel, series, word, own) for (panel, series, word), own in gathered.items()]
    order = {panel: i for i, panel in enumerate(dict.fromkeys(spot.panel for spot in found))}
    return tuple(sorted(found, key=lambda spot: order[spot.panel])), list(problems.values())


def drop_unrepeatable(values: Sequence[float]) -> tuple[tuple[int, ...], tuple[int, ...]]:
    """Tell which of the close readings of a spot are kept and which dropped, by their indices.

    A reading is dropped when it lies further from the middle of the others than a share of it, and the others lie
    within another share of each other; one in three may go. The shares are data. Of two readings none is dropped:
    which of them repeats nobody knows.
    """
    own = settings().spots
    kept = list(range(len(values)))
    dropped: list[int] = []
    while len(values) >= own.readings and len(dropped) < len(values) // 3:
        middle = statistics.median(values[i] for i in kept)
        worst = max(kept, key=lambda i: abs(values[i] - middle))
        others = [values[i] for i in kept if i != worst]
        middle = statistics.median(others)
        agree = max(others) - min(others) <= own.agree * middle
        if not agree or abs(values[worst] - middle) <= own.unrepeatable * middle:
            break
        kept.remove(worst)
        dropped.append(worst)
    return tuple(kept), tuple(sorted(dropped))


def _panels(reading: Reading) -> tuple[Panel, ...]:
    sides = (Side.NEAR, Side.OFF) if reading.side is Side.BOTH else (reading.side,)
    ends = (Position.FRONT, Position.REAR) if reading.position is Position.BOTH else (reading.position,)
    return tuple(Panel(reading.part, side, end) for side in sides for end in ends)


def _spot(panel: Panel, series: str, word: str, readings: Sequence[Reading]) -> PaintSpot:
    own, said = settings().spots, words()["sentences"]
    unit = quantity(QUANTITY)
    values = [unit.in_first(one.value, one.unit) for one in readings]
    scale = [unit.in_first(1.0, one.unit) for one in readings]
    gauge = [one.uncertainty * factor for one, factor in zip(readings, scale, strict=True)]
    kept, dropped = drop_unrepeatable(values)
    used = [values[i] for i in kept]
    mean = statistics.fmean(used)
    common = math.sqrt(statistics.fmean(gauge[i] ** 2 for i in kept))
    scatter = statistics.stdev(used) if len(used) > 1 else 0.0
    # A type A estimate of two or three readings is poor: what the gauge itself may do bounds it from below.
    spread = max(scatter, common) / math.sqrt(len(used))
    place = panel.name + (f", {word}" if word else "")
    notes = []
    if len(used) < own.readings:
        notes.append(said["few_readings"].format(count=len(used), where=place, least=own.readings))
    wide = (max(used) - min(used)) / mean if mean > 0 else 0.0
    steady = len(used) == 1 or wide <= own.unrepeatable
    if not steady:
        notes.append(said["unsteady"].format(where=place, share=round(100 * wide)))
    along, up = _where(word)
    return PaintSpot(
        panel=panel,
        name=series,
        words=word,
        along=along,
        up=up,
        mean_um=mean,
        uncertainty_um=spread,
        common_um=common,
        readings=len(used),
        steady=steady,
        dropped=tuple(
            DroppedReading(
                values[i],
                said["dropped"].format(
                    value=f"{values[i]:.0f}", where=place, share=round(100 * abs(values[i] / mean - 1)) if mean else 100
                ),
            )
            for i in dropped
        ),
        notes=tuple(notes),
        sources=tuple(dict.fromkeys(one.source for one in readings if one.source)),
        quotes=tuple(dict.fromkeys(one.quote for one in readings if one.quote)),
    )


def _where(word: str) -> tuple[float | None, float | None]:
    """Give how far back and how far up the words of a spot tell, shares of the panel; None where they do not.

    'bottom' tells how far up only, 'middle' both; in 'bottom middle' the latter fills what the former left open.
    """
    known = spots()
    named = sorted(
        (known[one] for one in word.split() if one in known),
        key=lambda one: (one.along is not None) + (one.up is not None),
    )
    along = next((one.along for one in named if one.along is not None), None)
    up = next((one.up for one in named if one.up is not None), None)
    return along, up
