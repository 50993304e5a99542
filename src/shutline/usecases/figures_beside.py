"""The mileage, the mark and the chassis number: what was said, seen and written of each, side by side."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal

from shutline.car.carfile import KeptFact
from shutline.car.figures import Figure, FigureKind, FigureState
from shutline.car.findings import Footing, State
from shutline.usecases.spoken import words_of

if TYPE_CHECKING:
    from shutline.car.carfile import CarFile

FACTS = {
    FigureKind.ODOMETER: "odometer",
    FigureKind.MARK: "registration_mark",
    FigureKind.CHASSIS: "chassis_number",
}
"""The fact that a figure of a kind becomes when a person takes it; a figure of another kind stands by itself."""

Verdict = Literal["alone", "equal", "rounded", "at odds"]

_ROUND_STEPS = (1_000, 500, 100)


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
    or ``alone`` where there are not two. What waits is shown and does not enter it.
    """

    name: str
    told: tuple[Told, ...]
    verdict: Verdict


def side_by_side(car: CarFile, figures: tuple[Figure, ...]) -> tuple[Beside, ...]:
    """Lay what was said, seen and written of the mileage, the mark and the chassis number side by side."""
    from shutline.gauge.seen.spoken import spelled_out

    spelled = [(film.id, one) for film in car.recordings for one in spelled_out(words_of(film))]
    beside = []
    for kind, name in FACTS.items():
        told = [
            line
            for kept in car.facts
            if kept.fact.name == name and kept.fact.state is not State.STRUCK and not kept.withdrawn
            for line in _of_fact(kept)
        ]
        told += [
            Told("said", one.text, None, "spelled", film, one.start_s, one.quote)
            for film, one in spelled
            if one.kind is kind
        ]
        waiting = [one for one in figures if one.read.kind is kind and one.state is FigureState.WAITS]
        how = {False: "seen", True: "written"}
        told += [
            Told(how[one.read.on_paper], one.value, one.unit, "waits", one.source, one.at_s, one.read.text, one.id)
            for one in waiting
        ]
        if told:
            beside.append(Beside(name, tuple(told), verdict([one for one in told if one.state != "waits"])))
    return tuple(beside)


def _of_fact(kept: KeptFact) -> list[Told]:
    fact = kept.fact
    state = fact.state.value
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


def verdict(told: list[Told]) -> Verdict:
    """Tell whether values agree.

    A unit that is not known agrees with any; capitals and spaces do not count; 58,000 that was said agrees roughly
    with 58,206 that was seen, as a number in round thousands.
    """
    if len(told) < 2:
        return "alone"
    values = {_compared(one) for one in told}
    units = {one.unit for one in told if one.unit}
    if len(units) > 1:
        return "at odds"
    if len(values) == 1:
        return "equal"
    exact = {_compared(one) for one in told if one.how != "said"}
    said = {one.value for one in told if one.how == "said"}
    if len(exact) == 1 and all(_rounds(value, next(iter(exact))) for value in said):
        return "rounded"
    return "at odds"


def _compared(told: Told) -> int | str:
    return told.value if isinstance(told.value, int) else "".join(told.value.upper().split())


def _rounds(said: int | str, exact: int | str) -> bool:
    if not (isinstance(said, int) and isinstance(exact, int)):
        return str(said) == str(exact)
    step = next((step for step in _ROUND_STEPS if said % step == 0), 1)
    return said == exact or (step > 1 and abs(said - exact) < step)
