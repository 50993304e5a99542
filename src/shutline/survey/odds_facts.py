"""Facts that were told with several values."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import replace

from shutline.car.carfile import CarFile
from shutline.car.findings import Fact, Footing, FootingKind, State
from shutline.survey.occasions import moments, of_one_occasion
from shutline.survey.odds import Odds, OddsKind, Told, make_odds
from shutline.survey.odds_data import OddsLimits, OddsTables
from shutline.survey.odds_layer import odds_tables

_Same = Callable[[Sequence[Footing], Sequence[Footing]], bool]


def values_told(facts: Iterable[Fact]) -> tuple[tuple[Fact, ...], ...]:
    """Put facts of one name together by the value they tell, in the order the values were first told.

    Capitals do not count, nor do spaces in a mark or a chassis number; a unit that was not told is any.

    Examples
    --------
    >>> [len(same) for same in values_told([Fact("keys", 2), Fact("keys", "2"), Fact("keys", 3)])]
    [2, 1]
    >>> len(values_told([Fact("odometer", 41206, "mi"), Fact("odometer", 41206), Fact("odometer", 41206, "km")]))
    2
    >>> len(values_told([Fact("registration_mark", "OGY 412H"), Fact("registration_mark", "ogy412h")]))
    1
    """
    told: list[list[Fact]] = []
    for fact in facts:
        same = (group for group in told if _compared(group[0]) == _compared(fact) and _of_one_unit((*group, fact)))
        group = next(same, None)
        if group is None:
            told.append([fact])
        else:
            group.append(fact)
    return tuple(tuple(same) for same in told)


def _compared(fact: Fact) -> str:
    text = str(fact.value).strip().casefold()
    return "".join(text.split()) if fact.name in ("registration_mark", "chassis_number") else text


def _of_one_unit(facts: Iterable[Fact]) -> bool:
    return len({fact.unit for fact in facts if fact.unit}) <= 1


def is_rounded(rough: Fact, fine: Fact, limits: OddsLimits) -> bool:
    """Tell whether one value of a fact is another told roundly.

    58,000 miles that were said are 58,206 that were seen; what was read off a clock or a paper is no round figure.
    """
    if rough.name != "odometer":
        from shutline.remarks.fact_choice import is_round_figure

        return is_round_figure(rough.name, rough.value, fine.value)
    said = all(footing.kind is FootingKind.SAID for footing in rough.footings) and bool(rough.footings)
    if not said or not isinstance(rough.value, int) or not isinstance(fine.value, int):
        return False
    step = next((step for step in limits.round_steps if rough.value % step == 0), 1)
    return fine.value % step != 0 and abs(rough.value - fine.value) < step and _of_one_unit((rough, fine))


def facts_at_odds(car_file: CarFile, *, tables: OddsTables | None = None) -> tuple[Odds, ...]:
    """Find the facts with values that cannot all be true, in the order of the car file.

    Two values are not at odds where one is the round figure of the other, nor, of a fact that changes with time, where
    they were told on different occasions.
    """
    return tuple(_cases(car_file, _told(car_file), tables or odds_tables()))


def all_facts_at_odds(car_file: CarFile, *, tables: OddsTables | None = None) -> tuple[Odds, ...]:
    """As `facts_at_odds`, with marks and chassis numbers that were spelled out and are kept nowhere else."""
    told = _told(car_file)
    for name, one in _spelled(car_file):
        told.setdefault(name, []).append(one)
    return tuple(_cases(car_file, told, tables or odds_tables()))


def spelled_facts(car_file: CarFile) -> tuple[Fact, ...]:
    """Give marks and chassis numbers that were spelled out in the words, and that no fact has come of."""
    from shutline.gauge.seen.spoken import spelled_out

    taken = {rule for kept in car_file.facts for footing in kept.fact.footings for rule in footing.rules}
    found = []
    for recording in car_file.recordings:
        words = sorted((word for one in recording.stretches for word in one.words), key=lambda word: word.start_s)
        for one in spelled_out(words):
            rule = f"spelled {one.kind.value} {recording.id} {one.start_s:.3f}"
            if rule not in taken:
                footing = Footing(FootingKind.SAID, recording.id, one.start_s, one.end_s, one.quote, (rule,))
                found.append(Fact(one.kind.value, one.text, footings=(footing,)))
    return tuple(found)


def _cases(car_file: CarFile, named: dict[str, list[Told]], tables: OddsTables) -> Iterator[Odds]:
    made = moments(car_file)
    within_h = tables.limits.same_occasion_h
    for name, every in named.items():
        told = _without_round(_by_value(every), tables.limits)
        if name in tables.changing:
            told = _of_one_occasion(told, lambda a, b: of_one_occasion(a, b, made, within_h=within_h))
        if len(told) > 1:
            count = "two" if len(told) == 2 else "several"
            why = f"{count} values were told, and a car has one"
            yield make_odds(OddsKind.FACT, name, tuple(told), why)


def _told(car_file: CarFile) -> dict[str, list[Told]]:
    named: dict[str, list[Told]] = {}
    for kept in car_file.facts:
        if kept.fact.state is not State.STRUCK and not kept.withdrawn:
            name = next((one for one in map(_rule_of, kept.fact.footings) if one), "")
            told = Told(kept.id, kept.fact.footings, fact=kept.fact, struck_with=(kept.id,), name=name)
            named.setdefault(kept.fact.name, []).append(told)
    return named


def _spelled(car_file: CarFile) -> Iterator[tuple[str, Told]]:
    for fact in spelled_facts(car_file):
        yield fact.name, Told("", fact.footings, fact=fact, name=_rule_of(fact.footings[0]))


def _rule_of(footing: Footing) -> str:
    return next((rule for rule in footing.rules if rule.startswith("spelled ")), "")


def _by_value(every: Sequence[Told]) -> list[Told]:
    """Put together what tells one value."""
    of_fact = {id(one.fact): one for one in every}
    found = []
    for same in values_told(one.fact for one in every if one.fact is not None):
        told = [of_fact[id(fact)] for fact in same]
        footings = tuple(footing for one in told for footing in one.footings)
        ids = tuple(one.id for one in told if one.id)
        spelled = tuple(one.name for one in told if one.name and not one.id)
        found.append(replace(told[0], footings=footings, struck_with=ids, spelled=spelled))
    return found


def _without_round(told: Sequence[Told], limits: OddsLimits) -> list[Told]:
    """Leave out a round figure where the exact one was told too."""
    values = [replace(one.fact, footings=one.footings) for one in told if one.fact is not None]
    pairs = zip(told, values, strict=True)
    return [one for one, value in pairs if not any(is_rounded(value, other, limits) for other in values)]


def _of_one_occasion(told: Sequence[Told], same: _Same) -> list[Told]:
    """Keep the values that some other value was told on one occasion with."""
    return [one for one in told if any(same(one.footings, other.footings) for other in told if other is not one)]
