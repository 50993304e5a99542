"""The timeline of a car: what is known of it in use, its test histories, and what does not add up."""

from __future__ import annotations

from datetime import date
from functools import partial

import msgspec
from starlette.concurrency import run_in_threadpool
from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Route

from shutline.car.errors import Problem, UserError
from shutline.usecases.car_history import car_history
from shutline.usecases.kept_tests import MOST_BYTES, RecordVerb, decide_tests, keep_tests
from shutline.web.forms import body_of, file_name, json_of
from shutline.web.pages import answer, as_json


class Decided(msgspec.Struct, forbid_unknown_fields=True):
    """What was said of a record: it is this car, it is another, or it is open again."""

    id: str
    verb: RecordVerb


async def page(request: Request) -> Response:
    """Show the timeline of a car."""
    asked = request.query_params.get("day", "")
    try:
        day = date.fromisoformat(asked) if asked else None
    except ValueError:
        raise _refused(f"the day {asked[:40]!r}", "a day such as 2026-11-26") from None
    tell = partial(car_history, request.app.state.store, request.path_params["car"], day=day)
    found = await run_in_threadpool(tell)
    return answer(request.scope, "timeline.html.j2", found, car={"name": found.car, "title": found.title})


async def tests(request: Request) -> Response:
    """Keep the records of a file that is sent as it is."""
    data = await body_of(request, most=MOST_BYTES)
    keep = partial(
        keep_tests,
        request.app.state.store,
        request.path_params["car"],
        data,
        called=file_name(request.query_params.get("name", ""), instead="test history"),
        author=request.state.session.author,
    )
    return as_json(await run_in_threadpool(keep))


async def decide(request: Request) -> Response:
    """Keep what was said of a record."""
    sent = await json_of(request, Decided)
    do = partial(
        decide_tests,
        request.app.state.store,
        request.path_params["car"],
        sent.id,
        sent.verb,
        author=request.state.session.author,
    )
    return as_json(await run_in_threadpool(do))


def _refused(found: str, allowed: str) -> UserError:
    return UserError(Problem("web-asked", "timeline", found, allowed, "Load the page anew and try again."))


ROUTES = (
    Route("/cars/{car}/timeline.json", page),
    Route("/cars/{car}/timeline", page),
    Route("/cars/{car}/timeline/tests", tests, methods=["POST"]),
    Route("/cars/{car}/timeline/decide", decide, methods=["POST"]),
)
