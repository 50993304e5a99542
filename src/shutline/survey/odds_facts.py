"""Facts that were told with several values."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from functools import cache

from shutline.car.carfile import CarFile, KeptFact
from shutline.car.findings import Fact, Footing, State
from shutline.survey.occasions import moments, of_one_occasion
from shutline.survey.odds import Odds, OddsKind, Told, make_odds
from shutline.survey.odds_data import OddsTables, odds_tables
from shutline.survey.tables import shipped, table_rows

FACT_COLUMNS = ("id", "why", "source")

_Same = Callable[[Sequence[Footing], Sequence[Footing]], bool]


@cache
def facts_that_change() -> dict[str, str]:
    """Give the facts that are of their day, by name, each with why; all others stay what they are."""
    rows = table_rows(shipped("odds_facts.csv"), source="odds_facts.csv", columns=FACT_COLUMNS)
    return {row["id"]: row["why"] for _, row in rows}


def values_told(facts: Iterable[Fact]) -> tuple[tuple[Fact, ...], ...]:
    """Put facts of one name together by the value they tell, in the order the values were first told.

    Examples
    --------
    >>> [len(same) for same in values_told([Fact("keys", 2), Fact("keys", "2"), Fact("keys", 3)])]
    [2, 1]
    """
    told: dict[tuple[str, str], list[Fact]] = {}
    for fact in facts:
        told.setdefault((str(fact.value).strip().casefold(), fact.unit or ""), []).append(fact)
    return tuple(tuple(same) for same in told.values())


def facts_at_odds(car_file: CarFile, *, tables: OddsTables | None = None) -> tuple[Odds, ...]:
    """Find the facts with values that cannot all be true, in the order of the car file.

    Two values are not at odds where one is the round figure of the other, nor, of a fact that changes with time, where
    they were told on different occasions.
    """
    limits = (tables or odds_tables()).limits
    made = moments(car_file)
    named: dict[str, list[KeptFact]] = {}
    for kept in car_file.facts:
        if kept.fact.state is not State.STRUCK and not kept.withdrawn and kept.fact.footings:
            named.setdefault(kept.fact.name, []).append(kept)
    found = []
    for name, kept_facts in named.items():
        told = _without_round(name, _told(kept_facts))
        if name in facts_that_change():
            told = _of_one_occasion(told, lambda a, b: of_one_occasion(a, b, made, within_h=limits.same_occasion_h))
        if len(told) > 1:
            why = f"{name.replace('_', ' ')} was told with {len(told)} values, and has one"
            found.append(make_odds(OddsKind.FACT, name, tuple(told), why))
    return tuple(found)


def _told(kept_facts: Sequence[KeptFact]) -> list[Told]:
    ids: dict[int, str] = {id(kept.fact): kept.id for kept in kept_facts}
    told = []
    for same in values_told(kept.fact for kept in kept_facts):
        footings = tuple(footing for fact in same for footing in fact.footings)
        told.append(Told(ids[id(same[0])], footings, fact=same[0], struck_with=tuple(ids[id(fact)] for fact in same)))
    return told


def _without_round(name: str, told: Sequence[Told]) -> list[Told]:
    """Leave out a round figure where the exact one was told too."""
    if len(told) < 2:
        return list(told)
    from shutline.remarks.fact_choice import is_round_figure

    values = [one.fact.value for one in told if one.fact is not None]
    pairs = zip(told, values, strict=True)
    return [one for one, value in pairs if not any(is_round_figure(name, value, other) for other in values)]


def _of_one_occasion(told: Sequence[Told], same: _Same) -> list[Told]:
    """Keep the values that some other value was told on one occasion with."""
    return [one for one in told if any(same(one.footings, other.footings) for other in told if other is not one)]
