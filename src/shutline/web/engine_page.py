"""The engine's start by ear: marked on the film or found by the program, heard again, with figures and a picture."""

from __future__ import annotations

import math
import threading

import msgspec
from starlette.concurrency import run_in_threadpool
from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Route

from shutline.car.engine import ColdReadings
from shutline.car.errors import Problem, UserError
from shutline.usecases.engine import EnginePage, engine_page, listen
from shutline.web.pages import answer, as_json

_LONGEST_SENT = 10_000

# A sound takes some hundred megabytes while it is listened to: one at a time.
_turn = threading.Lock()


class Asked(msgspec.Struct, forbid_unknown_fields=True):
    """What is sent to have the program listen; what is left out is found, as said, or as entered before."""

    recording: str | None = None
    from_s: float | None = None
    to_s: float | None = None
    cylinders: int | None = None
    strokes: int | None = None
    readings: ColdReadings | None = None


async def page(request: Request) -> Response:
    """Show what was heard of the engine."""
    found = await run_in_threadpool(engine_page, request.app.state.store, request.path_params["car"])
    return answer(request.scope, "engine.html.j2", found, car={"name": found.car, "title": found.title})


async def hear(request: Request) -> Response:
    """Listen, keep the note, and send what the page would show."""
    asked = await _asked(request)
    author = request.state.session.author
    found = await run_in_threadpool(_listen, request, asked, author)
    return as_json(found)


def _listen(request: Request, asked: Asked, author: str) -> EnginePage:
    span = None
    if asked.from_s is not None or asked.to_s is not None:
        span = (asked.from_s or 0.0, math.inf if asked.to_s is None else asked.to_s)
    with _turn:
        return listen(
            request.app.state.store,
            request.path_params["car"],
            recording=asked.recording,
            span=span,
            cylinders=asked.cylinders,
            strokes=asked.strokes,
            readings=asked.readings,
            by=author,
        )


async def _asked(request: Request) -> Asked:
    body = b""
    async for piece in request.stream():
        body += piece
        if len(body) > _LONGEST_SENT:
            raise _refused(f"more than {_LONGEST_SENT} bytes")
    try:
        return msgspec.json.decode(body or b"{}", type=Asked)
    except msgspec.DecodeError as trouble:
        raise _refused(str(trouble)) from trouble


def _refused(found: str) -> UserError:
    return UserError(
        Problem(
            slug="web-asked",
            where="engine",
            found=found,
            allowed="a recording, marks in seconds, cylinders and strokes, and readings",
            advice="Load the page anew and try again.",
        )
    )


ROUTES = (
    Route("/cars/{car}/engine", page),
    Route("/cars/{car}/engine.json", page),
    Route("/cars/{car}/engine/listen", hear, methods=["POST"]),
)
