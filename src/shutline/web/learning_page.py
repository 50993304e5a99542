"""What hours that were taken say of the house's own ranges: each move with before and after, accepted by name."""

from __future__ import annotations

from dataclasses import dataclass
from functools import partial
from typing import TYPE_CHECKING

from starlette.concurrency import run_in_threadpool
from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Route

from shutline.usecases.prep_learning import accept_moves, learning
from shutline.web.forms import json_of, not_taken
from shutline.web.pages import answer, as_json

if TYPE_CHECKING:
    from shutline.store import Store

_LINES = 50
"""Lines of a list on the page; the twin has all."""


@dataclass(frozen=True, slots=True)
class Chosen:
    """Moves that were ticked, each ``job/trade``, and the mark that they were shown with."""

    moves: tuple[str, ...]
    expected: str


async def page(request: Request) -> Response:
    """Show how ranges would move; nothing moves by that."""
    store: Store = request.app.state.store
    found = await run_in_threadpool(learning, store)
    return answer(request.scope, "learning.html.j2", found, lines=_LINES)


async def accepted(request: Request) -> Response:
    """Write those that were ticked into the firm's own table."""
    sent = await json_of(request, Chosen)
    if not sent.moves:
        raise not_taken("no move", "one move or more, each as job/trade")
    do = partial(
        accept_moves,
        request.app.state.store,
        sent.moves,
        mark=sent.expected,
        author=request.state.session.author,
    )
    return as_json(await run_in_threadpool(do))


ROUTES = (
    Route("/learning.json", page),
    Route("/learning", page),
    Route("/learning/accept", accepted, methods=["POST"]),
)
