"""What the house chooses of what goes to a buyer: kept, and brought back."""

from __future__ import annotations

from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Route

from shutline.usecases.buyer_choice import BuyerChoice, buyer_choice_back, keep_buyer_choice
from shutline.web.settings_page import author_of, expected_of, sent_of, taken, text_of


async def kept(request: Request) -> Response:
    """Keep it."""
    sent = await sent_of(request)
    chosen = BuyerChoice(silent=text_of(sent, "silent") == "yes", stamp=text_of(sent, "stamp").strip())
    return await taken(keep_buyer_choice, chosen, author=author_of(request), expected=expected_of(sent))


async def returned(request: Request) -> Response:
    """Let a former choice stand again."""
    sent = await sent_of(request)
    return await taken(buyer_choice_back, text_of(sent, "state"), author=author_of(request), expected=expected_of(sent))


ROUTES = (
    Route("/settings/buyer", kept, methods=["POST"]),
    Route("/settings/buyer/back", returned, methods=["POST"]),
)
