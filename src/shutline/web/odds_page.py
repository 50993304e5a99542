"""At odds: what cannot be true together, each with its sides side by side; a person says which stands, and why."""

from __future__ import annotations

from typing import TYPE_CHECKING
from urllib.parse import quote

import msgspec
from starlette.concurrency import run_in_threadpool
from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Route

from shutline.car.recordings import Kind
from shutline.usecases.odds import odds
from shutline.usecases.odds_deciding import LONGEST_REASON, decide_odds
from shutline.usecases.odds_stale import answer_words, holds_number
from shutline.web.forms import form_of, is_form, json_of, see, whole_version
from shutline.web.pages import answer, as_json
from shutline.web.wording import when

if TYPE_CHECKING:
    from shutline.store import Store
    from shutline.usecases.odds import OddsShown


class Answered(msgspec.Struct, forbid_unknown_fields=True):
    """What is sent to decide a case; `mark` and `answers` are those of the case that the page showed."""

    case: str
    holds: str
    reason: str = ""
    mark: str | None = None
    answers: int | None = None


async def page(request: Request) -> Response:
    """Show what is at odds; `.json` gives the record that the command line prints."""
    found = await run_in_threadpool(odds, request.app.state.store, request.path_params["car"])
    return answer(
        request.scope,
        "odds.html.j2",
        found,
        car={"name": found.car, "title": found.title},
        done=request.query_params.get("done", ""),
        longest=LONGEST_REASON,
        plays={Kind.FILM, Kind.SOUND},
        answer_words=answer_words,
        holds_number=holds_number,
        when=when,
    )


async def decided(request: Request) -> Response:
    """Keep an answer, by a script or by a plain form."""
    if not is_form(request):
        sent = await json_of(request, Answered)
        return as_json(await run_in_threadpool(_decide, request, sent))
    given = {name: values[0] for name, values in (await form_of(request)).items()}
    sent = Answered(
        given.get("case", ""),
        given.get("holds", ""),
        given.get("reason", ""),
        given.get("mark") or None,
        whole_version(given.get("answers", "")),
    )
    await run_in_threadpool(_decide, request, sent)
    done = "back" if sent.holds == "open" else "kept"
    return see(f"/cars/{quote(request.path_params['car'])}/at-odds?done={done}#decided")


def _decide(request: Request, sent: Answered) -> OddsShown:
    store: Store = request.app.state.store
    return decide_odds(
        store,
        request.path_params["car"],
        sent.case,
        holds=sent.holds,
        reason=sent.reason,
        mark=sent.mark,
        answers=sent.answers,
        author=request.state.session.author,
    )


def _plain(request: Request) -> Response:
    """Send a browser that loads the address of a change again to the page."""
    return see(f"/cars/{quote(request.path_params['car'])}/at-odds")


ROUTES = (
    Route("/cars/{car}/at-odds.json", page),
    Route("/cars/{car}/at-odds", page),
    Route("/cars/{car}/at-odds/decide", decided, methods=["POST"]),
    Route("/cars/{car}/at-odds/decide", _plain),
)
