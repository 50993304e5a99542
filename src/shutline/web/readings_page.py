"""Readings: entered, taken from a table, heard and decided about; and a round beside the car, one place at a time."""

from __future__ import annotations

from dataclasses import asdict
from functools import partial

import msgspec
from starlette.concurrency import run_in_threadpool
from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Route

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
from shutline.web.forms import body_of, file_name, json_of
from shutline.web.pages import answer, as_json, packed, render

MOST_BYTES = 20_000_000
"""The longest table that is taken, bytes."""


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
    sent = await json_of(request, Entered)
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
    data = await body_of(request, most=MOST_BYTES)
    keep = partial(
        keep_table,
        request.app.state.store,
        request.path_params["car"],
        data,
        called=file_name(asked.get("name", ""), instead="table"),
        usual=Keyed(asked.get("quantity", ""), "", instrument=asked.get("instrument", "")),
        author=request.state.session.author,
    )
    return as_json(await run_in_threadpool(keep))


async def hear(request: Request) -> Response:
    """Look for figures called out in the recordings."""
    return as_json(await run_in_threadpool(hear_readings, request.app.state.store, request.path_params["car"]))


async def decide(request: Request) -> Response:
    """Do what was decided about a reading."""
    sent = await json_of(request, Decided)
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
    sent = await json_of(request, Measured)
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
