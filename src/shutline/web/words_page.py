"""Words: a text about the car, checked claim by claim as it is typed; and strangers' questions with their replies."""

from __future__ import annotations

from typing import TYPE_CHECKING
from urllib.parse import quote

import msgspec
from starlette.concurrency import run_in_threadpool
from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Route

from shutline.claims.questions import LONGEST as LONGEST_QUESTION
from shutline.usecases.answering import ask, drop_question
from shutline.usecases.claim_check import check_rewrite, check_words
from shutline.usecases.words_started import words_started
from shutline.web.forms import form_of, is_form, json_of, see
from shutline.web.pages import answer, as_json

if TYPE_CHECKING:
    from shutline.store import Store
    from shutline.usecases.answering import Replied
    from shutline.usecases.claim_check import WordsChecked


class Checking(msgspec.Struct, forbid_unknown_fields=True):
    """A text to be checked; with `former`, as a rewrite of that."""

    text: str
    former: str | None = None


class Asking(msgspec.Struct, forbid_unknown_fields=True):
    """A question to be answered, and whether it is kept where it has no answer."""

    question: str
    keep: bool = True


class Dropping(msgspec.Struct, forbid_unknown_fields=True):
    """The id of a question to be taken off the list."""

    question: str


async def page(request: Request) -> Response:
    """Show the place to write in; ``draft`` names the length of our draft that it starts with."""
    return await _shown(request)


async def without_script(request: Request) -> Response:
    """Check a text or answer a question that came by a plain form, and show the page with what came of it."""
    given = {name: values[0] for name, values in (await form_of(request)).items()}
    store, name = request.app.state.store, request.path_params["car"]
    if "drop" in given:
        await run_in_threadpool(drop_question, store, name, given["drop"], author=request.state.session.author)
        return see(f"/cars/{quote(name)}/wording#open")
    text, question = given.get("text", "").replace("\r\n", "\n"), given.get("question", "")
    checked = await run_in_threadpool(check_words, store, name, text) if text.strip() else None
    replied = await run_in_threadpool(_answered, request, Asking(question)) if question.strip() else None
    return await _shown(request, text=text, checked=checked, replied=replied, question=question)


async def checked(request: Request) -> Response:
    """Check a text, or hold a rewrite against the text it is to replace."""
    sent = await json_of(request, Checking)
    store, name = request.app.state.store, request.path_params["car"]
    if sent.former is not None:
        return as_json(await run_in_threadpool(check_rewrite, store, name, sent.former, sent.text))
    return as_json(await run_in_threadpool(check_words, store, name, sent.text))


async def asked(request: Request) -> Response:
    """Answer a question."""
    sent = await json_of(request, Asking)
    return as_json(await run_in_threadpool(_answered, request, sent))


async def dropped(request: Request) -> Response:
    """Take a question off the list."""
    sent = await json_of(request, Dropping)
    store, name = request.app.state.store, request.path_params["car"]
    author: str = request.state.session.author
    return as_json(await run_in_threadpool(drop_question, store, name, sent.question, author=author))


def _answered(request: Request, sent: Asking) -> Replied:
    store: Store = request.app.state.store
    return ask(store, request.path_params["car"], sent.question, keep=sent.keep, author=request.state.session.author)


async def _shown(
    request: Request,
    *,
    text: str | None = None,
    checked: WordsChecked | None = None,
    replied: Replied | None = None,
    question: str = "",
) -> Response:
    store, name = request.app.state.store, request.path_params["car"]
    draft = request.query_params.get("draft", "")
    found = await run_in_threadpool(words_started, store, name, draft=draft)
    return answer(
        request.scope,
        "words.html.j2",
        found,
        car={"name": found.car, "title": found.title},
        text=found.text if text is None else text,
        checked=checked,
        replied=replied,
        question=question,
        longest_question=LONGEST_QUESTION,
    )


def _plain(request: Request) -> Response:
    """Send a browser that loads the address of a change again to the page."""
    return see(f"/cars/{quote(request.path_params['car'])}/wording")


async def _either(request: Request) -> Response:
    if is_form(request):
        return await without_script(request)
    return await checked(request)


_AT = "/cars/{car}/wording"

ROUTES = (
    Route(_AT + ".json", page),
    Route(_AT, page),
    Route(_AT, _either, methods=["POST"]),
    Route(_AT + "/check", checked, methods=["POST"]),
    Route(_AT + "/ask", asked, methods=["POST"]),
    Route(_AT + "/drop", dropped, methods=["POST"]),
    Route(_AT + "/{deed}", _plain),
)
