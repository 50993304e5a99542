"""Figures read off the pictures of a car: the piece of picture large, what was read below it sign by sign, and keys."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import msgspec
from starlette.concurrency import run_in_threadpool
from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Route

from shutline.car.figures import FigureKind
from shutline.usecases.figure_reading import FiguresRead, read_figures_of
from shutline.usecases.figures import UNITS, CarFigures, car_figures, decide_figure, read_place
from shutline.usecases.look import find_car
from shutline.web.forms import json_of, not_taken
from shutline.web.pages import answer, as_json
from shutline.web.under_way import Going, UnderWay
from shutline.web.wording import when

if TYPE_CHECKING:
    from shutline.store import Store
    from shutline.usecases.progress import Stop, Tell

_VERBS = ("take", "amend", "aside", "again")

KINDS = {
    FigureKind.ODOMETER: "Odometer",
    FigureKind.CHASSIS: "Chassis number",
    FigureKind.MARK: "Registration mark",
    FigureKind.TYRE_SIZE: "Tyre size",
    FigureKind.TYRE_DATE: "Tyre date",
    FigureKind.PAINT: "Paint film",
    FigureKind.PAPER: "Paper",
}
UNIT_NAMES = {"mi": "miles", "km": "kilometres", "um": "micrometres", "mil": "thousandths of an inch"}
VERDICTS = {
    "alone": "only one counts so far",
    "equal": "equal",
    "rounded": "equal, but for a round number that was said",
    "other day": "told on different days, and it may have changed",
    "at odds": "at odds",
    "decided": "all can stand",
}
STATES = {
    "waits": "waits for you",
    "heard": "heard",
    "stands": "stands",
    "spelled": "spelled out in the words",
}


class Decided(msgspec.Struct, forbid_unknown_fields=True):
    """What is sent to decide about a figure; `version` is the one the page showed."""

    id: str
    verb: str
    version: int
    value: str | None = None
    unit: str | None = None
    part: str | None = None
    side: str | None = None
    position: str | None = None


class ToRead(msgspec.Struct, forbid_unknown_fields=True):
    """What is sent to have figures read; a frame each few seconds of the films too where `sweep` is true."""

    sweep: bool = False


@dataclass(frozen=True, slots=True)
class FiguresNow:
    """The figures of a car, and the reading that goes on."""

    figures: CarFigures
    reading: Going[FiguresRead] | None = None


async def page(request: Request) -> Response:
    """Show the figures of a car; `.json` gives the record that the command line prints."""
    store: Store = request.app.state.store
    found = await run_in_threadpool(car_figures, store, request.path_params["car"])
    if request.url.path.endswith(".json"):
        return as_json(found)
    car = await run_in_threadpool(find_car, store, found.car)
    names = {one.id: one.original.name for one in car.recordings}
    names |= {one.id: one.original.name for one in car.pictures}
    return answer(
        request.scope,
        "figures.html.j2",
        FiguresNow(found, _readings(request).of(found.car)),
        car={"name": found.car, "title": found.title},
        names=names,
        films={one.id for one in car.recordings},
        kinds=KINDS,
        units={kind.value: [(unit, UNIT_NAMES[unit]) for unit in units] for kind, units in UNITS.items()},
        unit_names=UNIT_NAMES,
        verdicts=VERDICTS,
        states=STATES,
        when=when,
    )


async def now(request: Request) -> Response:
    """Tell how far the reading is."""
    found = await run_in_threadpool(find_car, request.app.state.store, request.path_params["car"])
    return as_json(_readings(request).of(found.name))


async def decided(request: Request) -> Response:
    """Take, amend, set aside a figure, or let it wait again."""
    sent = await json_of(request, Decided)
    if sent.verb not in _VERBS:
        raise not_taken(f"the verb {sent.verb[:40]!r}", ", ".join(_VERBS))
    done = await run_in_threadpool(
        decide_figure,
        request.app.state.store,
        request.path_params["car"],
        sent.id,
        sent.verb,  # type: ignore[arg-type]
        value=sent.value,
        unit=sent.unit,
        place=read_place(sent.part, sent.side, sent.position),
        version=sent.version,
        author=request.state.session.author,
    )
    return as_json(done)


async def read(request: Request) -> Response:
    """Begin to read what was not read yet."""
    sent = await json_of(request, ToRead)
    found = await run_in_threadpool(find_car, request.app.state.store, request.path_params["car"])
    store: Store = request.app.state.store

    def work(tell: Tell, stop: Stop) -> FiguresRead:
        return read_figures_of(store, found.name, sweep=sent.sweep, tell=tell, stop=stop)

    return as_json(_readings(request).begin(found.name, work), status=202)


async def stopped(request: Request) -> Response:
    """Stop the reading at the next good moment; what was read is kept."""
    found = await run_in_threadpool(find_car, request.app.state.store, request.path_params["car"])
    return as_json(_readings(request).stop(found.name), status=202)


def _readings(request: Request) -> UnderWay[FiguresRead]:
    readings: UnderWay[FiguresRead] = request.app.state.readings
    return readings


ROUTES = (
    Route("/cars/{car}/figures", page),
    Route("/cars/{car}/figures.json", page),
    Route("/cars/{car}/figures/now.json", now),
    Route("/cars/{car}/figures/decide", decided, methods=["POST"]),
    Route("/cars/{car}/figures/read", read, methods=["POST"]),
    Route("/cars/{car}/figures/stop", stopped, methods=["POST"]),
)
