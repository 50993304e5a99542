"""The route: the checks of a guide in the order of a walk, with what to bring and how long it takes."""

from __future__ import annotations

from collections.abc import Collection, Sequence
from dataclasses import dataclass
from enum import StrEnum
from itertools import count, groupby

from shutline.car.findings import Drive, Position, Side
from shutline.survey.checks import Asked, Caution, Guide, How, Tool
from shutline.survey.ground import Ground, Station
from shutline.survey.pace import Pace, pace
from shutline.survey.shortest import Job, shortest_walk

_TO_UNIT = 10
"""The search counts in decimetres, so that equal ways are equal."""


class Raised(StrEnum):
    """When the car is up, if at all."""

    LAST = "last"
    """It is raised at the end of the walk."""
    FIRST = "first"
    """It stands on a lift already, and comes down for the rest."""
    NO = "no"
    """It stays on its wheels: what is underneath is left out, and named."""


@dataclass(frozen=True, slots=True)
class Step:
    """One check on the route; `number` counts from 1, `station` is where one stands.

    `look` counts the looks from 1: steps of one look follow each other and have the same.
    """

    number: int
    asked: Asked
    station: str
    look: int


@dataclass(frozen=True, slots=True)
class Stop:
    """One stay at a station, and the steps made there in order."""

    station: Station
    steps: tuple[Step, ...]

    @property
    def looks(self) -> tuple[tuple[Step, ...], ...]:
        """The steps that one look answers, together."""
        return tuple(tuple(steps) for _, steps in groupby(self.steps, key=lambda step: step.look))


@dataclass(frozen=True, slots=True)
class Route:
    """A route.

    `metres` is what is walked, `spoken_s` the least and the most that speaking at such places has taken (`pace`),
    seconds, without the drive. `bring` and `cautions` are those of its checks; `left_out` what it leaves out because
    the car stays down or because there is no time.
    """

    guide: str
    label: str
    stops: tuple[Stop, ...]
    metres: float
    spoken_s: tuple[float, float]
    bring: tuple[Tool, ...]
    cautions: tuple[Caution, ...]
    left_out: tuple[Asked, ...] = ()

    @property
    def steps(self) -> tuple[Step, ...]:
        """All steps in order."""
        return tuple(step for stop in self.stops for step in stop.steps)

    @property
    def looks(self) -> tuple[tuple[Step, ...], ...]:
        """All looks in order."""
        return tuple(look for stop in self.stops for look in stop.looks)


def make_route(
    guide: Guide,
    asked: Sequence[Asked],
    *,
    ground: Ground,
    drive: Drive = Drive.RHD,
    raised: Raised = Raised.LAST,
    within_s: float | None = None,
) -> Route:
    """Make the shortest route over some checks of a guide.

    Parameters
    ----------
    guide : Guide
        The guide they are of.
    asked : sequence of Asked
        The checks, each at its place.
    ground : Ground
        Stations and ways.
    drive : Drive
        Where the wheel is.
    raised : Raised
        When the car is up.
    within_s : float, optional
        Leave the cheapest checks out until speaking takes no longer than this at the quicker pace, seconds.
    """
    stations = {one.key: ground.station_of(one, drive=drive, engine_behind=guide.engine_behind) for one in asked}
    left = [one for one in asked if raised is Raised.NO and stations[one.key].raised]
    kept = [one for one in asked if one not in left]
    kept, too_many = _fitting(kept, ground, within_s)
    order, unit_cost = _in_order(kept, stations, ground, raised)
    stops: list[Stop] = []
    numbers, counts = count(1), count(1)
    for station, there in order:
        steps: list[Step] = []
        for look in _looks(there, stations, raised):
            counted = next(counts)
            steps += [Step(next(numbers), one, station.id, counted) for one in look]
        stops.append(Stop(station, tuple(steps)))
    opened = sum(stop.station.enter_m for stop in stops)
    cautions = [name for name in ground.cautions if any(name in one.check.cautions for one in kept)]
    return Route(
        guide=guide.id,
        label=guide.label,
        stops=tuple(stops),
        metres=round(unit_cost / _TO_UNIT - opened, 1),
        spoken_s=spoken_s(kept),
        bring=_bring(kept, cautions, ground),
        cautions=tuple(ground.cautions[name] for name in cautions),
        left_out=(*left, *too_many),
    )


def spoken_s(asked: Collection[Asked], *, at: Pace | None = None) -> tuple[float, float]:
    """Estimate the time to speak of some checks, walking included and the drive not: least and most, seconds."""
    at = at or pace()
    number = sum(How.DRIVE not in one.check.how for one in asked)
    return number * at.place_s[0], number * at.place_s[1]


def _fitting(asked: list[Asked], ground: Ground, within_s: float | None) -> tuple[list[Asked], list[Asked]]:
    if within_s is None:
        return asked, []
    dearest = sorted(asked, key=lambda one: ground.cost(one.check), reverse=True)
    kept: set[str] = set()
    for one in dearest:
        more = kept | _needed(one, asked)
        if spoken_s([other for other in asked if other.key in more])[0] > within_s:
            break
        kept = more
    return [one for one in asked if one.key in kept], [one for one in asked if one.key not in kept]


def _needed(one: Asked, asked: list[Asked]) -> set[str]:
    """Give the key of a check with those of all that it cannot be made without."""
    found = {one.key}
    for other in asked:
        if other.check.id in one.check.needs and _same(other.side, one.side) and _same(other.position, one.position):
            found |= _needed(other, asked)
    return found


def _in_order(
    asked: list[Asked], stations: dict[str, Station], ground: Ground, raised: Raised
) -> tuple[list[tuple[Station, list[Asked]]], int]:
    if not asked:
        return [], 0
    names = list(ground.stations)
    here = {station.id: station for station in ground.stations.values()}
    here |= {station.id: station for station in stations.values()}
    points = [here[name].point for name in names]
    metres = _metres(ground)
    walk = [[round(metres[one][other] * _TO_UNIT) for other in points] for one in points]
    enter = [round(here[name].enter_m * _TO_UNIT) for name in names]
    jobs = [
        Job(
            names.index(stations[one.key].id),
            frozenset(n for n, other in enumerate(asked) if other is not one and _before(other, one, stations, raised)),
        )
        for one in asked
    ]
    found = shortest_walk(walk, enter, jobs, start=names.index("front"))
    order = [(here[names[station]], [asked[number] for number in there]) for station, there in found.visits]
    return order, found.cost


def _looks(there: list[Asked], stations: dict[str, Station], raised: Raised) -> list[list[Asked]]:
    """Gather what one look answers: checks that their guide puts together, and one check on both sides.

    One that something else at the stop must come before stays where it is.
    """
    looks: list[list[Asked]] = []
    for one in there:
        for number, look in enumerate(looks):
            between = (other for later in looks[number + 1 :] for other in later)
            if _together(look, one) and not any(_before(other, one, stations, raised) for other in between):
                look.append(one)
                break
        else:
            looks.append([one])
    return looks


def _together(look: list[Asked], one: Asked) -> bool:
    if all(other.check.id == one.check.id for other in look):
        return True
    mine = one.check.along_with or one.check.id
    return all(
        (other.check.along_with or other.check.id) == mine
        and _same(other.side, one.side)
        and _same(other.position, one.position)
        for other in look
    )


def _before(first: Asked, then: Asked, stations: dict[str, Station], raised: Raised) -> bool:
    """Tell whether one check comes before another: its guide says so, its station does, or the car is up for it."""
    if first.check.id in then.check.after and _same(first.side, then.side) and _same(first.position, then.position):
        return True
    one, other = stations[first.key], stations[then.key]
    if one.id in other.after:
        return True
    up_first = raised is Raised.FIRST
    return one.raised is up_first and other.raised is not up_first


def _same(one: Side | Position | None, other: Side | Position | None) -> bool:
    return one is None or other is None or one == other


def _metres(ground: Ground) -> dict[str, dict[str, float]]:
    """Give the shortest way between all points (Floyd and Warshall)."""
    points = list(dict.fromkeys(point for way in ground.ways for point in (way.one, way.other)))
    far = {one: {other: 0.0 if one == other else float("inf") for other in points} for one in points}
    for way in ground.ways:
        far[way.one][way.other] = far[way.other][way.one] = way.metres
    for middle in points:
        for one in points:
            for other in points:
                far[one][other] = min(far[one][other], far[one][middle] + far[middle][other])
    return far


def _bring(asked: Sequence[Asked], cautions: Sequence[str], ground: Ground) -> tuple[Tool, ...]:
    named = {tool for one in asked for tool in one.check.tools}
    named |= {tool for caution in cautions for tool in ground.cautions[caution].tools}
    return tuple(tool for tool in ground.tools.values() if (tool.always and asked) or tool.id in named)
