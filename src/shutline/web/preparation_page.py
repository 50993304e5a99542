"""Preparation: what pays within a budget, what stays and is told, who does it when; and what people decide about it."""

from __future__ import annotations

from datetime import date
from functools import partial
from typing import TYPE_CHECKING

import msgspec
from starlette.concurrency import run_in_threadpool
from starlette.datastructures import QueryParams
from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Route

from shutline.car.errors import Problem, UserError
from shutline.car.prep_decisions import PrepKind
from shutline.prep.settings import prep_settings
from shutline.usecases.prep_cards import prep_cards
from shutline.usecases.prep_deciding import decide_prep
from shutline.usecases.prep_done import WorksShown, works_of
from shutline.usecases.prep_plan import planned
from shutline.usecases.prep_shown import PlanShown
from shutline.usecases.prep_worked import PlanAsked
from shutline.web.forms import json_of
from shutline.web.pages import answer, as_json

if TYPE_CHECKING:
    from shutline.store import Store

CHANCES = (0, 80, 90, 95)
"""In how many of a hundred a budget is kept to that the page offers; 0 holds the average cost against it."""


class Decided(msgspec.Struct, forbid_unknown_fields=True):
    """What was decided; `holds` false takes it back."""

    kind: PrepKind
    about: str = ""
    words: str = ""
    pence: int | None = None
    holds: bool = True
    version: int | None = None


async def page(request: Request) -> Response:
    """Show the plan of a car; the page itself does not wait for the curve, its twin does."""
    asked = _asked(request.query_params, curve=request.url.path.endswith(".json"))
    found, works = await run_in_threadpool(_plan, request.app.state.store, request.path_params["car"], asked)
    holding = [one for one in found.decisions if one.holds]
    return answer(
        request.scope,
        "preparation.html.j2",
        found,
        car={"name": found.car, "title": found.title},
        holding=holding,
        works=works,
        kept=next((one.pence for one in holding if one.kind is PrepKind.BUDGET), None),
        kept_sure=next((int(one.words or 0) for one in holding if one.kind is PrepKind.BUDGET), 0),
        chances=sorted({*CHANCES, found.sure}),
        draws=prep_settings().cost.draws,
        called={one.task.id: f"{one.task.place}: {one.task.words}".removeprefix(": ") for one in found.lines}
        | {one.id: f"{one.place}: {one.words}" for line in found.lines for one in line.task.findings},
    )


async def decide(request: Request) -> Response:
    """Keep what was decided."""
    sent = await json_of(request, Decided)
    do = partial(
        decide_prep,
        request.app.state.store,
        request.path_params["car"],
        sent.kind,
        sent.about,
        words=sent.words,
        pence=sent.pence,
        holds=sent.holds,
        version=sent.version,
        author=request.state.session.author,
    )
    return as_json(await run_in_threadpool(do))


async def cards(request: Request) -> Response:
    """Give the job cards of what is chosen."""
    asked = _asked(request.query_params, curve=False)
    make = partial(prep_cards, request.app.state.store, request.path_params["car"], asked)
    return Response(await run_in_threadpool(make), media_type="application/pdf")


def _plan(store: Store, car: str, asked: PlanAsked) -> tuple[PlanShown, WorksShown]:
    made = planned(store, car, asked)
    return made.shown, works_of(made.file, store.works_done(made.file.name), made.tasks, made.tables)


def _asked(query: QueryParams, *, curve: bool) -> PlanAsked:
    budget, start, sure, by = (query.get(name, "").strip() for name in ("budget", "start", "sure", "by"))
    try:
        return PlanAsked(
            budget_pence=round(100 * float(budget.replace(",", ""))) if budget else None,
            start=date.fromisoformat(start) if start else None,
            by=date.fromisoformat(by) if by else None,
            sure=int(sure) if sure else None,
            curve=curve,
        )
    except (ValueError, OverflowError):
        raise UserError(
            Problem(
                "web-asked",
                "the address",
                f"budget {budget[:40]!r}, start {start[:40]!r}, sure {sure[:40]!r}, by {by[:40]!r}",
                "a budget in pounds, days such as 2026-12-01, and in how many of a hundred it is kept to",
                "Follow the links of the page.",
            )
        ) from None


ROUTES = (
    Route("/cars/{car}/preparation.json", page),
    Route("/cars/{car}/preparation", page),
    Route("/cars/{car}/preparation/decide", decide, methods=["POST"]),
    Route("/cars/{car}/preparation/cards.pdf", cards),
)
