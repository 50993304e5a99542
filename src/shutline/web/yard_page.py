"""The yard: all cars, with a search over everything kept of them."""

from __future__ import annotations

from starlette.concurrency import run_in_threadpool
from starlette.requests import Request
from starlette.responses import RedirectResponse, Response
from starlette.routing import Route

from shutline.usecases.yard import OPEN, PAGE, yard
from shutline.web.pages import answer, whole_number


async def front(_: Request) -> Response:
    """Go to the yard."""
    return RedirectResponse("/yard", status_code=303)


async def page(request: Request) -> Response:
    """Show the cars that fit."""
    asked = request.query_params
    found = await run_in_threadpool(
        yard,
        request.app.state.store,
        asked.get("words", ""),
        open_=asked.get("open", "all"),
        aside="aside" in asked,
        skip=whole_number(asked.get("skip", "0"), "skip"),
    )
    return answer(request.scope, "yard.html.j2", found, kinds=OPEN, size=PAGE)


ROUTES = (
    Route("/", front),
    Route("/yard", page),
    Route("/yard.json", page),
)
