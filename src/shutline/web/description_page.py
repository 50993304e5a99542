"""The words a car is offered with, drafted: each sentence with what it stands on, and what was left out and why."""

from __future__ import annotations

from functools import partial

from starlette.concurrency import run_in_threadpool
from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Route

from shutline.usecases.describe import LENGTHS, describe
from shutline.web.pages import answer
from shutline.words.shapes import stands_on_words


async def page(request: Request) -> Response:
    """Show the draft; `length` and, for the JSON twin, `form` and `footings` in the address are those of `describe`."""
    asked = request.query_params
    made = await run_in_threadpool(
        partial(
            describe,
            request.app.state.store,
            request.path_params["car"],
            length=asked.get("length", "full"),
            form=asked.get("form", "text"),
            footings=asked.get("footings", "") == "yes",
        )
    )
    summary = await run_in_threadpool(request.app.state.store.find_car, made.car)
    return answer(request.scope, "description.html.j2", made, car=summary, lengths=LENGTHS, stands=stands_on_words)


ROUTES = (
    Route("/cars/{car}/description", page),
    Route("/cars/{car}/description.json", page),
)
