"""Before filming: the route for a car that is not kept yet, on the page, on paper, and step by step on the phone."""

from __future__ import annotations

from functools import partial
from typing import TYPE_CHECKING, Any
from urllib.parse import urlencode

from starlette.concurrency import run_in_threadpool
from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Route

from shutline.car.errors import Problem, UserError
from shutline.car.findings import Drive
from shutline.usecases.before_filming import before_filming, plan_before
from shutline.usecases.route_sheet import route_sheet
from shutline.usecases.route_walk import walk_of
from shutline.web.outputs_page import disposition
from shutline.web.pages import as_json, packed, render, whole_number
from shutline.web.survey_page import asked_route
from shutline.web.walk_page import SECONDS, steps_of

if TYPE_CHECKING:
    from starlette.datastructures import QueryParams


async def page(request: Request) -> Response:
    """Show the route, or send it as `shutline route --json` prints it without a car."""
    asked = _asked(request.query_params)
    if request.url.path.endswith(".json"):
        return packed(request.scope, as_json(await run_in_threadpool(partial(plan_before, **asked))))
    it = await run_in_threadpool(partial(before_filming, **asked))
    return render(
        request.scope,
        "before.html.j2",
        {"it": it, "asked": asked, "doors_offered": sorted({count for body in it.bodies for count in body.doors})},
    )


async def phone(request: Request) -> Response:
    """Show the route one step at a time."""
    asked = _asked(request.query_params)
    walk = walk_of(await run_in_threadpool(partial(plan_before, **asked)))
    about = {"car": None, "whole": True, "asked": urlencode(request.query_params.multi_items())}
    return render(
        request.scope, "walk_route.html.j2", {"it": walk, "steps": steps_of(walk), "seconds": SECONDS, **about}
    )


async def paper(request: Request) -> Response:
    """Hand out the route on one page of paper."""
    asked = _asked(request.query_params)
    data = await run_in_threadpool(lambda: route_sheet(plan_before(**asked)))
    return Response(
        data,
        media_type="application/pdf",
        headers={"content-disposition": disposition("route.pdf", "route.pdf", keep=True)},
    )


def _asked(given: QueryParams) -> dict[str, Any]:
    """Read what car it is out of an address; what is empty is not known."""
    raised, minutes = asked_route(given)
    wheel = given.get("drive", "")
    if wheel and wheel not in set(Drive):
        allowed = f"{' or '.join(Drive)}, or nothing"
        raise UserError(
            Problem("web-asked", "drive in the address", repr(wheel[:40]), allowed, "Follow the links of the page.")
        )
    doors = given.get("doors", "").strip()
    return {
        "body": given.get("body", "").strip() or None,
        "doors": whole_number(doors, "doors") if doors else None,
        "drive": Drive(wheel) if wheel else None,
        "construction": given.get("construction", "").strip(),
        "over": tuple(given.getlist("over"))[:8],
        "raised": raised,
        "minutes": minutes,
    }


ROUTES = (
    Route("/before-filming", page),
    Route("/before-filming.json", page),
    Route("/before-filming/route", phone),
    Route("/before-filming/route.pdf", paper),
)
