"""Particulars: what a car is called and drawn as, that two are one, and a car that is set aside; all by plain forms."""

from __future__ import annotations

from collections.abc import Callable
from functools import partial
from typing import TYPE_CHECKING, Any
from urllib.parse import quote, urlencode

import msgspec
from starlette.concurrency import run_in_threadpool
from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Route

from shutline.usecases.particulars import (
    Coming,
    Particulars,
    bring_back,
    coming,
    join,
    particulars,
    separate,
    set_aside,
    settle,
)
from shutline.usecases.yard import yard
from shutline.web.forms import form_of, is_form, json_of, see, whole_version
from shutline.web.pages import answer, as_json
from shutline.web.particulars_words import change_line
from shutline.web.wording import when

if TYPE_CHECKING:
    from shutline.car.carfile import CarSummary
    from shutline.store import Store

_MOST_FOUND = 8


class Sent(msgspec.Struct, forbid_unknown_fields=True):
    """What is sent to change a car: what is settled, or the name of the other car, and the version that was shown."""

    fields: dict[str, str] = {}
    other: str = ""
    version: int | None = None


async def page(request: Request) -> Response:
    """Show a car's particulars; ``seek`` finds a car that may be this one, ``with`` shows what would come of it."""
    store, name = request.app.state.store, request.path_params["car"]
    found = await run_in_threadpool(particulars, store, name)
    if request.url.path.endswith(".json"):
        return as_json(found)
    seek, other = request.query_params.get("seek", ""), request.query_params.get("with", "")
    others = await run_in_threadpool(_others, store, found, seek) if seek.strip() else ()
    beside = await run_in_threadpool(coming, store, name, other) if other else None
    return answer(request.scope, "particulars.html.j2", found, **_shown(found, seek, others, beside, request))


async def beside(request: Request) -> Response:
    """Tell what would come of another car under this one."""
    other = request.query_params.get("with", "")
    return as_json(await run_in_threadpool(coming, request.app.state.store, request.path_params["car"], other))


async def settled(request: Request) -> Response:
    """Settle how a car is shown and what it is drawn as."""

    def do(store: Store, car: str, sent: Sent, author: str) -> Particulars:
        return settle(store, car, sent.fields, version=sent.version, author=author)

    return await _done(request, do, "settled")


async def joined(request: Request) -> Response:
    """Say that another car is this one."""

    def do(store: Store, car: str, sent: Sent, author: str) -> Particulars:
        return join(store, car, sent.other, version=sent.version, author=author)

    return await _done(request, do, "joined")


async def separated(request: Request) -> Response:
    """Take another car out again from under this one."""

    def do(store: Store, car: str, sent: Sent, author: str) -> Particulars:
        return separate(store, car, sent.other, author=author)

    return await _done(request, do, "separated")


async def aside(request: Request) -> Response:
    """Leave the car out of the yard."""

    def do(store: Store, car: str, sent: Sent, author: str) -> Particulars:
        return set_aside(store, car, version=sent.version, author=author)

    return await _done(request, do, "aside")


async def back(request: Request) -> Response:
    """Bring the car back into the yard."""

    def do(store: Store, car: str, sent: Sent, author: str) -> Particulars:
        return bring_back(store, car, version=sent.version, author=author)

    return await _done(request, do, "back")


Do = Callable[["Store", str, Sent, str], Particulars]


async def _done(request: Request, do: Do, what: str) -> Response:
    store, car = request.app.state.store, request.path_params["car"]
    author: str = request.state.session.author
    if not is_form(request):
        sent = await json_of(request, Sent)
        return as_json(await run_in_threadpool(do, store, car, sent, author))
    given = await form_of(request)
    fields = {name: values[0] for name, values in given.items() if name in {"title", "body", "doors", "drive"}}
    sent = Sent(fields, given.get("other", [""])[0], whole_version(given.get("version", [""])[0]))
    await run_in_threadpool(partial(do, store, car, sent, author))
    return see(f"/cars/{quote(car)}/particulars?{urlencode({'done': what})}")


def _others(store: Store, found: Particulars, words: str) -> tuple[CarSummary, ...]:
    """Find other cars by words, those that are set aside too."""
    cars = [row.car for on in (False, True) for row in yard(store, words, aside=on, limit=_MOST_FOUND + 1).cars]
    return tuple(car for car in cars if car.name != found.car.name)[:_MOST_FOUND]


def _shown(
    found: Particulars, seek: str, others: tuple[CarSummary, ...], beside_: Coming | None, request: Request
) -> dict[str, Any]:
    return {
        "car": found.car,
        "seek": seek,
        "others": others,
        "beside": beside_,
        "done": request.query_params.get("done", ""),
        "change_line": change_line,
        "when": when,
        "doors_offered": sorted({count for body in found.bodies for count in body.doors}),
    }


def _plain(request: Request) -> Response:
    """Send a browser that loads the address of a change again to the page."""
    return see(f"/cars/{quote(request.path_params['car'])}/particulars")


_AT = "/cars/{car}/particulars"

ROUTES = (
    Route(_AT + ".json", page),
    Route(_AT, page),
    Route(_AT + "/coming.json", beside),
    Route(_AT + "/settle", settled, methods=["POST"]),
    Route(_AT + "/join", joined, methods=["POST"]),
    Route(_AT + "/separate", separated, methods=["POST"]),
    Route(_AT + "/set-aside", aside, methods=["POST"]),
    Route(_AT + "/bring-back", back, methods=["POST"]),
    Route(_AT + "/{deed}", _plain),
)
