"""Job cards on a phone: the jobs of a trade with their pictures, ticked off as they are done, the place ringed."""

from __future__ import annotations

from functools import partial

import msgspec
from starlette.concurrency import run_in_threadpool
from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Route

from shutline.car.plan import Layout
from shutline.usecases.job_cards import Ticked, card_drawn, card_picture, show_job_cards, tick_job
from shutline.usecases.prep_done import take_back_tick
from shutline.usecases.rings import ring, take_ring_back
from shutline.web.forms import json_of
from shutline.web.pages import answer, as_json


class TakenBack(msgspec.Struct, forbid_unknown_fields=True):
    """What is sent to take back that work is done."""

    work: str
    version: int
    token: str = ""


class RingDrawn(msgspec.Struct, forbid_unknown_fields=True):
    """What is sent to ring a place, each of the three a share; without them the ring is taken away.

    `token` is that of the message, which may come twice: the same ring again is the same.
    """

    finding: str
    picture: str
    version: int
    x: float | None = None
    y: float | None = None
    radius: float | None = None
    token: str = ""


async def cards(request: Request) -> Response:
    """Show whose card there is."""
    found = await run_in_threadpool(show_job_cards, request.app.state.store, request.path_params["car"])
    return answer(request.scope, "job_cards.html.j2", found, car={"name": found.car, "title": found.title})


async def card(request: Request) -> Response:
    """Show the card of one trade."""
    store, asked = request.app.state.store, request.path_params
    draw = partial(card_drawn, store, asked["car"], asked["trade"], layout=Layout.FOLDED)
    found, shown, plan = await run_in_threadpool(draw)
    if request.url.path.endswith(".json"):
        return as_json(shown)
    return answer(
        request.scope, "job_card.html.j2", shown, car={"name": found.car, "title": found.title}, all=found, plan=plan
    )


async def picture(request: Request) -> Response:
    """Send a still or a picture of a finding, covered where the house covers."""
    asked = request.path_params
    data = await run_in_threadpool(card_picture, request.app.state.store, asked["car"], asked["sha256"])
    return Response(data, media_type="image/jpeg", headers={"cache-control": "private, no-cache"})


async def ticked(request: Request) -> Response:
    """Keep that a job is done."""
    sent = await json_of(request, Ticked)
    store, author = request.app.state.store, request.state.session.author
    return as_json(await run_in_threadpool(partial(tick_job, store, request.path_params["car"], sent, author=author)))


async def taken_back(request: Request) -> Response:
    """Take back that a job is done."""
    sent = await json_of(request, TakenBack)
    do = partial(
        take_back_tick,
        request.app.state.store,
        request.path_params["car"],
        sent.work,
        version=sent.version,
        token=sent.token,
        author=request.state.session.author,
    )
    return as_json(await run_in_threadpool(do))


async def ringed(request: Request) -> Response:
    """Ring a place on a picture, or take the ring away."""
    sent = await json_of(request, RingDrawn)
    store, car = request.app.state.store, request.path_params["car"]
    how = {"picture": sent.picture, "version": sent.version, "author": request.state.session.author}
    if sent.x is None or sent.y is None or sent.radius is None:
        do = partial(take_ring_back, store, car, sent.finding, **how)
    else:
        do = partial(ring, store, car, sent.finding, x=sent.x, y=sent.y, radius=sent.radius, **how)
    return as_json(await run_in_threadpool(do))


ROUTES = (
    Route("/cars/{car}/preparation/cards.json", cards),
    Route("/cars/{car}/preparation/cards", cards),
    Route("/cars/{car}/preparation/cards/pictures/{sha256}", picture),
    Route("/cars/{car}/preparation/cards/done", ticked, methods=["POST"]),
    Route("/cars/{car}/preparation/cards/back", taken_back, methods=["POST"]),
    Route("/cars/{car}/preparation/cards/ring", ringed, methods=["POST"]),
    Route("/cars/{car}/preparation/cards/{trade}.json", card),
    Route("/cars/{car}/preparation/cards/{trade}", card),
)
