"""What was measured beside what was said: paint film, damp, brakes and tyres, as cases for a person to decide."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator, Mapping, Sequence
from contextlib import suppress
from functools import cache, lru_cache
from typing import TYPE_CHECKING

import msgspec

from shutline.car.carfile import CarFile
from shutline.car.errors import UserError
from shutline.car.findings import Finding, Footing, FootingKind, State
from shutline.car.readings import Reading
from shutline.car.vocabulary import vocabulary
from shutline.survey.tables import one_of, shipped, table_rows

if TYPE_CHECKING:
    from shutline.gauge.against import ResultAgainst
    from shutline.gauge.damp import DampResult
    from shutline.gauge.limits import FirstUse
    from shutline.gauge.paint import PaintResult
    from shutline.survey.odds import Odds


_MEASURED_OF = {"tread_depth": ("tread_depth",)}
"""The quantities that a result is of, where they are not those of the rollers."""


def standing_readings(car_file: CarFile, *quantities: str) -> tuple[Reading, ...]:
    """Give the readings that stand, each in the first unit of its quantity; all quantities where none is named."""
    from shutline.gauge.readings import in_first_unit

    return tuple(
        in_first_unit(one.reading)
        for one in car_file.readings
        if one.state is State.STANDS and (not quantities or one.reading.quantity in quantities)
    )


def paint_of(car_file: CarFile) -> PaintResult | None:
    """Tell what the paint film of a car comes to; None where none was measured.

    What the body is made of is taken from what was said and noted of the car.
    """
    readings = standing_readings(car_file, "paint_film")
    if not readings:
        return None
    sayings = [stretch.text for recording in car_file.recordings for stretch in recording.stretches]
    sayings += [note.words for note in car_file.notes if note.words]
    return _compared(msgspec.json.encode(readings), tuple(sayings))


def damp_of(car_file: CarFile) -> DampResult | None:
    """Tell what moisture readings of a car come to; None where there are none."""
    from shutline.gauge.damp import compare_damp

    readings = standing_readings(car_file, "moisture")
    return compare_damp(readings) if readings else None


def first_use(car_file: CarFile) -> FirstUse | None:
    """Give when a car was first used, as its facts tell: registered first, else the year; None where they vary."""
    from shutline.gauge.limits import FirstUse

    for name in ("first_registered", "year"):
        facts = [kept.fact for kept in car_file.facts if kept.fact.name == name and kept.fact.state is not State.STRUCK]
        stands = [fact for fact in facts if fact.state is State.STANDS] or facts
        values = {str(fact.value) for fact in stands}
        if len(values) == 1:
            try:
                return FirstUse.of(values.pop())
            except UserError:
                continue
    return None


def gauges_against(car_file: CarFile, findings: Sequence[Finding]) -> tuple[ResultAgainst, ...]:
    """Hold findings against what the rollers and the tread of the tyres say.

    Limits go by the first use of the car; which of two is for it where more is asked than its file tells is left open,
    and only what is outside both stands against anything. An efficiency at which wheels locked would have been higher,
    and stands against nothing.
    """
    from shutline.gauge.against import results_against
    from shutline.gauge.brakes import brakes_against, roller_test
    from shutline.gauge.tyres import treads, tyres_against

    first_used = first_use(car_file)
    rolled = standing_readings(car_file, "brake_effort", "test_weight")
    depths = standing_readings(car_file, "tread_depth")

    def brakes() -> tuple[ResultAgainst, ...]:
        return brakes_against(findings, roller_test(rolled, first_used=first_used), rolled)

    def tyres() -> tuple[ResultAgainst, ...]:
        return results_against(findings, treads(depths, first_used=first_used), tyres_against())

    found: list[ResultAgainst] = []
    for told in (brakes, tyres):
        # Figures that nothing can be told of are told of beside the gauges, and stand against nothing.
        with suppress(UserError):
            found += told()
    return tuple(found)


def measured_at_odds(car_file: CarFile) -> Iterator[Odds]:
    """Find the findings that what was measured cannot well be true beside: paint film, damp, brakes, then tyres."""
    yield from _film_at_odds(car_file)
    yield from _damp_at_odds(car_file)
    yield from _gauges_at_odds(car_file)


def _film_at_odds(car_file: CarFile) -> Iterator[Odds]:
    from shutline.gauge.paint import against
    from shutline.survey.odds import OddsKind, Told, make_odds

    film = paint_of(car_file)
    if film is None:
        return
    kept = [one for one in car_file.going_out() if one.finding.footings]
    for one in against([each.finding for each in kept], film):
        finding = kept[one.finding]
        panel = film.panel(one.panel)
        sentence = panel.sentence if panel is not None else one.sentence
        sources = dict.fromkeys(source for spot in panel.spots for source in spot.sources) if panel is not None else {}
        footings = tuple(Footing(FootingKind.MEASURED, source, quote=sentence) for source in sources or ("",))
        told = (
            Told(finding.id, finding.finding.footings, finding=finding.finding, struck_with=(finding.id,)),
            # Named by the panel: one more reading leaves it the same case, though it says something else then.
            Told("", footings, words=sentence, name=f"film of {one.panel.name}"),
        )
        yield make_odds(OddsKind.MEASURED, one.rule, told, one.sentence)


def _damp_at_odds(car_file: CarFile) -> Iterator[Odds]:
    from shutline.gauge.damp import against, footings_of
    from shutline.survey.odds import OddsKind, Told, make_odds

    damp = damp_of(car_file)
    if damp is None:
        return
    kept = [one for one in car_file.going_out() if one.finding.footings]
    for one in against([each.finding for each in kept], damp):
        finding, wet = kept[one.finding], damp.place(one.place)
        if wet is None:
            continue
        footings = tuple(Footing(each.kind, each.source, quote=wet.sentence) for each in footings_of(wet))
        told = (
            Told(finding.id, finding.finding.footings, finding=finding.finding, struck_with=(finding.id,)),
            Told("", footings, words=wet.sentence, name=f"damp of {one.place.name}"),
        )
        yield make_odds(OddsKind.MEASURED, one.rule, told, one.sentence)


def _gauges_at_odds(car_file: CarFile) -> Iterator[Odds]:
    from shutline.survey.odds import OddsKind, Told, make_odds

    kept = [one for one in car_file.going_out() if one.finding.footings]
    for one in gauges_against(car_file, [each.finding for each in kept]):
        finding, result = kept[one.finding], one.result
        of = _MEASURED_OF.get(result.id, ("brake_effort", "test_weight"))
        place = result.place
        sources = dict.fromkeys(
            reading.source
            for reading in standing_readings(car_file, *of)
            if place.side is None or (reading.side, reading.position) == (place.side, place.position)
        )
        footings = tuple(Footing(FootingKind.MEASURED, source, quote=result.plain) for source in sources)
        name = " ".join(word for word in (result.id, place.part, place.side, place.position) if word)
        told = (
            Told(finding.id, finding.finding.footings, finding=finding.finding, struck_with=(finding.id,)),
            Told("", footings, words=result.plain, name=name),
        )
        yield make_odds(OddsKind.MEASURED, one.rule, told, one.sentence)


def places_measured(car_file: CarFile) -> Mapping[str, Sequence[tuple[Reading, frozenset[str]]]]:
    """Give the readings that stand by their part, each with the conditions that such a figure answers for."""
    found: dict[str, list[tuple[Reading, frozenset[str]]]] = defaultdict(list)
    for one in car_file.readings:
        if one.state is State.STANDS and one.reading.quantity in measured_answers():
            found[one.reading.part].append((one.reading, measured_answers()[one.reading.quantity]))
    return found


@cache
def measured_answers() -> Mapping[str, frozenset[str]]:
    """Give the conditions that a figure of a quantity answers for (`data/measured_answers.csv`)."""
    columns = ("id", "conditions", "why", "source")
    rows = table_rows(shipped("measured_answers.csv"), source="measured_answers.csv", columns=columns)
    known = vocabulary().conditions
    return {
        row["id"]: frozenset(
            one_of(condition, known, where=where, column="condition") for condition in row["conditions"].split()
        )
        for where, row in rows
    }


@lru_cache(maxsize=32)
def _compared(readings: bytes, sayings: tuple[str, ...]) -> PaintResult:
    """Compare once for the same readings: several pages of a car ask."""
    from shutline.gauge.paint import body_of, compare_paint

    return compare_paint(msgspec.json.decode(readings, type=tuple[Reading, ...]), body=body_of(sayings))
