"""A route put into words for a phone: one step at a time, each with all that is to be known there."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING

from shutline.publish.naming import place_name
from shutline.publish.wording import joined
from shutline.survey.checks import Best, How
from shutline.survey.ground import ground

if TYPE_CHECKING:
    from shutline.survey.route import Step, Stop
    from shutline.usecases.survey import Planned


@dataclass(frozen=True, slots=True)
class WalkStep:
    """One step: what and where it is, what to look for and why, how it is done, and what is needed for it.

    `key` names the check at its place; `how` are ways of looking in words, `say` whether it is said rather than shown;
    `cautions` are ids of `Walk.cautions`; `waits` tells that time does not run on by itself here: on the road.
    """

    key: str
    name: str
    look_for: str
    why: str
    how: str
    say: bool
    safety: bool
    tools: str
    cautions: tuple[str, ...]
    waits: bool


@dataclass(frozen=True, slots=True)
class WalkStop:
    """One place to stand at with its steps; `raised` tells that the car is up."""

    name: str
    raised: bool
    steps: tuple[WalkStep, ...]


@dataclass(frozen=True, slots=True)
class Walk:
    """A route for a phone; `cautions` are the texts by id, `minutes` the least and the most of speaking."""

    label: str
    stops: tuple[WalkStop, ...]
    cautions: Mapping[str, str]
    bring: tuple[str, ...]
    minutes: tuple[int, int]
    answered: int
    omitted: int
    left_out: int

    @property
    def count(self) -> int:
        """How many steps there are."""
        return sum(len(stop.steps) for stop in self.stops)


def walk_of(planned: Planned) -> Walk:
    """Word a route for a phone."""
    route = planned.route
    low, high = (round(seconds / 60) for seconds in route.spoken_s)
    return Walk(
        label=planned.label,
        stops=tuple(_stop(stop) for stop in route.stops),
        cautions={one.id: one.text for one in route.cautions},
        bring=tuple(tool.label for tool in route.bring),
        minutes=(low, high),
        answered=planned.answered,
        omitted=planned.omitted,
        left_out=len(route.left_out),
    )


def _stop(stop: Stop) -> WalkStop:
    return WalkStop(stop.station.label, stop.station.raised, tuple(_step(step) for step in stop.steps))


def _step(step: Step) -> WalkStep:
    check = step.asked.check
    tools = ground().tools
    return WalkStep(
        key=step.asked.key,
        name=place_name(check.part, step.asked.side, step.asked.position),
        look_for=check.look_for,
        why=check.why,
        how=joined([one.value for one in check.how]),
        say=check.best is Best.SAID,
        safety=check.safety,
        tools=joined([tools[name].label for name in check.tools]),
        cautions=check.cautions,
        waits=How.DRIVE in check.how or step.station == "road",
    )
