"""Bring films, sounds, transcripts and pictures in, for a new car or one that is there."""

from __future__ import annotations

import asyncio
from collections.abc import AsyncIterator
from dataclasses import dataclass
from typing import TYPE_CHECKING, TypeVar

import anyio
import msgspec
from sse_starlette import EventSourceResponse
from starlette.concurrency import run_in_threadpool
from starlette.requests import ClientDisconnect, Request
from starlette.responses import Response
from starlette.routing import Route

from shutline.car.carfile import CarSummary
from shutline.car.errors import NotFoundError, Problem, UserError
from shutline.usecases.known import likely_known
from shutline.usecases.yard import yard
from shutline.web.adding_words import standing, tally, walked
from shutline.web.deliveries import Announced, AnnouncedFile, Delivery, base_name
from shutline.web.forms import form_of, is_form, see
from shutline.web.pages import answer, as_json, render, whole_number

if TYPE_CHECKING:
    from shutline.store import Store
    from shutline.web.jobs import Adding, Jobs

T = TypeVar("T")

_LONGEST_BODY = 262_144
_BUFFER_BYTES = 1 << 20
_LOOK_EVERY_S = 0.25
# How long a browser that follows may take to be let go when the workbench ends, seconds; `serve` waits for 3.
_GRACE_S = 2.0
_MOST_LIKELY = 50
_NEAR = 5
"""How many cars are offered before one is sought."""


@dataclass(frozen=True, slots=True)
class Whole:
    """That a file was sent to its end: the SHA-256 of what it was sent from."""

    sha256: str


@dataclass(frozen=True, slots=True)
class Whose:
    """Of which car a delivery is: the name of one, None for a new one."""

    car: str | None


async def page(request: Request) -> Response:
    """Show what is being brought in, and let more be."""
    store: Store = request.app.state.store
    name = request.path_params.get("car")
    car = await run_in_threadpool(_car, store, name) if name is not None else None
    adding: Adding = await run_in_threadpool(_jobs(request).adding, anew=True)
    if request.url.path.endswith(".json"):
        return as_json(adding)
    near = await run_in_threadpool(yard, store, limit=_NEAR)
    return answer(request.scope, "add.html.j2", adding, car=car, near=near.cars, more=near.count > _NEAR, **_words())


async def pieces(request: Request) -> Response:
    """Send the part of the page that tells what is being brought in."""
    adding = await run_in_threadpool(_jobs(request).adding)
    return render(request.scope, "pieces.html.j2", {"it": adding, **_words()})


async def events(request: Request) -> Response:
    """Tell each change of what is being brought in, as it stands then, until the browser goes."""
    jobs = _jobs(request)
    ending = anyio.Event()

    async def changes() -> AsyncIterator[dict[str, str]]:
        seen: tuple[object, ...] = ()
        while not ending.is_set():
            mark = jobs.mark()
            if mark != seen:
                seen = mark
                adding = await run_in_threadpool(jobs.adding)
                yield {"event": "adding", "data": msgspec.json.encode(adding).decode()}
            await asyncio.sleep(_LOOK_EVERY_S)

    return EventSourceResponse(changes(), shutdown_event=ending, shutdown_grace_period=_GRACE_S)


async def begin(request: Request) -> Response:
    """Make room for files that somebody means to send."""
    announced = await _body(request, Announced)
    if announced.car is not None:
        await run_in_threadpool(_car, request.app.state.store, announced.car)
    jobs = _jobs(request)
    author = request.state.session.author
    delivery = await run_in_threadpool(jobs.arrivals.begin, announced, author=author)
    jobs.wake()
    return as_json(delivery, status=201)


async def delivery(request: Request) -> Response:
    """Tell how one delivery stands: a sender asks it for where to go on."""
    return as_json(await run_in_threadpool(_jobs(request).arrivals.get, request.path_params["delivery"]))


async def piece(request: Request) -> Response:
    """Take a piece of a file; what has come of it is kept even where the network fails half way."""
    arrivals = _jobs(request).arrivals
    name, place = request.path_params["delivery"], request.path_params["place"]
    at = _offset(request.query_params.get("at", ""))
    sender = await run_in_threadpool(arrivals.take_over, name, place)
    waiting = bytearray()
    came = 0

    async def write() -> None:
        nonlocal at
        data = bytes(waiting)
        waiting.clear()
        await run_in_threadpool(arrivals.write, name, place, sender, at, data)
        at += len(data)

    try:
        async for chunk in request.stream():
            came += len(chunk)
            if came > arrivals.limits.most_piece_bytes:
                raise _piece_too_long(arrivals.limits.most_piece_bytes)
            waiting += chunk
            if len(waiting) >= _BUFFER_BYTES:
                await write()
    except ClientDisconnect:
        await write()
        return Response(status_code=400)
    await write()
    kept = await run_in_threadpool(arrivals.get, name)
    return as_json({"received": kept.files[place].received})


async def whole(request: Request) -> Response:
    """Take a file as sent to its end, and begin with the work when it was the last."""
    sent = await _body(request, Whole)
    jobs = _jobs(request)
    kept: Delivery = await run_in_threadpool(
        jobs.arrivals.finish, request.path_params["delivery"], request.path_params["place"], sent.sha256
    )
    jobs.wake()
    return as_json(kept)


async def leave_out(request: Request) -> Response:
    """Do without a file."""
    jobs = _jobs(request)
    kept = await run_in_threadpool(
        jobs.arrivals.leave_out, request.path_params["delivery"], request.path_params["place"]
    )
    jobs.wake()
    return as_json(kept)


async def stop(request: Request) -> Response:
    """Stop the work on a delivery."""
    return as_json(await run_in_threadpool(_jobs(request).stop, request.path_params["delivery"]))


async def go_on(request: Request) -> Response:
    """Go on with a delivery that was stopped."""
    return as_json(await run_in_threadpool(_jobs(request).go_on, request.path_params["delivery"]))


async def whose(request: Request) -> Response:
    """Take the answer of which car a delivery is, where a car has a recording of it already."""
    jobs, name = _jobs(request), request.path_params["delivery"]
    plain = is_form(request)
    sent = Whose((await form_of(request)).get("car", [""])[0] or None) if plain else await _body(request, Whose)
    if sent.car is not None:
        await run_in_threadpool(_car, request.app.state.store, sent.car)
    kept = await run_in_threadpool(jobs.answer, name, sent.car)
    return see("/add") if plain else as_json(kept)


async def likely(request: Request) -> Response:
    """Tell which of the files that somebody has chosen a car seems to have already, before they are sent."""
    chosen = await _body(request, tuple[AnnouncedFile, ...])
    files = [(base_name(file.name), file.byte_size) for file in chosen[:_MOST_LIKELY]]
    return as_json(await run_in_threadpool(likely_known, request.app.state.store, files))


async def put_away(request: Request) -> Response:
    """Forget a delivery."""
    await run_in_threadpool(_jobs(request).put_away, request.path_params["delivery"])
    return as_json({"put_away": request.path_params["delivery"]})


async def read_on(request: Request) -> Response:
    """Go on with a recording of the store that was not read to its end."""
    author = request.state.session.author
    kept = await run_in_threadpool(_jobs(request).read_on, request.path_params["recording"], author=author)
    return as_json(kept, status=201)


def _jobs(request: Request) -> Jobs:
    jobs: Jobs = request.app.state.jobs
    return jobs


def _words() -> dict[str, object]:
    return {"standing": standing, "tally": tally, "walked": walked}


def _car(store: Store, name: str) -> CarSummary:
    """Give a car by its whole name, or by that of one joined with it; a beginning of one is none to add to."""
    car = store.car_named(name)
    if car is None:
        near = store.find_car(name)
        raise NotFoundError(
            Problem(
                slug="car-unknown",
                where=f"car {name[:80]!r}",
                found="the store holds no car of that name",
                allowed=f"near it: {near.name}",
                advice="Choose it on the page.",
            )
        )
    return car


async def _body(request: Request, kind: type[T]) -> T:
    body = bytearray()
    async for chunk in request.stream():
        body += chunk
        if len(body) > _LONGEST_BODY:
            raise _not_as_asked(f"more than {_LONGEST_BODY} bytes")
    try:
        return msgspec.json.decode(body, type=kind)
    except (msgspec.MsgspecError, UnicodeDecodeError, ValueError) as error:
        raise _not_as_asked(str(error)) from None


def _offset(text: str) -> int:
    if text.isascii() and text.isdigit() and len(text) <= 15:
        return int(text)
    return whole_number(text, "at")


def _not_as_asked(found: str) -> UserError:
    return UserError(
        Problem(
            slug="upload-asked",
            where="what the page sent",
            found=found,
            allowed="JSON as the page sends it",
            advice="Load the page again.",
        )
    )


def _piece_too_long(most: int) -> UserError:
    return UserError(
        Problem(
            slug="upload-piece",
            where="a piece of a file",
            found=f"more than {most} bytes at once",
            allowed=f"at most {most}; what came before is kept",
            advice="Send smaller pieces.",
        )
    )


_ONE = "/add/deliveries/{delivery:str}"
_FILE = _ONE + "/files/{place:int}"

ROUTES = (
    Route("/add", page),
    Route("/add.json", page),
    Route("/cars/{car}/add", page),
    Route("/cars/{car}/add.json", page),
    Route("/add/pieces", pieces),
    Route("/add/events", events),
    Route("/add/deliveries", begin, methods=["POST"]),
    Route(_ONE + ".json", delivery),
    Route(_FILE, piece, methods=["PUT"]),
    Route(_FILE + "/whole", whole, methods=["POST"]),
    Route(_FILE + "/leave-out", leave_out, methods=["POST"]),
    Route(_ONE + "/stop", stop, methods=["POST"]),
    Route(_ONE + "/go-on", go_on, methods=["POST"]),
    Route(_ONE + "/whose", whose, methods=["POST"]),
    Route("/add/likely", likely, methods=["POST"]),
    Route(_ONE + "/put-away", put_away, methods=["POST"]),
    Route("/add/recordings/{recording}/go-on", read_on, methods=["POST"]),
)
