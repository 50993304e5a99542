"""Changed since: two times that a car was looked over, thing by thing with both stills, and the statement to sign."""

from __future__ import annotations

import secrets
import threading
from collections import OrderedDict
from collections.abc import Callable
from dataclasses import dataclass
from typing import TYPE_CHECKING
from urllib.parse import urlencode

from starlette.concurrency import run_in_threadpool
from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Route

from shutline.car.errors import Problem
from shutline.survey.changed import Outcome
from shutline.usecases.changed import FILE, changed_choice, statement_model
from shutline.web.outputs_page import disposition
from shutline.web.pages import answer, as_json, whole_number
from shutline.web.trouble import refusal
from shutline.web.wording import day

if TYPE_CHECKING:
    from shutline.store import Store

_KEPT = 4
"""Statements whose pages are kept to be looked at; one that is older is set again when it is asked for."""

ORDER = (Outcome.NEW, Outcome.WORSE, Outcome.GONE, Outcome.BETTER, Outcome.UNCLEAR, Outcome.SAME)


class Previews:
    """The pages of the statements that were looked at last, as pictures; each is set once, however often asked for."""

    def __init__(self) -> None:
        self._turn = threading.Lock()
        self._pages: OrderedDict[str, tuple[bytes, ...]] = OrderedDict()

    def of(self, key: str, make: Callable[[], tuple[bytes, ...]]) -> tuple[bytes, ...]:
        """Give the pages of a look by its key, and make them where there are none, one look after another."""
        with self._turn:
            if key not in self._pages:
                self._pages[key] = make()
                while len(self._pages) > _KEPT:
                    self._pages.popitem(last=False)
            return self._pages[key]


@dataclass(frozen=True, slots=True)
class PagesSet:
    """How many pages a statement has."""

    pages: int


async def page(request: Request) -> Response:
    """Show what changed; `.json` gives the record, with `look` in the address the statement's pages are shown."""
    asked = request.query_params
    store: Store = request.app.state.store
    found = await run_in_threadpool(
        changed_choice,
        store,
        request.path_params["car"],
        first=asked.get("from", ""),
        second=asked.get("to", ""),
    )
    if request.url.path.endswith(".json"):
        return as_json(found)
    query = ""
    if found.shown is not None:
        query = urlencode({"from": found.shown.first, "to": found.shown.second})
    return answer(
        request.scope,
        "changed.html.j2",
        found,
        car={"name": found.car, "title": found.title},
        order=ORDER,
        query=query,
        # Each look is of what stands when it begins.
        look=secrets.token_hex(8) if "look" in asked else "",
        day=day,
    )


async def paper(request: Request) -> Response:
    """Send the statement as a PDF, made now; with `keep` in the address as a download."""
    from shutline.publish.changed import changed_pdf

    store: Store = request.app.state.store
    car, first, second = request.path_params["car"], *_asked(request)

    def make() -> tuple[str, bytes]:
        shown, model, _ = statement_model(store, car, first=first, second=second)
        return shown.title, changed_pdf(model)

    title, data = await run_in_threadpool(make)
    called = disposition(f"{title} - what changed.pdf", FILE, keep="keep" in request.query_params)
    headers = {
        "content-disposition": called,
        "cache-control": "private, no-store",
        "content-security-policy": "frame-ancestors 'self'; script-src 'none'",
    }
    return Response(data, media_type="application/pdf", headers=headers)


async def look(request: Request) -> Response:
    """Send one page of the statement as a picture."""
    number = whole_number(request.path_params["number"], "page")
    made = await run_in_threadpool(_pages, request)
    if not 1 <= number <= len(made):
        return refusal(request.scope, 404, _no_page(number, len(made)))
    return Response(made[number - 1], media_type="image/png", headers={"cache-control": "private, max-age=3600"})


async def count(request: Request) -> Response:
    """Tell how many pages the statement has, once they are set."""
    return as_json(PagesSet(len(await run_in_threadpool(_pages, request))))


def _asked(request: Request) -> tuple[str, str]:
    return request.query_params.get("from", ""), request.query_params.get("to", "")


def _pages(request: Request) -> tuple[bytes, ...]:
    """Give the pages of the look that is asked for."""
    from shutline.publish.changed import changed_pages

    store: Store = request.app.state.store
    car, first, second = request.path_params["car"], *_asked(request)
    key = f"{car} {first} {second} {request.query_params.get('of', '')}"
    return _previews(request).of(key, lambda: changed_pages(statement_model(store, car, first=first, second=second)[1]))


def _previews(request: Request) -> Previews:
    state = request.app.state
    if not hasattr(state, "statements"):
        state.statements = Previews()
    previews: Previews = state.statements
    return previews


def _no_page(number: int, pages: int) -> Problem:
    return Problem(
        slug="web-asked",
        where="the page in the address",
        found=f"page {number}",
        allowed=f"a page from 1 to {pages}",
        advice="Follow the links of the page.",
    )


ROUTES = (
    Route("/cars/{car}/changed.json", page),
    Route("/cars/{car}/changed", page),
    Route("/cars/{car}/changed/statement.pdf", paper),
    Route("/cars/{car}/changed/page-{number}.png", look),
    Route("/cars/{car}/changed/pages.json", count),
)
