"""One car: the film, its words, the thread, the Plan and all that was found, moving together."""

from __future__ import annotations

from starlette.concurrency import run_in_threadpool
from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Route

from shutline.usecases.look import show_car
from shutline.web.pages import answer


async def page(request: Request) -> Response:
    """Show a car."""
    shown = await run_in_threadpool(show_car, request.app.state.store, request.path_params["car"])
    return answer(request.scope, "car.html.j2", shown)


ROUTES = (
    Route("/cars/{car}.json", page),
    Route("/cars/{car}", page),
)
