"""Facts put into words; values that do not agree are all shown, and said to be at odds."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from shutline.car.carfile import CarFile
from shutline.car.errors import Problem
from shutline.car.findings import Fact, State
from shutline.publish.naming import capitalised
from shutline.publish.plain import one_line
from shutline.publish.report.entries import is_doubtful, stands_on
from shutline.publish.report.model import FactLine, FactValue
from shutline.publish.report.times import day
from shutline.publish.wording import choose, joined, phrase, spelled, table
from shutline.survey.odds_facts import facts_at_odds, values_told

# Years are not set with a comma; these counts are words or whole numbers.
_COUNTS = ("keepers", "keys", "doors", "seats", "gears")
_DAYS = ("mot_until", "first_registered", "last_service")


def facts(
    car_file: CarFile, recordings: Mapping[str, int], odds: Mapping[str, str] | None = None
) -> tuple[tuple[FactLine, ...], tuple[Problem, ...]]:
    """Word the facts that the report has a place for, in the order of the wording; name those it has none for.

    `odds` are the sentences about facts that are or were at odds, by their names; left out, they are found by the
    shipped tables, and nothing is known of what a person decided.
    """
    shown = [kept.fact for kept in car_file.facts if kept.fact.state is not State.STRUCK and not kept.withdrawn]
    labels = table("facts.labels")
    if odds is None:
        odds = {one.rule: phrase("facts.at_odds", count=spelled(len(one.told))) for one in facts_at_odds(car_file)}
    lines = []
    for name, label in labels.items():
        same = [fact for fact in shown if fact.name == name]
        if same:
            lines.append(_line(label, same, recordings, odds.get(name, "")))
    unlisted = dict.fromkeys(one_line(fact.name) for fact in shown if fact.name not in labels)
    problems = tuple(
        Problem(
            "fact-without-place",
            f"fact {name}",
            phrase("facts.unlisted", name=name).rstrip("."),
            "facts that the wording has a label for",
            "It stays in the car file; nothing need be done",
        )
        for name in unlisted
    )
    return tuple(lines), problems


def _line(label: str, same: Sequence[Fact], recordings: Mapping[str, int], odds: str) -> FactLine:
    values = []
    for group in values_told(same):
        stands = any(fact.state is State.STANDS for fact in group)
        state = phrase("state.stands" if stands else "state.heard")
        if all(is_doubtful(fact.sureness, fact.state) for fact in group):
            state = f"{state}. {phrase('state.doubtful')}"
        footings = [footing for fact in group for footing in fact.footings]
        values.append(FactValue(fact_words(group[0]), capitalised(state), stands_on(footings, recordings), stands))
    return FactLine(label, tuple(values), odds)


def heard_facts_sentence(lines: Sequence[FactLine]) -> str:
    """Say which facts hold something that nobody has confirmed; nothing where there is none."""
    heard = [line.label for line in lines if not all(value.confirmed for value in line.values)]
    return capitalised(choose("heard.facts", len(heard), names=joined(heard))) if heard else ""


def fact_words(fact: Fact) -> str:
    """Give the value of a fact as it is read: ``58,206 miles``, ``9 May 2026``."""
    value = fact.value
    templates = table("facts.values")
    if fact.name in _DAYS:
        return day(one_line(str(value)))
    for key in (f"{fact.name}_{fact.unit}", f"{fact.name}_{value}", fact.name):
        if key in templates:
            return templates[key].format(value=_figure(value))
    if isinstance(value, bool):
        return templates["yes" if value else "no"]
    if fact.name in _COUNTS and isinstance(value, int):
        return spelled(value) if value > 0 else str(value)
    return one_line(str(value))


def _figure(value: float | str) -> str:
    return f"{value:,}" if isinstance(value, int | float) else one_line(str(value))
