"""How descriptions speak, and the house's own sentences, in the settings: checked first, with a way back."""

from __future__ import annotations

from starlette.concurrency import run_in_threadpool
from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Route

from shutline.usecases.description_settings import (
    DescriptionDetails,
    check_wording,
    description_back,
    keep_description,
    keep_wording,
    wording_back,
)
from shutline.web.pages import as_json
from shutline.web.settings_page import author_of, expected_of, sent_of, taken, text_of


async def kept(request: Request) -> Response:
    """Keep how descriptions speak."""
    sent = await sent_of(request)
    details = DescriptionDetails(
        text_of(sent, "voice"),
        tuple(text_of(sent, "closing").splitlines()),
        headings=text_of(sent, "headings") == "yes",
        marks=text_of(sent, "marks") == "yes",
    )
    return await taken(keep_description, details, author=author_of(request), expected=expected_of(sent))


async def returned(request: Request) -> Response:
    """Let a former state of how descriptions speak stand again."""
    sent = await sent_of(request)
    return await taken(description_back, text_of(sent, "state"), author=author_of(request), expected=expected_of(sent))


async def wording_checked(request: Request) -> Response:
    """Check a text as one of the files of wording, and keep nothing."""
    sent = await sent_of(request)
    problems = await run_in_threadpool(check_wording, request.path_params["file"], text_of(sent, "text"))
    return as_json({"problems": problems})


async def wording_kept(request: Request) -> Response:
    """Keep a text as one of the files of wording; an empty one takes it away."""
    sent = await sent_of(request)
    file, text = request.path_params["file"], text_of(sent, "text").replace("\r\n", "\n")
    return await taken(keep_wording, file, text, author=author_of(request), expected=expected_of(sent))


async def wording_returned(request: Request) -> Response:
    """Let a former state of a file of wording stand again."""
    sent = await sent_of(request)
    file, state = request.path_params["file"], text_of(sent, "state")
    return await taken(wording_back, file, state, author=author_of(request), expected=expected_of(sent))


ROUTES = (
    Route("/settings/description", kept, methods=["POST"]),
    Route("/settings/description/back", returned, methods=["POST"]),
    Route("/settings/wording/{file}", wording_kept, methods=["POST"]),
    Route("/settings/wording/{file}/check", wording_checked, methods=["POST"]),
    Route("/settings/wording/{file}/back", wording_returned, methods=["POST"]),
)
