"""The mileage, the mark and the chassis number: what was said, seen and written of each, side by side."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal

from shutline.car.figures import Figure, FigureKind, FigureState
from shutline.car.findings import Fact, Footing, FootingKind, State

if TYPE_CHECKING:
    from collections.abc import Mapping

    from shutline.car.carfile import CarFile
    from shutline.car.odds import OddsDecision
    from shutline.survey.odds_data import OddsTables
    from shutline.usecases.odds import FactOdds

FACTS = {
    FigureKind.ODOMETER: "odometer",
    FigureKind.MARK: "registration_mark",
    FigureKind.CHASSIS: "chassis_number",
}
"""The fact that a figure of a kind becomes when a person takes it; a figure of another kind stands by itself."""

Verdict = Literal["alone", "equal", "rounded", "other day", "at odds", "decided"]


@dataclass(frozen=True, slots=True)
class Told:
    """One value among those side by side: how it is known, its state, and where to look.

    `how` is ``said``, ``seen``, ``written`` or ``entered``; `state` that of the fact, ``waits`` for a figure nobody has
    looked at, ``spelled`` for what was spelled out in the words and is kept nowhere else. `source` is the id of the
    recording or picture; `start_s` seconds, None where it has no time.
    """

    how: str
    value: int | str
    unit: str | None
    state: str
    source: str = ""
    start_s: float | None = None
    quote: str = ""
    figure: str | None = None


@dataclass(frozen=True, slots=True)
class Beside:
    """What was said, seen and written of one fact, side by side.

    `verdict` is ``equal``, ``at odds``, ``rounded`` where the only difference is that what was said is a round number,
    ``other day`` where it may have changed between two occasions, ``decided`` where a person has said that all can
    stand, or ``alone`` where there are not two. What waits is shown and does not enter it. `case` is the id of the case
    at odds, `decision` the last answer that a person gave about these values.
    """

    name: str
    told: tuple[Told, ...]
    verdict: Verdict
    case: str = ""
    decision: OddsDecision | None = None


def side_by_side(
    car: CarFile, figures: tuple[Figure, ...], *, odds: Mapping[str, FactOdds] | None = None
) -> tuple[Beside, ...]:
    """Lay what was said, seen and written of the mileage, the mark and the chassis number side by side.

    `odds` are the facts that are at odds, and those that were decided about; what is at odds here is so there.
    """
    from shutline.survey.odds_facts import spelled_facts
    from shutline.usecases.own_odds import own_odds_tables

    spelled = spelled_facts(car)
    beside = []
    for kind, name in FACTS.items():
        told = [
            line
            for kept in car.facts
            if kept.fact.name == name and kept.fact.state is not State.STRUCK and not kept.withdrawn
            for line in _of_fact(kept.fact, kept.fact.state.value)
        ]
        told += [line for fact in spelled if fact.name == name for line in _of_fact(fact, "spelled")]
        waiting = [one for one in figures if one.read.kind is kind and one.state is FigureState.WAITS]
        how = {False: "seen", True: "written"}
        told += [
            Told(how[one.read.on_paper], one.value, one.unit, "waits", one.source, one.at_s, one.read.text, one.id)
            for one in waiting
        ]
        there = (odds or {}).get(name)
        if told:
            counted = [one for one in told if one.state != "waits"]
            values = verdict(name, counted, own_odds_tables())
            if values == "at odds" and odds is not None:
                values = "other day" if there is None or not there.case else "decided" if there.settled else "at odds"
            beside.append(
                Beside(name, tuple(told), values, there.case if there else "", there.decision if there else None)
            )
    return tuple(beside)


def _of_fact(fact: Fact, state: str) -> list[Told]:
    if not fact.footings:
        return [Told("entered", _plain(fact.value), fact.unit, state)]
    return [
        Told(one.kind.value, _plain(fact.value), fact.unit, state, one.source, one.start_s, one.quote, _figure_of(one))
        for one in fact.footings
    ]


def _plain(value: float | str | bool) -> int | str:  # noqa: FBT001 - the value of a fact, whatever it is
    return value if isinstance(value, int) and not isinstance(value, bool) else str(value)


def _figure_of(footing: Footing) -> str | None:
    return next((rule.removeprefix("figure ") for rule in footing.rules if rule.startswith("figure ")), None)


def verdict(name: str, told: list[Told], tables: OddsTables) -> Verdict:
    """Tell whether values of a fact agree, by what is held to be at odds (`survey.odds_facts`).

    A unit that is not known agrees with any; capitals do not count, nor do spaces in a mark; 58,000 that was said
    agrees roughly with 58,206 that was seen, as a number in round thousands.
    """
    from shutline.survey.odds_facts import is_rounded, values_told

    if len(told) < 2:
        return "alone"
    groups = values_told(_as_fact(name, one) for one in told)
    if len(groups) == 1:
        return "equal"
    values = [
        Fact(name, same[0].value, same[0].unit, tuple(f for one in same for f in one.footings)) for same in groups
    ]
    exact = [one for one in values if not any(is_rounded(one, other, tables.limits) for other in values)]
    return "rounded" if len(exact) == 1 else "at odds"


def _as_fact(name: str, told: Told) -> Fact:
    kinds = {kind.value: kind for kind in FootingKind}
    footings = (Footing(kinds[told.how], told.source),) if told.how in kinds else ()
    return Fact(name, told.value, told.unit, footings)
