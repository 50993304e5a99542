"""The price of a car: what it will fetch and why, what to ask, the most to pay; and what people say of it."""

from __future__ import annotations

from datetime import date
from functools import partial
from typing import TYPE_CHECKING, Any

import msgspec
from starlette.concurrency import run_in_threadpool
from starlette.datastructures import QueryParams
from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Route

from shutline.car.errors import Problem, UserError
from shutline.usecases.price import keep_price, price
from shutline.usecases.price_shown import PriceAsked
from shutline.usecases.price_sums import left_words, money_words
from shutline.web.forms import json_of
from shutline.web.pages import answer, as_json
from shutline.web.price_drawing import bridge_drawn, curve_drawn

if TYPE_CHECKING:
    from shutline.usecases.price_shown import PriceShown

_NUMBERS = ("allowed", "days", "holding", "prep", "fees", "transport", "warranty", "knocked_off", "asking")
_WORDS = ("premium", "tax")


class Kept(msgspec.Struct, forbid_unknown_fields=True):
    """What a person says; what is not named stays, null takes it back."""

    attributes: dict[str, str | None] = {}
    figures: dict[str, float | str | None] = {}
    version: int | None = None


async def page(request: Request) -> Response:
    """Show the price of a car."""
    asked = _asked(request.query_params)
    found = await run_in_threadpool(price, request.app.state.store, request.path_params["car"], asked)
    return answer(
        request.scope,
        "price.html.j2",
        found,
        car={"name": found.car, "title": found.title},
        bridges=[bridge_drawn(one) for one in found.fetch.bridges] if found.fetch else [],
        drawn=_drawn(found),
        tried=asked.asking is not None,
        pounds=money_words,
        left=left_words,
    )


def _drawn(found: PriceShown) -> object:
    if found.asking is None:
        return None
    return curve_drawn(found.asking, last_day=found.last_day)


async def keep(request: Request) -> Response:
    """Keep what was said."""
    sent = await json_of(request, Kept)
    do = partial(
        keep_price,
        request.app.state.store,
        request.path_params["car"],
        attributes=sent.attributes,
        figures=sent.figures,
        version=sent.version,
        author=request.state.session.author,
    )
    return as_json(await run_in_threadpool(do))


def _asked(query: QueryParams) -> PriceAsked:
    """Read what the address asks for; an empty figure is none."""
    given = {name: query.get(name, "").strip() for name in (*_NUMBERS, *_WORDS, "day")}
    asked: dict[str, Any] = {name: _number(name, given[name]) for name in _NUMBERS if given[name]}
    try:
        day = date.fromisoformat(given["day"]) if given["day"] else None
    except ValueError:
        raise _refused("day", given["day"], "a day as 2026-12-01") from None
    asked |= {name: given[name] for name in _WORDS if name in query}
    return PriceAsked(**asked, day=day, kept=query.get("kept") != "no")


def _number(name: str, text: str) -> float:
    try:
        return float(text.removeprefix("£").strip().replace(",", ""))
    except ValueError:
        raise _refused(name, text, "a number, such as 250") from None


def _refused(name: str, text: str, allowed: str) -> UserError:
    return UserError(Problem("web-asked", name.replace("_", " "), f"{text[:40]!r}", allowed, f"Give {allowed}."))


ROUTES = (
    Route("/cars/{car}/price.json", page),
    Route("/cars/{car}/price", page),
    Route("/cars/{car}/price/keep", keep, methods=["POST"]),
)
