"""Settings: the house, the words of the user's own, the second reader; each checked before it is kept, with a way back.

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
from shutline.usecases.evidence import Evidence, evidence_back, evidence_of, keep_evidence
from shutline.usecases.house import HouseDetails, house_back, house_of, keep_house
from shutline.usecases.kept_files import LARGEST, ChangedMeanwhileError
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

_FORMER: dict[str, Callable[[str], Any]] = {"house": house_of, "evidence": evidence_of, "second_reader": second_of}


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
        opened=opened,
        state=state,
        former_state=former,
        trouble=trouble,
        when=when,
    )


async def house_kept(request: Request) -> Response:
    """Keep the details of the house."""
    sent = await _sent(request)
    details = HouseDetails(
        _text(sent, "name"), tuple(_text(sent, "lines").splitlines()), _text(sent, "telephone"), _text(sent, "sign")
    )
    return await _taken(keep_house, details, author=_author(request), expected=_expected(sent))


async def house_returned(request: Request) -> Response:
    """Let a former state of the house stand again."""
    sent = await _sent(request)
    return await _taken(house_back, _text(sent, "state"), author=_author(request), expected=_expected(sent))


async def evidence_kept(request: Request) -> Response:
    """Keep what is taken from the film itself without being asked."""
    sent = await _sent(request)
    chosen = Evidence(figures=_text(sent, "figures") == "yes", engine=_text(sent, "engine") == "yes")
    return await _taken(keep_evidence, chosen, author=_author(request), expected=_expected(sent))


async def evidence_returned(request: Request) -> Response:
    """Let a former choice of it stand again."""
    sent = await _sent(request)
    return await _taken(evidence_back, _text(sent, "state"), author=_author(request), expected=_expected(sent))


async def second_kept(request: Request) -> Response:
    """Keep the settings of the second reader."""
    sent = await _sent(request)
    settings = SecondReaderSettings(
        _text(sent, "address") or None,
        _text(sent, "model"),
        _text(sent, "key_variable") or None,
        plain_http=_text(sent, "plain_http") == "yes",
    )
    kept = await run_in_threadpool(keep_second, settings, author=_author(request), expected=_expected(sent))
    return as_json(kept)


async def second_returned(request: Request) -> Response:
    """Let former settings of the second reader stand again."""
    sent = await _sent(request)
    state = _text(sent, "state")
    kept = await run_in_threadpool(second_back, state, author=_author(request), expected=_expected(sent))
    return as_json(kept)


async def words_checked(request: Request) -> Response:
    """Check a text as one of the files of words, and keep nothing."""
    sent = await _sent(request)
    return as_json(await run_in_threadpool(check_words, request.path_params["file"], _text(sent, "text")))


async def words_kept(request: Request) -> Response:
    """Keep a text as one of the files of words."""
    sent = await _sent(request)
    name, text = request.path_params["file"], _text(sent, "text")
    return await _taken(keep_words, name, text, author=_author(request), expected=_expected(sent))


async def row_kept(request: Request) -> Response:
    """Keep one row of a file of words: in the place of the one that begins on `line`, else after the others."""
    sent = await _sent(request)
    file = request.path_params["file"]
    cells = {column: _text(sent, column) for column in columns().get(file, ())}
    line = _line(_text(sent, "line")) if _text(sent, "line") else None
    return await _taken(keep_row, file, cells, line=line, author=_author(request), expected=_expected(sent))


async def row_dropped(request: Request) -> Response:
    """Leave out one row of a file of words."""
    sent = await _sent(request)
    name, line = request.path_params["file"], _line(_text(sent, "line"))
    return await _taken(drop_row, name, line=line, author=_author(request), expected=_expected(sent))


async def words_returned(request: Request) -> Response:
    """Let a former state of a file of words stand again."""
    sent = await _sent(request)
    name, state = request.path_params["file"], _text(sent, "state")
    return await _taken(words_back, name, state, author=_author(request), expected=_expected(sent))


async def _taken(change: Callable[..., Any], *given: Any, **more: Any) -> Response:
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
        if section == "words":
            return words_of(rest.partition(".")[0], state), None
        return (_FORMER[section](state) if section in _FORMER else None), None
    except UserError as error:
        return None, error.problem


async def _sent(request: Request) -> dict[str, Any]:
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


def _text(sent: dict[str, Any], name: str) -> str:
    value = sent.get(name, "")
    if not isinstance(value, str):
        raise _not_taken(f"{name} that is no text")
    try:
        value.encode("utf-8")
    except UnicodeEncodeError:
        raise _not_taken(f"{name} with half of a character") from None
    return value


def _expected(sent: dict[str, Any]) -> str:
    expected = _text(sent, "expected")
    if not expected:
        raise _not_taken("no mark of the state that the change is made to")
    return expected


def _line(text: str) -> int:
    if not (text.isascii() and text.isdigit() and len(text) <= 7):
        raise _not_taken(f"the line {text[:20]!r}")
    return int(text)


def _author(request: Request) -> str:
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
