"""Bringing a car in, and the consumer clock: what follows from some days; asked for, answered, and not kept."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Any

from starlette.concurrency import run_in_threadpool
from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Route

from shutline.car.errors import BadInputError, Problem
from shutline.ledger.checking import FieldProblem
from shutline.ledger.imports import conditions
from shutline.usecases.ledger import today
from shutline.usecases.ledger_typed import REPAIRS, clock_typed, import_typed
from shutline.web.pages import answer, as_json, render


async def brought(request: Request) -> Response:
    """Tell what bringing a car in asks for."""
    return await _told(request, import_typed, "ledger_import.html.j2", conditions=conditions())


async def clock(request: Request) -> Response:
    """Work out the days of a sale to a consumer."""
    return await _told(request, clock_typed, "ledger_clock.html.j2", today=today(), repairs=REPAIRS)


async def _told(request: Request, tell: Callable[[Mapping[str, str]], Any], template: str, **more: object) -> Response:
    typed = dict(request.query_params)
    if request.url.path.endswith(".json"):
        return as_json(await run_in_threadpool(tell, typed))
    if not typed:
        return render(request.scope, template, {"it": None, "typed": typed, "trouble": None, **more})
    try:
        found = await run_in_threadpool(tell, typed)
    except BadInputError as error:
        # What was typed stays, with what is wrong beside it.
        shown = {"it": None, "typed": typed, "trouble": _with_field(error.problem), **more}
        return render(request.scope, template, shown, status=400)
    return answer(request.scope, template, found, typed=typed, trouble=None, **more)


def _with_field(problem: Problem) -> FieldProblem:
    if isinstance(problem, FieldProblem):
        return problem
    return FieldProblem(problem.slug, problem.where, problem.found, problem.allowed, problem.advice)


ROUTES = (
    Route("/ledger/import.json", brought),
    Route("/ledger/import", brought),
    Route("/ledger/clock.json", clock),
    Route("/ledger/clock", clock),
)
