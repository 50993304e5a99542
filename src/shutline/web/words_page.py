"""Words: a text checked claim by claim as it is typed, a rewrite that takes the draft's place, strangers' questions."""

from __future__ import annotations

from functools import partial
from typing import TYPE_CHECKING
from urllib.parse import quote

import msgspec
from starlette.concurrency import run_in_threadpool
from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Route

from shutline.car.errors import UserError
from shutline.claims.questions import LONGEST as LONGEST_QUESTION
from shutline.usecases.answering import ask, drop_question, every_reply, show_question
from shutline.usecases.claim_check import check_rewrite, check_words
from shutline.usecases.offering import accept_rewrite, hold_rewrite, take_back_rewrite
from shutline.usecases.words_started import words_started
from shutline.web.forms import form_of, is_form, json_of, see, whole_version
from shutline.web.guard import LONGEST_TEXT_FORM
from shutline.web.pages import answer, as_json
from shutline.web.wording import when

if TYPE_CHECKING:
    from collections.abc import Mapping

    from shutline.car.errors import Problem
    from shutline.store import Store
    from shutline.usecases.answering import Replied
    from shutline.usecases.claim_check import WordsChecked
    from shutline.usecases.offering import RewriteHeld
    from shutline.usecases.words_started import WordsStarted


class Checking(msgspec.Struct, forbid_unknown_fields=True):
    """A text to be checked; with `former`, as a rewrite of that."""

    text: str
    former: str | None = None


class Asking(msgspec.Struct, forbid_unknown_fields=True):
    """A question to be answered, and whether it is kept where it has no answer."""

    question: str
    keep: bool = True


class Rewriting(msgspec.Struct, forbid_unknown_fields=True):
    """A rewrite; with `in_force`, the id of the accepted words whose place it takes, 0 for the draft.

    `vouched` are the words in it that nothing reads, for which who accepts it answers.
    """

    text: str = ""
    in_force: int | None = None
    vouched: list[str] = []


class Showing(msgspec.Struct, forbid_unknown_fields=True):
    """The id of a question, and whether it is to be on the buyer's page."""

    question: str
    shown: bool


class Dropping(msgspec.Struct, forbid_unknown_fields=True):
    """The id of a question to be taken off the list."""

    question: str


async def page(request: Request) -> Response:
    """Show the place to write in; ``draft`` names the length of our draft that it starts with."""
    return await _shown(request)


async def without_script(request: Request) -> Response:
    """Check a text or answer a question that came by a plain form, and show the page with what came of it."""
    given = {name: values[0] for name, values in (await form_of(request, most=LONGEST_TEXT_FORM)).items()}
    store, name = request.app.state.store, request.path_params["car"]
    author: str = request.state.session.author
    if changed := await _question_changed(request, given):
        return see(f"/cars/{quote(name)}/wording{changed}")
    deed, rewrite = given.get("deed", ""), given.get("rewrite", "").replace("\r\n", "\n")
    in_force = whole_version(given.get("in_force", ""))
    if deed == "take-back":
        await run_in_threadpool(take_back_rewrite, store, name, author=author, in_force=in_force)
        return see(f"/cars/{quote(name)}/wording#goes-out")
    if deed == "accept":
        vouched = given.get("vouched", "").replace("\r\n", "\n").split("\n") if given.get("vouch") == "yes" else []
        accepting = partial(accept_rewrite, author=author, vouched=vouched, in_force=in_force)
        await run_in_threadpool(accepting, store, name, rewrite)
        return see(f"/cars/{quote(name)}/wording#goes-out")
    text, question = given.get("text", "").replace("\r\n", "\n"), given.get("question", "")
    try:
        if deed == "hold":
            held = await run_in_threadpool(hold_rewrite, store, name, rewrite)
            return await _shown(request, rewrite=rewrite, held=held)
        checked = await run_in_threadpool(check_words, store, name, text) if text.strip() else None
    except UserError as error:
        if error.problem.slug != "text-too-long":
            raise
        # What was typed stays in its box: nobody is to type it again.
        return await _shown(request, text=text or None, rewrite=rewrite, too_long=error.problem, status=400)
    replied = await run_in_threadpool(_answered, request, Asking(question)) if question.strip() else None
    return await _shown(request, text=text, checked=checked, replied=replied, question=question)


async def _question_changed(request: Request, given: Mapping[str, str]) -> str:
    """Take a question off the list, put it on the buyer's page or take it off; give where it stands now, or ""."""
    store, name = request.app.state.store, request.path_params["car"]
    author: str = request.state.session.author
    if "drop" in given:
        await run_in_threadpool(drop_question, store, name, given["drop"], author=author)
        return "#asked"
    for deed, shown in (("put-on", True), ("take-off", False)):
        if deed in given:
            kept = await run_in_threadpool(show_question, store, name, given[deed], shown=shown, author=author)
            return f"?asked={kept.id}#q-{kept.id}"
    return ""


async def checked(request: Request) -> Response:
    """Check a text, or hold a rewrite against the text it is to replace."""
    sent = await json_of(request, Checking, most=LONGEST_TEXT_FORM)
    store, name = request.app.state.store, request.path_params["car"]
    if sent.former is not None:
        return as_json(await run_in_threadpool(check_rewrite, store, name, sent.former, sent.text))
    return as_json(await run_in_threadpool(check_words, store, name, sent.text))


async def asked(request: Request) -> Response:
    """Answer a question."""
    sent = await json_of(request, Asking)
    return as_json(await run_in_threadpool(_answered, request, sent))


async def held(request: Request) -> Response:
    """Hold a rewrite against the draft and against what stands; nothing of it is kept."""
    sent = await json_of(request, Rewriting, most=LONGEST_TEXT_FORM)
    return as_json(
        await run_in_threadpool(hold_rewrite, request.app.state.store, request.path_params["car"], sent.text)
    )


async def accepted(request: Request) -> Response:
    """Let a rewrite go out in the place of the draft."""
    sent = await json_of(request, Rewriting, most=LONGEST_TEXT_FORM)
    store, name = request.app.state.store, request.path_params["car"]
    accepting = partial(
        accept_rewrite, author=request.state.session.author, vouched=sent.vouched, in_force=sent.in_force
    )
    return as_json(await run_in_threadpool(accepting, store, name, sent.text))


async def taken_back(request: Request) -> Response:
    """Take back the accepted words in force."""
    sent = await json_of(request, Rewriting, most=LONGEST_TEXT_FORM)
    store, name = request.app.state.store, request.path_params["car"]
    given = {"author": request.state.session.author, "in_force": sent.in_force}
    return as_json(await run_in_threadpool(take_back_rewrite, store, name, **given))


async def dropped(request: Request) -> Response:
    """Take a question off the list."""
    sent = await json_of(request, Dropping)
    store, name = request.app.state.store, request.path_params["car"]
    author: str = request.state.session.author
    return as_json(await run_in_threadpool(drop_question, store, name, sent.question, author=author))


async def lists(request: Request) -> Response:
    """Show what was asked, as a piece of the page."""
    store, name = request.app.state.store, request.path_params["car"]
    found = await run_in_threadpool(words_started, store, name)
    return answer(request.scope, "words_asked.html.j2", found, **_asked(request, found))


async def put_on_page(request: Request) -> Response:
    """Put a question onto the buyer's page, or take it off."""
    sent = await json_of(request, Showing)
    store, name = request.app.state.store, request.path_params["car"]
    given = {"shown": sent.shown, "author": request.state.session.author}
    return as_json(await run_in_threadpool(show_question, store, name, sent.question, **given))


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
    rewrite: str = "",
    held: RewriteHeld | None = None,
    too_long: Problem | None = None,
    status: int = 200,
) -> Response:
    store, name = request.app.state.store, request.path_params["car"]
    draft = request.query_params.get("draft", "")
    found = await run_in_threadpool(words_started, store, name, draft=draft)
    shown = answer(
        request.scope,
        "words.html.j2",
        found,
        text=found.text if text is None else text,
        checked=checked,
        replies=() if replied is None else every_reply(replied),
        question=question,
        longest_question=LONGEST_QUESTION,
        rewrite=rewrite,
        held=held,
        too_long=too_long,
        **_asked(request, found),
    )
    shown.status_code = status
    return shown


def _asked(request: Request, found: WordsStarted) -> dict[str, object]:
    """Give what the lists of questions are shown with; each question stands in one of them."""
    return {
        "car": {"name": found.car, "title": found.title},
        "asked": found.asked,
        "checked_by": {one.question.id for one in found.questions if one.checks},
        "at": request.query_params.get("asked", ""),
        "when": when,
    }


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
    Route(_AT + "/hold", held, methods=["POST"]),
    Route(_AT + "/accept", accepted, methods=["POST"]),
    Route(_AT + "/take-back", taken_back, methods=["POST"]),
    Route(_AT + "/drop", dropped, methods=["POST"]),
    Route(_AT + "/on-page", put_on_page, methods=["POST"]),
    Route(_AT + "/asked", lists),
    Route(_AT + "/{deed}", _plain),
)
