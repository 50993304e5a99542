"""A route put into words for a phone: one look at a time, each with all that is to be known there."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING

from shutline.car.vocabulary import vocabulary
from shutline.publish.looks import asked_once, look_name
from shutline.publish.wording import joined
from shutline.survey.checks import Best, How
from shutline.survey.ground import ground

if TYPE_CHECKING:
    from shutline.survey.route import Step, Stop
    from shutline.usecases.survey import Planned


@dataclass(frozen=True, slots=True)
class LookedFor:
    """One matter of a look: what it is of, empty where the look has one matter alone; what to look for, and why."""

    of: str
    what: str
    why: str


@dataclass(frozen=True, slots=True)
class WalkStep:
    """One look: what and where it is, what to look for and why, how it is done, and what is needed for it.

    `keys` name the checks at their places; `how` are ways of looking in words, `say` whether it is said rather than
    shown; `cautions` are ids of `Walk.cautions`; `waits` tells that time does not run on by itself here: on the road.
    """

    keys: tuple[str, ...]
    name: str
    matters: tuple[LookedFor, ...]
    how: str
    say: bool
    safety: bool
    tools: str
    cautions: tuple[str, ...]
    waits: bool


@dataclass(frozen=True, slots=True)
class WalkStop:
    """One place to stand at with its looks; `raised` tells that the car is up."""

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
        """How many looks there are."""
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
    return WalkStop(stop.station.label, stop.station.raised, tuple(map(_step, stop.looks)))


def _step(look: tuple[Step, ...]) -> WalkStep:
    checks = [asked.check for asked in asked_once(look)]
    parts, tools = vocabulary().parts, ground().tools
    return WalkStep(
        keys=tuple(step.asked.key for step in look),
        name=look_name(look),
        matters=tuple(
            LookedFor(parts[check.part].label if len(checks) > 1 else "", check.look_for, check.why) for check in checks
        ),
        how=joined(list(dict.fromkeys(one.value for check in checks for one in check.how))),
        say=all(check.best is Best.SAID for check in checks),
        safety=any(check.safety for check in checks),
        tools=joined(list(dict.fromkeys(tools[name].label for check in checks for name in check.tools))),
        cautions=tuple(dict.fromkeys(name for check in checks for name in check.cautions)),
        waits=look[0].station == "road" or any(How.DRIVE in check.how for check in checks),
    )
