"""The timeline of a car: what is known of it in use, its test histories, and what does not add up."""

from __future__ import annotations

from datetime import date
from functools import partial
from typing import Literal
from urllib.parse import quote

import msgspec
from starlette.concurrency import run_in_threadpool
from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Route

from shutline.car.errors import Problem, UserError
from shutline.car.past import PastKind, RestsOn
from shutline.history.countries import countries, country_name
from shutline.usecases.car_history import car_history
from shutline.usecases.kept_tests import MOST_BYTES, RecordVerb, decide_tests, keep_tests
from shutline.usecases.past import DATE_WORDS, FIELDS, change_past, enter_past
from shutline.web.forms import body_of, file_name, form_of, is_form, json_of, not_taken, see, whole_version
from shutline.web.pages import answer, as_json


class Decided(msgspec.Struct, forbid_unknown_fields=True):
    """What was said of a record: it is this car, it is another, or it is open again."""

    id: str
    verb: RecordVerb
    version: int | None = None


class Entered(msgspec.Struct, forbid_unknown_fields=True):
    """An entry of the car's past: a new one of a kind, or what is done to the one of an id."""

    verb: Literal["enter", "amend", "strike", "again"]
    kind: PastKind | None = None
    id: str = ""
    fields: dict[str, str] = {}
    version: int | None = None


async def page(request: Request) -> Response:
    """Show the timeline of a car."""
    asked = request.query_params.get("day", "")
    try:
        day = date.fromisoformat(asked) if asked else None
    except ValueError:
        raise _refused(f"the day {asked[:40]!r}", "a day such as 2026-11-26") from None
    tell = partial(car_history, request.app.state.store, request.path_params["car"], day=day)
    found = await run_in_threadpool(tell)
    shown = {
        "car": {"name": found.car, "title": found.title},
        "dates": DATE_WORDS,
        "countries": [one.name for one in countries()],
        "country_name": country_name,
    }
    return answer(request.scope, "timeline.html.j2", found, **shown)


async def tests(request: Request) -> Response:
    """Keep the records of a file that is sent as it is."""
    data = await body_of(request, most=MOST_BYTES)
    keep = partial(
        keep_tests,
        request.app.state.store,
        request.path_params["car"],
        data,
        called=file_name(request.query_params.get("name", ""), instead="test history"),
        author=request.state.session.author,
    )
    return as_json(await run_in_threadpool(keep))


async def decide(request: Request) -> Response:
    """Keep what was said of a record."""
    sent = await json_of(request, Decided)
    do = partial(
        decide_tests,
        request.app.state.store,
        request.path_params["car"],
        sent.id,
        sent.verb,
        version=sent.version,
        author=request.state.session.author,
    )
    return as_json(await run_in_threadpool(do))


async def past(request: Request) -> Response:
    """Enter a keeper, a country or a date, or change what was entered."""
    car = request.path_params["car"]
    form = is_form(request)
    sent = _of_form(await form_of(request)) if form else await json_of(request, Entered)
    store, author = request.app.state.store, request.state.session.author
    if sent.verb == "enter":
        if sent.kind is None:
            raise not_taken("nothing that says what is entered", "a keeper, a country or a date")
        do = partial(enter_past, store, car, sent.kind, sent.fields, author=author)
    else:
        do = partial(change_past, store, car, sent.id, sent.verb, sent.fields, version=sent.version, author=author)
    line = await run_in_threadpool(do)
    return see(f"/cars/{quote(car)}/timeline#past-heading") if form else as_json(line)


def _of_form(given: dict[str, list[str]]) -> Entered:
    """Take an entry from the fields of a plain form."""
    plain = {name: values[0] for name, values in given.items()}
    fields = {name: plain[name] for name in FIELDS if name in plain}
    if fields.get("on") == RestsOn.PAPER and plain.get("paper", "").strip():
        fields["on"] = plain["paper"]
    sent = {"verb": plain.get("verb"), "kind": plain.get("kind"), "id": plain.get("id", ""), "fields": fields}
    try:
        return msgspec.convert({**sent, "version": whole_version(plain.get("version", ""))}, Entered)
    except msgspec.ValidationError as trouble:
        raise not_taken(str(trouble)[:200], "a form as our own pages have it") from None


def _refused(found: str, allowed: str) -> UserError:
    return UserError(Problem("web-asked", "timeline", found, allowed, "Load the page anew and try again."))


ROUTES = (
    Route("/cars/{car}/timeline.json", page),
    Route("/cars/{car}/timeline", page),
    Route("/cars/{car}/timeline/tests", tests, methods=["POST"]),
    Route("/cars/{car}/timeline/decide", decide, methods=["POST"]),
    Route("/cars/{car}/timeline/past", past, methods=["POST"]),
)
