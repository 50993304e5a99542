"""Settings of the market: entries in place of those shipped, auctions, an index of prices; kept, and brought back."""

from __future__ import annotations

from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Route

from shutline.market.firm import entries
from shutline.usecases.market_settings import (
    change_market_settings,
    index_of_text,
    market_settings_back,
    premium_of,
)
from shutline.web.settings_page import author_of, expected_of, sent_of, taken, text_of


async def kept(request: Request) -> Response:
    """Keep the entries; an empty one is as shipped."""
    sent = await sent_of(request)
    said = {id_: text_of(sent, id_).strip() or None for id_ in entries() if id_ in sent}
    return await taken(change_market_settings, said, author=author_of(request), expected=expected_of(sent))


async def premium_kept(request: Request) -> Response:
    """Keep what an auction takes, or, without tiers, take the auction away."""
    sent = await sent_of(request)
    tiers = [one.strip() for one in text_of(sent, "tiers").split(",") if one.strip()]
    made = None
    if tiers or not text_of(sent, "away"):
        counts = text_of(sent, "counts") == "yes"
        made = premium_of(tiers, vat=text_of(sent, "vat").strip(), cap=text_of(sent, "cap").strip(), counts=counts)
    premiums = {" ".join(text_of(sent, "name").split()): made}
    more = {"author": author_of(request), "expected": expected_of(sent)}
    return await taken(change_market_settings, {}, premiums=premiums, **more)


async def index_kept(request: Request) -> Response:
    """Keep an index of prices, rows of day, level and source; an empty one takes it away."""
    sent = await sent_of(request)
    rows = index_of_text(text_of(sent, "rows"))
    return await taken(change_market_settings, {}, index=rows, author=author_of(request), expected=expected_of(sent))


async def returned(request: Request) -> Response:
    """Let a former state stand again."""
    sent = await sent_of(request)
    state = text_of(sent, "state")
    return await taken(market_settings_back, state, author=author_of(request), expected=expected_of(sent))


ROUTES = (
    Route("/settings/market", kept, methods=["POST"]),
    Route("/settings/market/premium", premium_kept, methods=["POST"]),
    Route("/settings/market/index", index_kept, methods=["POST"]),
    Route("/settings/market/back", returned, methods=["POST"]),
)
