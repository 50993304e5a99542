"""Settings of the ledger: country, quarters, VAT number, what a day costs; kept, and brought back."""

from __future__ import annotations

from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Route

from shutline.usecases.ledger_settings import LedgerSettings, keep_ledger_settings, ledger_settings_back
from shutline.web.settings_page import author_of, expected_of, sent_of, taken, text_of


async def kept(request: Request) -> Response:
    """Keep it."""
    sent = await sent_of(request)
    stagger = text_of(sent, "stagger")
    chosen = LedgerSettings(
        country=text_of(sent, "country"),
        take_from_memory=text_of(sent, "take_from_memory") == "yes",
        # What is no number is refused as the stagger that there is not.
        stagger=int(stagger) if stagger.isascii() and stagger.isdigit() and len(stagger) < 3 else 0,
        holding_a_day=text_of(sent, "holding_a_day").strip(),
        vat_number=text_of(sent, "vat_number").strip(),
    )
    return await taken(keep_ledger_settings, chosen, author=author_of(request), expected=expected_of(sent))


async def returned(request: Request) -> Response:
    """Let a former choice stand again."""
    sent = await sent_of(request)
    state = text_of(sent, "state")
    return await taken(ledger_settings_back, state, author=author_of(request), expected=expected_of(sent))


ROUTES = (
    Route("/settings/ledger", kept, methods=["POST"]),
    Route("/settings/ledger/back", returned, methods=["POST"]),
)
