"""The survey of a car: the Plan shaded by what each place stands on, what is still to show, guides and routes."""

from __future__ import annotations

import math
import re
from functools import partial
from typing import TYPE_CHECKING, Any
from urllib.parse import quote, urlencode

import msgspec
from starlette.concurrency import run_in_threadpool
from starlette.datastructures import QueryParams
from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Route

from shutline.car.errors import Problem, UserError
from shutline.survey import Cover, Raised
from shutline.usecases.route_sheet import route_sheet
from shutline.usecases.survey import ask_again, keep_guide, leave_out, plan_route, still_to_show
from shutline.usecases.survey_view import SurveyView, entry_id, survey_view
from shutline.web.forms import form_of, is_form, json_of, see
from shutline.web.outputs_page import disposition
from shutline.web.pages import as_json, packed, render

if TYPE_CHECKING:
    from shutline.store import Store

WHOLE = "all"
"""In the address: the route before filming, with what has a footing already."""

_PLACE = re.compile(r"[a-z0-9_-]{1,80}")


class Omitted(msgspec.Struct, forbid_unknown_fields=True):
    """What is left out, and why; or, without a reason, what is asked for again."""

    check: str
    reason: str = ""


class Chosen(msgspec.Struct, forbid_unknown_fields=True):
    """The guides that are chosen; none leaves it to the program."""

    guides: list[str]


async def page(request: Request) -> Response:
    """Show the survey of a car, or send it as `shutline to-show NAME --json` prints it."""
    store, name = request.app.state.store, request.path_params["car"]
    raised, minutes = asked_route(request.query_params)
    if request.url.path.endswith(".json"):
        told = await run_in_threadpool(partial(still_to_show, store, name, raised=raised, minutes=minutes))
        return packed(request.scope, as_json(told))

    def laid_out() -> Response:
        view = survey_view(store, name, raised=raised, minutes=minutes)
        return render(
            request.scope,
            "survey.html.j2",
            {
                "it": view,
                "car": {"name": view.told.car, "title": view.title},
                "spots": _spots(view),
                "entry_id": entry_id,
                "covers": Cover,
                "raised": raised.value,
                "minutes": "" if minutes is None else f"{minutes:g}",
                "done": request.query_params.get("done", ""),
            },
        )

    return await run_in_threadpool(laid_out)


async def paper(request: Request) -> Response:
    """Hand out a route on one page of paper: of what is still to show, or, with ``of=all``, of everything."""
    store, name = request.app.state.store, request.path_params["car"]
    raised, minutes = asked_route(request.query_params)
    whole = request.query_params.get("of") == WHOLE

    def made() -> tuple[str, bytes]:
        planned = plan_route(store, name, everything=whole, raised=raised, minutes=minutes)
        return store.find_car(name).name, route_sheet(planned)

    car, data = await run_in_threadpool(made)
    file = f"{car}-{'route' if whole else 'second-route'}.pdf"
    return Response(
        data, media_type="application/pdf", headers={"content-disposition": disposition(file, file, keep=True)}
    )


async def omitted(request: Request) -> Response:
    """Leave checks out on purpose; a form may name several places of one check."""
    store, car, author = _who(request)
    if not is_form(request):
        sent = await json_of(request, Omitted)
        shown = await run_in_threadpool(partial(leave_out, store, car, sent.check, reason=sent.reason, author=author))
        return as_json(shown)
    given = await form_of(request)
    for key in _keys(given):
        reason = given.get("reason", [""])[0]
        await run_in_threadpool(partial(leave_out, store, car, key, reason=reason, author=author))
    return _see(car, "left-out", given)


async def asked_again(request: Request) -> Response:
    """Ask again for what was left out."""
    store, car, author = _who(request)
    if not is_form(request):
        sent = await json_of(request, Omitted)
        return as_json(await run_in_threadpool(partial(ask_again, store, car, sent.check, author=author)))
    given = await form_of(request)
    for key in _keys(given):
        await run_in_threadpool(partial(ask_again, store, car, key, author=author))
    return _see(car, "asked-again", given)


async def guide_kept(request: Request) -> Response:
    """Keep which guides a car gets."""
    store, car, author = _who(request)
    if not is_form(request):
        sent = await json_of(request, Chosen)
        return as_json(await run_in_threadpool(partial(keep_guide, store, car, sent.guides, author=author)))
    given = await form_of(request)
    construction = [name for name in given.get("construction", []) if name]
    names = [*construction, *given.get("drive", [])] if construction else []
    await run_in_threadpool(partial(keep_guide, store, car, names, author=author))
    return _see(car, "guide" if names else "guide-left", given)


def asked_route(asked: QueryParams) -> tuple[Raised, float | None]:
    """Read how a route is wanted out of an address: when the car is up, and how many minutes there are.

    Raises
    ------
    UserError
        One of them is nothing of the kind (slug ``web-asked``).
    """
    up, minutes = asked.get("raised", Raised.LAST.value), asked.get("minutes", "").strip()
    if up not in set(Raised):
        raise _odd("raised", up, ", ".join(Raised))
    try:
        given = float(minutes) if minutes else None
    except ValueError:
        given = math.nan
    if given is not None and not 0 < given < 1_000:
        raise _odd("minutes", minutes, "a number of minutes above 0 and below 1,000, or nothing")
    return Raised(up), given


def _spots(view: SurveyView) -> dict[str, Any]:
    """Give what the script says of each place of the Plan, and where the list has it."""
    entries = {place.key: entry_id(entry) for band in view.bands for entry in band.entries for place in entry.places}
    return {
        key: {
            "name": spot.name,
            "word": spot.word,
            "lines": [[line.what, line.words, entries.get(line.key, "")] for line in spot.lines],
        }
        for key, spot in view.plan.spots.items()
    }


def _keys(given: dict[str, list[str]]) -> list[str]:
    return [key for value in given.get("check", []) for key in value.split()][:64]


def _see(car: str, done: str, given: dict[str, list[str]]) -> Response:
    then = given.get("then", [""])[0]
    place = f"#{then}" if _PLACE.fullmatch(then) else ""
    return see(f"/cars/{quote(car)}/survey?{urlencode({'done': done})}{place}")


def _who(request: Request) -> tuple[Store, str, str]:
    return request.app.state.store, request.path_params["car"], str(request.state.session.author)


def _odd(name: str, text: str, allowed: str) -> UserError:
    return UserError(
        Problem("web-asked", f"{name} in the address", repr(text[:40]), allowed, "Follow the links of the page.")
    )


def _plain(request: Request) -> Response:
    """Send a browser that loads the address of a change again to the page."""
    return see(f"/cars/{quote(request.path_params['car'])}/survey")


_AT = "/cars/{car}/survey"

ROUTES = (
    Route(_AT + ".json", page),
    Route(_AT, page),
    Route(_AT + "/route.pdf", paper),
    Route(_AT + "/leave-out", omitted, methods=["POST"]),
    Route(_AT + "/ask-again", asked_again, methods=["POST"]),
    Route(_AT + "/guide", guide_kept, methods=["POST"]),
    Route(_AT + "/{deed}", _plain),
)
