"""The route on a phone: one step on the screen at a time, on by a tap or by a set time; it listens to nothing."""

from __future__ import annotations

from dataclasses import asdict
from functools import partial
from typing import Any

from starlette.concurrency import run_in_threadpool
from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Route

from shutline.usecases.route_walk import Walk, walk_of
from shutline.usecases.survey import plan_route
from shutline.web.pages import as_json, packed, render
from shutline.web.survey_page import WHOLE, asked_route

SECONDS = (8, 12, 20, 30, 45, 60)
"""The set times that are offered for a step, seconds."""


async def page(request: Request) -> Response:
    """Show the route, or send it as `shutline route NAME --json` prints it; ``of=all`` is that of everything."""
    store, name = request.app.state.store, request.path_params["car"]
    raised, minutes = asked_route(request.query_params)
    whole = request.query_params.get("of") == WHOLE
    planned = await run_in_threadpool(
        partial(plan_route, store, name, everything=whole, raised=raised, minutes=minutes)
    )
    if request.url.path.endswith(".json"):
        return packed(request.scope, as_json(planned))
    walk = walk_of(planned)
    car = await run_in_threadpool(store.find_car, name)
    return render(
        request.scope,
        "walk_route.html.j2",
        {
            "it": walk,
            "car": {"name": car.name, "title": car.title},
            "steps": steps_of(walk),
            "seconds": SECONDS,
            "whole": whole,
            "raised": raised.value,
            "minutes": "" if minutes is None else f"{minutes:g}",
        },
    )


def steps_of(walk: Walk) -> dict[str, Any]:
    """Give what the script shows: the steps in order, each with where one stands, and the words of the cautions."""
    return {
        "cautions": walk.cautions,
        "steps": [
            {**asdict(step), "stop": stop.name, "first": number == 0}
            for stop in walk.stops
            for number, step in enumerate(stop.steps)
        ],
    }


ROUTES = (
    Route("/cars/{car}/at-the-car/route.json", page),
    Route("/cars/{car}/at-the-car/route", page),
)
