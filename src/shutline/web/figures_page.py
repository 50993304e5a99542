"""Figures read off the pictures of a car: the piece of picture large, what was read below it sign by sign, and keys."""

from __future__ import annotations

import threading
from concurrent.futures import Future, ThreadPoolExecutor
from dataclasses import dataclass
from typing import TYPE_CHECKING, TypeVar

import msgspec
from starlette.concurrency import run_in_threadpool
from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Route

from shutline.car.errors import Problem, ShutlineError, UserError
from shutline.car.figures import FigureKind
from shutline.usecases.figure_reading import FiguresRead, read_figures_of
from shutline.usecases.figures import UNITS, CarFigures, car_figures, decide_figure, read_place
from shutline.usecases.look import find_car
from shutline.web.pages import answer, as_json

if TYPE_CHECKING:
    from shutline.store import Store
    from shutline.usecases.progress import Step

_LONGEST_SENT = 64_000
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
    "alone": "nothing yet to hold it against",
    "equal": "equal",
    "rounded": "equal, but for a round number that was said",
    "at odds": "at odds",
}
STATES = {
    "waits": "waits for you",
    "heard": "heard",
    "stands": "stands",
    "spelled": "spelled out in the words",
}

T = TypeVar("T")


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
class ReadingNow:
    """How far a reading is: what is being read, how much of it is done, and what came of it or went wrong."""

    at: str = ""
    done: float = 0.0
    ended: bool = False
    read: FiguresRead | None = None
    problem: Problem | None = None


class Readings:
    """The readings that go on, at most one a car."""

    def __init__(self, store: Store) -> None:
        self._store = store
        self._turn = threading.Lock()
        self._worker = ThreadPoolExecutor(1, thread_name_prefix="figures")
        self._now: dict[str, ReadingNow] = {}

    def begin(self, car: str, *, sweep: bool) -> ReadingNow:
        """Begin a reading unless one goes on."""
        with self._turn:
            if car not in self._now or self._now[car].ended:
                self._now[car] = ReadingNow()
                self._worker.submit(self._run, car, sweep).add_done_callback(lambda done: self._ended(car, done))
            return self._now[car]

    def of(self, car: str) -> ReadingNow | None:
        """Give the reading that goes on, or the last one."""
        return self._now.get(car)

    def _run(self, car: str, sweep: bool) -> FiguresRead:  # noqa: FBT001 - handed to a thread
        def tell(step: Step) -> None:
            self._now[car] = ReadingNow(step.recording, step.done)

        return read_figures_of(self._store, car, sweep=sweep, tell=tell)

    def _ended(self, car: str, done: Future[FiguresRead]) -> None:
        error = done.exception()
        problem = error.problem if isinstance(error, ShutlineError) else None
        if error is not None and problem is None:
            problem = Problem(
                slug="figures-not-read",
                where=car,
                found=f"the pictures could not be read: {type(error).__name__}",
                allowed="what was read before is kept",
                advice="Try again; if it happens again, report it with this message.",
            )
        read = done.result() if error is None else None
        self._now[car] = ReadingNow(done=1.0, ended=True, read=read, problem=problem)


@dataclass(frozen=True, slots=True)
class FiguresNow:
    """The figures of a car, and the reading that goes on."""

    figures: CarFigures
    reading: ReadingNow | None = None


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
    )


async def now(request: Request) -> Response:
    """Tell how far the reading is."""
    found = await run_in_threadpool(find_car, request.app.state.store, request.path_params["car"])
    return as_json(_readings(request).of(found.name))


async def decided(request: Request) -> Response:
    """Take, amend, set aside a figure, or let it wait again."""
    sent = await _sent(request, Decided)
    if sent.verb not in _VERBS:
        raise _not_taken(f"the verb {sent.verb[:40]!r}", ", ".join(_VERBS))
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
    sent = await _sent(request, ToRead)
    found = await run_in_threadpool(find_car, request.app.state.store, request.path_params["car"])
    return as_json(_readings(request).begin(found.name, sweep=sent.sweep), status=202)


def _readings(request: Request) -> Readings:
    state = request.app.state
    if not hasattr(state, "figure_readings"):
        state.figure_readings = Readings(state.store)
    readings: Readings = state.figure_readings
    return readings


async def _sent(request: Request, kind: type[T]) -> T:
    body = bytearray()
    async for piece in request.stream():
        body += piece
        if len(body) > _LONGEST_SENT:
            raise _not_taken(f"more than {_LONGEST_SENT:,} bytes", "one change at a time")
    try:
        return msgspec.json.decode(bytes(body), type=kind)
    except (msgspec.DecodeError, msgspec.ValidationError, UnicodeDecodeError) as trouble:
        raise _not_taken(str(trouble)[:200], "JSON as the page of the figures sends it") from None


def _not_taken(found: str, allowed: str) -> UserError:
    return UserError(
        Problem(
            slug="web-sent",
            where="what was sent",
            found=found,
            allowed=allowed,
            advice="Load the page again, and make the change there.",
        )
    )


ROUTES = (
    Route("/cars/{car}/figures", page),
    Route("/cars/{car}/figures.json", page),
    Route("/cars/{car}/figures/now.json", now),
    Route("/cars/{car}/figures/decide", decided, methods=["POST"]),
    Route("/cars/{car}/figures/read", read, methods=["POST"]),
)
