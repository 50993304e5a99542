"""Guides of the user's own in the settings: begun, amended check by check or as text, with a way back."""

from __future__ import annotations

from starlette.concurrency import run_in_threadpool
from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Route

from shutline.usecases.guide_text import OF_FORM
from shutline.usecases.guides_editing import (
    check_guide,
    drop_check,
    guide_file_back,
    keep_check,
    keep_guide_file,
    new_guide,
)
from shutline.web.pages import as_json
from shutline.web.settings_page import author_of, expected_of, line_of, sent_of, taken, text_of


async def begun(request: Request) -> Response:
    """Begin a guide."""
    sent = await sent_of(request)
    fields = {name: text_of(sent, name) for name in ("builds_on", "bodies", "clues", "source")}
    return await taken(new_guide, text_of(sent, "label"), **fields, author=author_of(request))


async def checked(request: Request) -> Response:
    """Check a text as one of the guides, and keep nothing."""
    sent = await sent_of(request)
    return as_json(await run_in_threadpool(check_guide, request.path_params["file"], text_of(sent, "text")))


async def kept(request: Request) -> Response:
    """Keep a text as one of the guides; an empty one takes it away."""
    sent = await sent_of(request)
    file, text = request.path_params["file"], text_of(sent, "text")
    return await taken(keep_guide_file, file, text, author=author_of(request), expected=expected_of(sent))


async def check_kept(request: Request) -> Response:
    """Keep one check of a guide: in the place of the one that begins on `line`, else after the others."""
    sent = await sent_of(request)
    cells = {name: text_of(sent, name) for name in OF_FORM if name in sent}
    line = line_of(text_of(sent, "line")) if text_of(sent, "line") else None
    return await taken(
        keep_check,
        request.path_params["file"],
        cells,
        line=line,
        author=author_of(request),
        expected=expected_of(sent),
    )


async def check_dropped(request: Request) -> Response:
    """Leave out one check of a guide."""
    sent = await sent_of(request)
    file, line = request.path_params["file"], line_of(text_of(sent, "line"))
    return await taken(drop_check, file, line=line, author=author_of(request), expected=expected_of(sent))


async def returned(request: Request) -> Response:
    """Let a former state of a guide stand again."""
    sent = await sent_of(request)
    file, state = request.path_params["file"], text_of(sent, "state")
    return await taken(guide_file_back, file, state, author=author_of(request), expected=expected_of(sent))


_AT = "/settings/guides"

ROUTES = (
    Route(_AT, begun, methods=["POST"]),
    Route(_AT + "/{file}", kept, methods=["POST"]),
    Route(_AT + "/{file}/check", checked, methods=["POST"]),
    Route(_AT + "/{file}/row", check_kept, methods=["POST"]),
    Route(_AT + "/{file}/drop", check_dropped, methods=["POST"]),
    Route(_AT + "/{file}/back", returned, methods=["POST"]),
)
