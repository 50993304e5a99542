"""A route put into words for one page, and the page set as a PDF."""

from __future__ import annotations

import tomllib
from collections.abc import Mapping, Sequence
from dataclasses import asdict, dataclass
from functools import cache
from importlib.resources import files
from typing import Any

from shutline.car.errors import Problem
from shutline.publish.looks import asked_once, look_name
from shutline.publish.naming import capitalised
from shutline.publish.plain import one_line
from shutline.publish.report.paper import settable
from shutline.publish.report.times import day, instant
from shutline.publish.typeset import typeset
from shutline.publish.wording import joined
from shutline.survey import Route
from shutline.survey.checks import Best, Check


@dataclass(frozen=True, slots=True)
class StepLine:
    """One look: its number, its places, what to look for (empty where an earlier one told it), and how."""

    number: int
    name: str
    look_for: str
    how: str


@dataclass(frozen=True, slots=True)
class StopLine:
    """One stop with its steps."""

    name: str
    steps: tuple[StepLine, ...]


@dataclass(frozen=True, slots=True)
class RouteSheet:
    """The page, every word chosen; `made_at` is ISO 8601, `heads` the lines below the title."""

    title: str
    made_at: str
    heads: tuple[str, ...]
    bring: str
    stops: tuple[StopLine, ...]
    cautions: tuple[str, ...]
    foot: str


def build_route_sheet(route: Route, *, title: str = "", answered: int = 0, made_at: str) -> RouteSheet:
    """Word a route for one page.

    Parameters
    ----------
    route : Route
    title : str
        How the car is shown; empty for one that is not kept yet.
    answered : int
        How many checks have a footing already and are not on it.
    made_at : str
        ISO 8601; the same route and time give the same bytes.

    Raises
    ------
    UserError
        `made_at` is not a time.
    """
    w = _words()
    low, high = (round(seconds / 60) for seconds in route.spoken_s)
    figures = w["figures"].format(
        looks=len(route.looks),
        checks=len(route.steps),
        stops=len(route.stops),
        metres=round(route.metres),
        low=low,
        high=high,
    )
    heads = [w["guide"].format(label=one_line(route.label)), figures]
    if answered:
        heads.append(w["answered"].format(count=answered))
    heads.append(w["made"].format(date=day(instant(made_at).date().isoformat())))
    told: set[str] = set()
    stops = []
    for stop in route.stops:
        steps = []
        for look in stop.looks:
            checks = [asked.check for asked in asked_once(look)]
            fresh = [one_line(check.look_for) for check in checks if check.id not in told]
            steps.append(StepLine(look[0].look, capitalised(look_name(look)), "; ".join(fresh), _how(checks)))
            told.update(check.id for check in checks)
        stops.append(StopLine(capitalised(stop.station.label), tuple(steps)))
    return RouteSheet(
        title=w["title"].format(title=one_line(title)) if title else w["title_new"],
        made_at=made_at,
        heads=tuple(heads),
        bring=capitalised(joined([tool.label for tool in route.bring])),
        stops=tuple(stops),
        cautions=tuple(caution.text for caution in route.cautions),
        foot=w["silence"] if route.stops else w["nothing"],
    )


def route_pdf(sheet: RouteSheet) -> bytes:
    """Set a route as a PDF of one page of A4, in the largest type that fits.

    Returns
    -------
    bytes
        PDF 1.7, PDF/UA-1. All words go to the typesetter as data, never as markup.

    Raises
    ------
    BrokenWorldError
        The typesetter fails, or there is no room for its working files.
    """
    (pdf,) = typeset(
        "sheet/sheet.typ",
        lambda _: {"m": _settable(asdict(sheet)), "w": _settable(dict(_words()))},
        made_at=instant(sheet.made_at),
        trouble=Problem(
            "route-not-set",
            "route",
            "the PDF could not be made",
            "the route can still be printed as words",
            "See whether the disk is full; if it is not, report this with the message.",
        ),
    )
    return pdf


def _how(checks: Sequence[Check]) -> str:
    w = _words()
    ways = dict.fromkeys(w["how"][one.value] for check in checks for one in check.how if w["how"][one.value])
    said = any(check.best is Best.SAID for check in checks)
    return ", ".join([*([w["say"]] if said else []), *ways])


def _settable(value: Any) -> Any:
    if isinstance(value, Mapping):
        return {key: _settable(item) for key, item in value.items()}
    if isinstance(value, list | tuple):
        return [_settable(item) for item in value]
    return settable(value) if isinstance(value, str) else value


@cache
def _words() -> Mapping[str, Any]:
    return tomllib.loads(files("shutline.publish").joinpath("data", "route.toml").read_text(encoding="utf-8"))
