"""A tyre by what stands on it: a form that works without script, and what follows from it."""

from __future__ import annotations

from starlette.concurrency import run_in_threadpool
from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Route

from shutline.car.errors import UserError
from shutline.usecases.tyre import tyre_told
from shutline.web.pages import answer, render

_ASKED = ("marking", "date", "meant", "diameter", "on")
_LONGEST = 80


async def page(request: Request) -> Response:
    """Show the form, and what follows from what was filled in; what cannot be is said beside it."""
    asked = {name: request.query_params.get(name, "")[:_LONGEST] for name in _ASKED}
    asked["triangle"] = "yes" if request.query_params.get("triangle") else ""
    if not asked["marking"].strip() and not request.url.path.endswith(".json"):
        return render(request.scope, "tyre.html.j2", {"it": None, "asked": asked, "trouble": None})
    try:
        told = await run_in_threadpool(
            tyre_told,
            asked["marking"],
            date_on_it=asked["date"],
            triangle=bool(asked["triangle"]),
            meant=asked["meant"],
            diameter_mm=asked["diameter"],
            day=asked["on"],
        )
    except UserError as trouble:
        if request.url.path.endswith(".json"):
            raise
        return render(
            request.scope, "tyre.html.j2", {"it": None, "asked": asked, "trouble": trouble.problem}, status=400
        )
    return answer(request.scope, "tyre.html.j2", told, asked=asked, trouble=None)


ROUTES = (
    Route("/tyre.json", page),
    Route("/tyre", page),
)
