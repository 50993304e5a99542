"""The workbench as an ASGI application: its addresses, and what is done when something goes wrong."""

from __future__ import annotations

from collections.abc import AsyncIterator
from contextlib import asynccontextmanager
from dataclasses import replace
from typing import TYPE_CHECKING
from urllib.parse import parse_qs

from starlette.applications import Starlette
from starlette.concurrency import run_in_threadpool
from starlette.exceptions import HTTPException
from starlette.middleware import Middleware
from starlette.requests import Request
from starlette.responses import RedirectResponse, Response
from starlette.routing import Mount, Route
from starlette.staticfiles import StaticFiles

from shutline.car.errors import Problem, ShutlineError
from shutline.web import (
    add_page,
    before_page,
    buyer_page,
    car_page,
    changed_page,
    description_page,
    engine_page,
    figures_page,
    job_cards_page,
    learning_page,
    ledger_asked_page,
    ledger_page,
    masks_page,
    measuring_page,
    media,
    odds_page,
    outputs_page,
    papers_page,
    particulars_page,
    phone_page,
    pictures_page,
    preparation_page,
    price_page,
    prices_page,
    readings_page,
    review_page,
    settings_buyer,
    settings_description,
    settings_guides,
    settings_ledger,
    settings_market,
    settings_masks,
    settings_page,
    shared_page,
    survey_page,
    timeline_page,
    tyre_page,
    walk_page,
    words_page,
    yard_page,
)
from shutline.web.access import COOKIE, Access, Session
from shutline.web.guard import Guard
from shutline.web.jobs import Jobs
from shutline.web.old_names import OldNames
from shutline.web.pages import render
from shutline.web.trouble import refusal, told
from shutline.web.under_way import UnderWay

if TYPE_CHECKING:
    from shutline.store import Store

_LONGEST_PHRASE = 1_000


def workbench(store: Store, access: Access) -> Starlette:
    """Make the workbench over a store.

    Parameters
    ----------
    store : Store
        What it shows; used from many threads.
    access : Access
        Who may come in.
    """
    app = Starlette(
        routes=[
            Route("/open/{token}", _open),
            Route("/come-in", _come_in, methods=["GET", "POST"]),
            *yard_page.ROUTES,
            *add_page.ROUTES,
            *before_page.ROUTES,
            *car_page.ROUTES,
            *engine_page.ROUTES,
            *odds_page.ROUTES,
            *changed_page.ROUTES,
            *outputs_page.ROUTES,
            *description_page.ROUTES,
            *words_page.ROUTES,
            *buyer_page.ROUTES,
            *shared_page.ROUTES,
            *masks_page.ROUTES,
            *measuring_page.ROUTES,
            *figures_page.ROUTES,
            *particulars_page.ROUTES,
            *settings_page.ROUTES,
            *settings_description.ROUTES,
            *settings_guides.ROUTES,
            *settings_masks.ROUTES,
            *settings_buyer.ROUTES,
            *settings_ledger.ROUTES,
            *settings_market.ROUTES,
            *survey_page.ROUTES,
            *readings_page.ROUTES,
            *timeline_page.ROUTES,
            *papers_page.ROUTES,
            *preparation_page.ROUTES,
            *price_page.ROUTES,
            *prices_page.ROUTES,
            *job_cards_page.ROUTES,
            *learning_page.ROUTES,
            *ledger_page.ROUTES,
            *ledger_asked_page.ROUTES,
            *tyre_page.ROUTES,
            *review_page.ROUTES,
            *phone_page.ROUTES,
            *walk_page.ROUTES,
            *pictures_page.ROUTES,
            *media.ROUTES,
            Mount("/static", StaticFiles(packages=[("shutline.web", "static")])),
            Mount("/type", StaticFiles(packages=[("shutline.publish", "fonts")])),
        ],
        lifespan=_lifespan,
        middleware=[Middleware(Guard, access=access), Middleware(OldNames, store=store)],
        exception_handlers={ShutlineError: _trouble, HTTPException: _http},
    )
    app.state.store = store
    app.state.access = access
    app.state.jobs = Jobs(store)
    app.state.readings = UnderWay("figures", "figures-not-read")
    app.state.paper_readings = UnderWay("papers", "papers-not-read", "the papers could not be read to their end")
    app.state.lookings = UnderWay("masks", "masks-not-sought")
    app.state.sharings = UnderWay("sharing", "page-not-made", "it could not be made")
    return app


@asynccontextmanager
async def _lifespan(app: Starlette) -> AsyncIterator[None]:
    yield
    state = app.state
    for work in (state.jobs, state.readings, state.paper_readings, state.lookings, state.sharings):
        await run_in_threadpool(work.close)


async def _open(request: Request) -> Response:
    session = request.app.state.access.by_token(request.path_params["token"])
    if session is None:
        return refusal(request.scope, 401, _stale_link())
    return _let_in(session)


async def _come_in(request: Request) -> Response:
    access: Access = request.app.state.access
    if request.method == "POST":
        sent = parse_qs((await _short_body(request)).decode("utf-8", "replace"))
        session = access.by_phrase(sent.get("phrase", [""])[0])
        if session is not None:
            name = " ".join(sent.get("name", [""])[0].split())[:80]
            return _let_in(session, name=name)
        return render(request.scope, "come_in.html.j2", {"refused": True}, status=401)
    return render(request.scope, "come_in.html.j2", {"refused": False})


async def _short_body(request: Request) -> bytes:
    body = b""
    async for piece in request.stream():
        body += piece
        if len(body) > _LONGEST_PHRASE:
            return b""
    return body


def _let_in(session: Session, *, name: str = "") -> Response:
    if name:
        session.author = name
    response = RedirectResponse("/", status_code=303)
    response.set_cookie(COOKIE, session.key, httponly=True, samesite="strict", path="/")
    return response


async def _trouble(request: Request, error: Exception) -> Response:
    assert isinstance(error, ShutlineError)  # noqa: S101 - the framework calls it for nothing else
    return told(request.scope, error)


async def _http(request: Request, error: Exception) -> Response:
    assert isinstance(error, HTTPException)  # noqa: S101 - the framework calls it for nothing else
    if error.status_code == 404:
        return refusal(request.scope, 404, _nothing_here(request.url.path))
    if error.status_code == 405:
        return refusal(request.scope, 405, replace(_nothing_here(request.url.path), found="that cannot be done here"))
    return refusal(request.scope, error.status_code, replace(_nothing_here(request.url.path), found=error.detail))


def _nothing_here(path: str) -> Problem:
    return Problem(
        slug="web-nothing-here",
        where=path,
        found="there is no such page",
        allowed="the pages that the workbench links to",
        advice="Go back to the yard.",
    )


def _stale_link() -> Problem:
    return Problem(
        slug="web-old-link",
        where="the opening link",
        found="it is of another run of the workbench",
        allowed="the link that `shutline serve` printed when it was started last",
        advice="Open that one.",
    )
