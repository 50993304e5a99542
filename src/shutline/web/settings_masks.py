"""What is covered in what goes out, as the house chooses it: kept, and brought back."""

from __future__ import annotations

from typing import Any

from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Route

from shutline.car.masks import MaskKind
from shutline.usecases.mask_policy import keep_mask_policy, mask_policy_back
from shutline.web.settings_page import author_of, expected_of, sent_of, taken, text_of

_NUMBERS = ("margin", "face_margin", "film_margin", "slack_s")


async def kept(request: Request) -> Response:
    """Keep what is covered, of which kinds, and how."""
    sent = await sent_of(request)
    chosen: dict[str, Any] = {"covers": text_of(sent, "covers"), "colour": text_of(sent, "colour")}
    chosen["kinds"] = [kind.value for kind in MaskKind if text_of(sent, kind.value) == "yes"]
    chosen |= {name: _number(text_of(sent, name)) for name in _NUMBERS}
    return await taken(keep_mask_policy, chosen, author=author_of(request), expected=expected_of(sent))


async def returned(request: Request) -> Response:
    """Let a former choice stand again."""
    sent = await sent_of(request)
    return await taken(mask_policy_back, text_of(sent, "state"), author=author_of(request), expected=expected_of(sent))


def _number(text: str) -> float | str:
    """Give a number; what is none goes on as it was written, to be refused by its name."""
    try:
        return float(text)
    except ValueError:
        return text[:40]


ROUTES = (
    Route("/settings/masks", kept, methods=["POST"]),
    Route("/settings/masks/back", returned, methods=["POST"]),
)
