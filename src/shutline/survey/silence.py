"""What nobody has looked at or spoken of, the costliest first; silence is never good news."""

from __future__ import annotations

from dataclasses import dataclass

from shutline.car.carfile import CarFile
from shutline.car.findings import Position, Side, State
from shutline.survey.coverage import Breadth, Coverage, coverage
from shutline.survey.wanted import WantedFact, wanted_facts


@dataclass(frozen=True, slots=True)
class Silence:
    """One check at one place that has no footing and was not left out on purpose.

    `check` is its id in the guide; `why` one clause; `when_bad` the lowest and the highest band of what it costs when
    bad; `passing` the ids of the kept findings that spoke of it in passing, empty unless `breadth` says so.
    """

    check: str
    part: str
    side: Side | None
    position: Position | None
    breadth: Breadth
    why: str
    when_bad: tuple[str, str]
    passing: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class FactSilence:
    """One fact that a buyer would want to know and that has no footing."""

    name: str
    why: str
    weight: int


def silences(car_file: CarFile, *, found: Coverage | None = None) -> tuple[Silence, ...]:
    """List what nobody looked at, or spoke of only in passing.

    Parameters
    ----------
    car_file : CarFile
    found : Coverage, optional
        The car file held against its guide; done with the shipped guides when left out.

    Returns
    -------
    tuple of Silence
        In the order of the coverage: the costliest first.
    """
    return tuple(
        Silence(
            one.asked.check.id,
            one.asked.check.part,
            one.asked.side,
            one.asked.position,
            one.breadth or Breadth.NOT_MENTIONED,
            one.asked.check.why,
            one.asked.check.when_bad,
            one.passing,
        )
        for one in (found or coverage(car_file)).open
    )


def unknown_facts(car_file: CarFile, *, rows: tuple[WantedFact, ...] | None = None) -> tuple[FactSilence, ...]:
    """List the facts that nobody told, the weightiest first; a fact that was struck is not known."""
    shown = [k.fact for k in car_file.facts if k.fact.state is not State.STRUCK and not k.withdrawn]
    known = {fact.name for fact in shown if fact.footings}
    missing = [row for row in (wanted_facts() if rows is None else rows) if row.id not in known]
    return tuple(FactSilence(row.id, row.why, row.weight) for row in sorted(missing, key=lambda row: -row.weight))
