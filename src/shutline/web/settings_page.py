"""Settings: the house, words and guides of the user's own, the second reader; each checked first, with a way back.

A change is a POST of JSON; it holds `expected`, the mark of the state it was made to, and gives the new state.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from starlette.concurrency import run_in_threadpool
from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Route

from shutline.car.errors import Problem, UserError
from shutline.usecases.buyer_choice import buyer_choice_of
from shutline.usecases.description_settings import description_of, wording_of
from shutline.usecases.evidence import Evidence, evidence_back, evidence_of, keep_evidence
from shutline.usecases.guides_editing import guide_choices, guide_file_of, shipped_bands
from shutline.usecases.house import HouseDetails, house_back, house_of, keep_house
from shutline.usecases.kept_files import LARGEST, ChangedMeanwhileError
from shutline.usecases.ledger_settings import ledger_settings_of
from shutline.usecases.market_settings import former_market_settings
from shutline.usecases.mask_policy import mask_policy_of
from shutline.usecases.second_settings import keep_second, second_back, second_of
from shutline.usecases.settings import SecondReaderSettings
from shutline.usecases.user_settings import SECTIONS, user_settings
from shutline.usecases.words_editing import (
    check_words,
    choices,
    columns,
    drop_row,
    keep_row,
    keep_words,
    words_back,
    words_of,
)
from shutline.web.pages import answer, as_json
from shutline.web.wording import when

_FILES: dict[str, Callable[[str, str], str]] = {"words": words_of, "guides": guide_file_of, "wording": wording_of}
_FORMER: dict[str, Callable[[str], Any]] = {
    "house": house_of,
    "description": description_of,
    "evidence": evidence_of,
    "masks": mask_policy_of,
    "buyer": buyer_choice_of,
    "ledger": ledger_settings_of,
    "market": former_market_settings,
    "second_reader": second_of,
}


async def page(request: Request) -> Response:
    """Show the settings; `open` in the address opens one thing in a section, `state` a former state of it."""
    opened = request.query_params.get("open", "")
    state = request.query_params.get("state", "")
    shown = await run_in_threadpool(user_settings)
    former, trouble = await run_in_threadpool(_former, opened, state)
    return answer(
        request.scope,
        "settings.html.j2",
        shown,
        sections=SECTIONS,
        choices=choices(),
        guide_choices=await run_in_threadpool(guide_choices),
        shipped_bands=shipped_bands(),
        opened=opened,
        state=state,
        former_state=former,
        trouble=trouble,
        when=when,
    )


async def house_kept(request: Request) -> Response:
    """Keep the details of the house."""
    sent = await sent_of(request)
    details = HouseDetails(
        text_of(sent, "name"),
        tuple(text_of(sent, "lines").splitlines()),
        text_of(sent, "telephone"),
        text_of(sent, "sign"),
    )
    return await taken(keep_house, details, author=author_of(request), expected=expected_of(sent))


async def house_returned(request: Request) -> Response:
    """Let a former state of the house stand again."""
    sent = await sent_of(request)
    return await taken(house_back, text_of(sent, "state"), author=author_of(request), expected=expected_of(sent))


async def evidence_kept(request: Request) -> Response:
    """Keep what is taken from the film itself without being asked."""
    sent = await sent_of(request)
    chosen = Evidence(figures=text_of(sent, "figures") == "yes", engine=text_of(sent, "engine") == "yes")
    return await taken(keep_evidence, chosen, author=author_of(request), expected=expected_of(sent))


async def evidence_returned(request: Request) -> Response:
    """Let a former choice of it stand again."""
    sent = await sent_of(request)
    return await taken(evidence_back, text_of(sent, "state"), author=author_of(request), expected=expected_of(sent))


async def second_kept(request: Request) -> Response:
    """Keep the settings of the second reader."""
    sent = await sent_of(request)
    settings = SecondReaderSettings(
        text_of(sent, "address") or None,
        text_of(sent, "model"),
        text_of(sent, "key_variable") or None,
        plain_http=text_of(sent, "plain_http") == "yes",
    )
    kept = await run_in_threadpool(keep_second, settings, author=author_of(request), expected=expected_of(sent))
    return as_json(kept)


async def second_returned(request: Request) -> Response:
    """Let former settings of the second reader stand again."""
    sent = await sent_of(request)
    state = text_of(sent, "state")
    kept = await run_in_threadpool(second_back, state, author=author_of(request), expected=expected_of(sent))
    return as_json(kept)


async def words_checked(request: Request) -> Response:
    """Check a text as one of the files of words, and keep nothing."""
    sent = await sent_of(request)
    return as_json(await run_in_threadpool(check_words, request.path_params["file"], text_of(sent, "text")))


async def words_kept(request: Request) -> Response:
    """Keep a text as one of the files of words."""
    sent = await sent_of(request)
    name, text = request.path_params["file"], text_of(sent, "text")
    return await taken(keep_words, name, text, author=author_of(request), expected=expected_of(sent))


async def row_kept(request: Request) -> Response:
    """Keep one row of a file of words: in the place of the one that begins on `line`, else after the others."""
    sent = await sent_of(request)
    file = request.path_params["file"]
    cells = {column: text_of(sent, column) for column in columns().get(file, ())}
    line = line_of(text_of(sent, "line")) if text_of(sent, "line") else None
    return await taken(keep_row, file, cells, line=line, author=author_of(request), expected=expected_of(sent))


async def row_dropped(request: Request) -> Response:
    """Leave out one row of a file of words."""
    sent = await sent_of(request)
    name, line = request.path_params["file"], line_of(text_of(sent, "line"))
    return await taken(drop_row, name, line=line, author=author_of(request), expected=expected_of(sent))


async def words_returned(request: Request) -> Response:
    """Let a former state of a file of words stand again."""
    sent = await sent_of(request)
    name, state = request.path_params["file"], text_of(sent, "state")
    return await taken(words_back, name, state, author=author_of(request), expected=expected_of(sent))


async def taken(change: Callable[..., Any], *given: Any, **more: Any) -> Response:
    """Make a change; one that came too late is answered with what is there now and what was wanted."""
    try:
        return as_json(await run_in_threadpool(change, *given, **more))
    except ChangedMeanwhileError as late:
        return as_json({"error": late.problem, "present": late.present, "wanted": late.wanted}, status=409)


def _former(opened: str, state: str) -> tuple[Any, Problem | None]:
    """Give a former state that was asked for, or why it cannot be shown."""
    section, _, rest = opened.partition(".")
    if not state or not opened.endswith("former"):
        return None, None
    try:
        if section in _FILES:
            return _FILES[section](rest.rpartition(".")[0], state), None
        return (_FORMER[section](state) if section in _FORMER else None), None
    except UserError as error:
        return None, error.problem


async def sent_of(request: Request) -> dict[str, Any]:
    """Read the JSON of a change.

    Raises
    ------
    UserError
        It is too long, or no JSON object (slug ``web-sent``).
    """
    import json

    body = bytearray()
    async for piece in request.stream():
        body += piece
        if len(body) > 2 * LARGEST:
            raise _not_taken(f"more than {2 * LARGEST:,} bytes")
    try:
        sent = json.loads(bytes(body))
    except (ValueError, RecursionError):
        raise _not_taken("something that is no JSON") from None
    if not isinstance(sent, dict):
        raise _not_taken("JSON that is no object")
    return sent


def text_of(sent: dict[str, Any], name: str) -> str:
    """Give one field of a change, empty where it was not sent; raises UserError (slug ``web-sent``) for no text."""
    value = sent.get(name, "")
    if not isinstance(value, str):
        raise _not_taken(f"{name} that is no text")
    try:
        value.encode("utf-8")
    except UnicodeEncodeError:
        raise _not_taken(f"{name} with half of a character") from None
    return value


def expected_of(sent: dict[str, Any]) -> str:
    """Give the mark of the state that a change is made to; raises UserError (slug ``web-sent``) without one."""
    expected = text_of(sent, "expected")
    if not expected:
        raise _not_taken("no mark of the state that the change is made to")
    return expected


def line_of(text: str) -> int:
    """Read the number of a line; raises UserError (slug ``web-sent``) where it is none."""
    if not (text.isascii() and text.isdigit() and len(text) <= 7):
        raise _not_taken(f"the line {text[:20]!r}")
    return int(text)


def author_of(request: Request) -> str:
    """Give who makes a change."""
    return str(request.state.session.author)


def _not_taken(found: str) -> UserError:
    return UserError(
        Problem(
            slug="web-sent",
            where="what was sent",
            found=found,
            allowed="the fields of the form, as texts in a JSON object",
            advice="Load the page again, and make the change there.",
        )
    )


ROUTES = (
    Route("/settings", page),
    Route("/settings.json", page),
    Route("/settings/house", house_kept, methods=["POST"]),
    Route("/settings/house/back", house_returned, methods=["POST"]),
    Route("/settings/evidence", evidence_kept, methods=["POST"]),
    Route("/settings/evidence/back", evidence_returned, methods=["POST"]),
    Route("/settings/second_reader", second_kept, methods=["POST"]),
    Route("/settings/second_reader/back", second_returned, methods=["POST"]),
    Route("/settings/words/{file}", words_kept, methods=["POST"]),
    Route("/settings/words/{file}/check", words_checked, methods=["POST"]),
    Route("/settings/words/{file}/row", row_kept, methods=["POST"]),
    Route("/settings/words/{file}/drop", row_dropped, methods=["POST"]),
    Route("/settings/words/{file}/back", words_returned, methods=["POST"]),
)
