"""Readings: entered, taken from a table, heard and decided about; and a round beside the car, one place at a time."""

from __future__ import annotations

from dataclasses import asdict
from functools import partial
from typing import TypeVar

import msgspec
from starlette.concurrency import run_in_threadpool
from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Route

from shutline.car.errors import Problem, UserError
from shutline.car.findings import Found
from shutline.gauge.readings import Keyed
from shutline.usecases.gauges import enter_measured
from shutline.usecases.readings import (
    ReadingVerb,
    decide_reading,
    enter_reading,
    hear_readings,
    keep_table,
)
from shutline.usecases.readings_round import readings_round
from shutline.usecases.readings_view import readings_view
from shutline.web.pages import answer, as_json, packed, render

T = TypeVar("T")

MOST_BYTES = 20_000_000
"""The longest table that is taken, bytes."""
_LONGEST_SENT = 20_000


class Entered(msgspec.Struct, forbid_unknown_fields=True):
    """A reading that was keyed in; the same token twice is one reading."""

    reading: Keyed
    token: str | None = None


class Decided(msgspec.Struct, forbid_unknown_fields=True):
    """What was decided about a reading."""

    id: str
    verb: ReadingVerb
    version: int | None = None
    reading: Keyed | None = None


class Measured(msgspec.Struct, forbid_unknown_fields=True):
    """A finding that was measured and is to be entered."""

    key: str
    found: Found = Found.UNSURE


async def page(request: Request) -> Response:
    """Show the readings of a car."""
    found = await run_in_threadpool(readings_view, request.app.state.store, request.path_params["car"])
    return answer(
        request.scope,
        "readings.html.j2",
        found,
        car={"name": found.car, "title": found.title},
        quantities=[asdict(one) for one in found.quantities],
    )


async def enter(request: Request) -> Response:
    """Keep a reading, from the desk or from a phone."""
    sent = await _sent(request, Entered)
    keep = partial(
        enter_reading,
        request.app.state.store,
        request.path_params["car"],
        sent.reading,
        token=sent.token,
        author=request.state.session.author,
    )
    return as_json(await run_in_threadpool(keep), status=201)


async def table(request: Request) -> Response:
    """Keep the readings of a table that is sent as it is."""
    asked = request.query_params
    data = await _body(request, MOST_BYTES)
    name = "".join(sign for sign in asked.get("name", "") if sign.isprintable()).replace("\\", "/").rsplit("/", 1)[-1]
    keep = partial(
        keep_table,
        request.app.state.store,
        request.path_params["car"],
        data,
        called=name[:120] or "table",
        usual=Keyed(asked.get("quantity", ""), "", instrument=asked.get("instrument", "")),
        author=request.state.session.author,
    )
    return as_json(await run_in_threadpool(keep))


async def hear(request: Request) -> Response:
    """Look for figures called out in the recordings."""
    return as_json(await run_in_threadpool(hear_readings, request.app.state.store, request.path_params["car"]))


async def decide(request: Request) -> Response:
    """Do what was decided about a reading."""
    sent = await _sent(request, Decided)
    do = partial(
        decide_reading,
        request.app.state.store,
        request.path_params["car"],
        sent.id,
        sent.verb,
        keyed=sent.reading,
        version=sent.version,
        author=request.state.session.author,
    )
    return as_json(await run_in_threadpool(do))


async def measured(request: Request) -> Response:
    """Enter a finding that was measured."""
    sent = await _sent(request, Measured)
    do = partial(
        enter_measured,
        request.app.state.store,
        request.path_params["car"],
        sent.key,
        found=sent.found,
        author=request.state.session.author,
    )
    return as_json(await run_in_threadpool(do), status=201)


async def walk(request: Request) -> Response:
    """Show a round, all of it in the page, so that it can be walked without signal."""
    of = request.query_params.get("of", "paint_film")
    found = await run_in_threadpool(readings_round, request.app.state.store, request.path_params["car"], of)
    if request.url.path.endswith(".json"):
        return packed(request.scope, as_json(found))
    car = {"name": found.car, "title": found.title}
    return render(request.scope, "readings_round.html.j2", {"it": found, "car": car, "round": asdict(found)})


async def _sent(request: Request, kind: type[T]) -> T:
    body = await _body(request, _LONGEST_SENT)
    try:
        return msgspec.json.decode(body, type=kind)
    except (msgspec.MsgspecError, UnicodeDecodeError) as trouble:
        raise _refused(str(trouble)[:200], "JSON as the page sends it") from trouble


async def _body(request: Request, most: int) -> bytes:
    body = bytearray()
    async for piece in request.stream():
        body += piece
        if len(body) > most:
            raise _refused(f"more than {most:,} bytes", f"at most {most:,} bytes")
    return bytes(body)


def _refused(found: str, allowed: str) -> UserError:
    return UserError(Problem("web-asked", "readings", found, allowed, "Load the page anew and try again."))


ROUTES = (
    Route("/cars/{car}/readings.json", page),
    Route("/cars/{car}/readings", page),
    Route("/cars/{car}/readings/enter", enter, methods=["POST"]),
    Route("/cars/{car}/readings/table", table, methods=["POST"]),
    Route("/cars/{car}/readings/hear", hear, methods=["POST"]),
    Route("/cars/{car}/readings/decide", decide, methods=["POST"]),
    Route("/cars/{car}/readings/measured", measured, methods=["POST"]),
    Route("/cars/{car}/at-the-car/readings.json", walk),
    Route("/cars/{car}/at-the-car/readings", walk),
    Route("/cars/{car}/at-the-car/reading", enter, methods=["POST"]),
)
