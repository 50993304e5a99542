"""Prices of like cars: what is kept and whether it counts, tables taken in, one noted by hand or said otherwise."""

from __future__ import annotations

from dataclasses import dataclass
from functools import partial
from typing import TYPE_CHECKING

from starlette.concurrency import run_in_threadpool
from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Route

from shutline.car.comparables import Comparable
from shutline.market import FIELDS
from shutline.usecases.comparables import (
    amend_comparable,
    comparable_shown,
    comparables_shown,
    fields_of,
    note_comparable,
    price_words,
    take_comparable_back,
)
from shutline.usecases.comparables_intake import LARGEST, take_in
from shutline.usecases.comparables_look import DAY_FORMS, Chosen, columns_chosen, look_at_table
from shutline.usecases.comparables_out import comparables_file
from shutline.usecases.ledger import today
from shutline.usecases.ledger_settings import ledger_rules
from shutline.web.forms import file_name, json_of
from shutline.web.outputs_page import disposition
from shutline.web.pages import answer, as_json, whole_number
from shutline.web.wording import when

if TYPE_CHECKING:
    from shutline.car.changes import Change
    from shutline.store import Store

_LINES = 50
"""Prices on a page."""
_MOST_SENT = 2 * LARGEST
"""Bytes of a table as JSON: its line breaks and quotes take two."""
_NAMES = {"when": "day", "sold": "price was", "attributes": "what tells of it", "days": "days in stock"}
_MOST_NAMES = 6
"""Attributes that are asked for by their names when one is noted: the most frequent."""


@dataclass(frozen=True, slots=True)
class Table:
    """A table that was chosen in the browser."""

    name: str
    text: str


@dataclass(frozen=True, slots=True)
class TableChosen(Table):
    """A table with which column of it is what."""

    chosen: Chosen


@dataclass(frozen=True, slots=True)
class Noted:
    """What was noted by hand: entries by the names of fields, and attributes."""

    fields: dict[str, str]
    attributes: dict[str, str]
    version: int | None = None


@dataclass(frozen=True, slots=True)
class Version:
    """At which version somebody saw it."""

    version: int


async def prices(request: Request) -> Response:
    """Show what is kept, the newest first; its twin has all of it in the order it came in."""
    store: Store = request.app.state.store
    words = request.query_params.get("words", "")[:200]
    currency = ledger_rules().currency
    found = await run_in_threadpool(partial(comparables_shown, store, words=words))
    lines = sorted(found.lines, key=lambda line: line.comparable.when, reverse=True)
    count = max(1, -(-len(lines) // _LINES))
    number = min(count, max(1, whole_number(request.query_params.get("page", "1"), "page")))
    names: dict[str, int] = {}
    for line in found.lines:
        for name in line.comparable.attributes:
            names[name] = names.get(name, 0) + 1
    return answer(
        request.scope,
        "prices.html.j2",
        found,
        words=words,
        lines=lines[(number - 1) * _LINES : number * _LINES],
        number=number,
        count=count,
        currency=currency,
        blank=dict.fromkeys(FIELDS, "") | {"when": today().isoformat()},
        names=sorted(names, key=lambda name: (-names[name], name))[:_MOST_NAMES] or ["model"],
        day_forms=DAY_FORMS,
        price=price_words,
        car=Comparable.words,
        when=when,
    )


async def one(request: Request) -> Response:
    """Show one price with all that was done to it."""
    found = await run_in_threadpool(comparable_shown, request.app.state.store, request.path_params["id"])
    changes = [(change, _said(change)) for change in reversed(found.changes)]
    fields = fields_of(found.comparable)
    return answer(
        request.scope,
        "prices_one.html.j2",
        found,
        fields=fields,
        changes=changes,
        price=price_words,
        car=Comparable.words,
        when=when,
    )


def _said(change: Change) -> list[tuple[str, str, str]]:
    """Give what a change made of what stood there, entry by entry; whether it holds is in what was done."""
    names = [name for name in change.before if name != "holds"]
    return [(_NAMES.get(name, name), _words(change.before[name]), _words(change.after.get(name))) for name in names]


def _words(value: object) -> str:
    if isinstance(value, bool):
        return "paid" if value else "asked"
    if isinstance(value, dict):
        named = set(value) <= {"value", "unit"}
        return (
            " ".join(map(str, value.values())) if named else ", ".join(f"{name} {one}" for name, one in value.items())
        )
    return "" if value is None else str(value)


async def looked(request: Request) -> Response:
    """Say what a table is taken for."""
    sent = await json_of(request, Table, most=_MOST_SENT)
    return as_json(await run_in_threadpool(look_at_table, request.app.state.store, sent.text))


async def taken(request: Request) -> Response:
    """Take a table in."""
    sent = await json_of(request, TableChosen, most=_MOST_SENT)
    do = partial(
        take_in,
        request.app.state.store,
        sent.text,
        columns_chosen(sent.chosen),
        name=file_name(sent.name, instead="table"),
        author=request.state.session.author,
    )
    return as_json(await run_in_threadpool(do))


async def noted(request: Request) -> Response:
    """Note one by hand."""
    sent = await json_of(request, Noted)
    author = request.state.session.author
    do = partial(note_comparable, request.app.state.store, sent.fields, sent.attributes, author=author)
    return as_json(await run_in_threadpool(do))


async def amended(request: Request) -> Response:
    """Say something of one otherwise, or let it count again."""
    sent = await json_of(request, Noted)
    do = partial(
        amend_comparable,
        request.app.state.store,
        request.path_params["id"],
        sent.fields,
        sent.attributes,
        version=sent.version,
        author=request.state.session.author,
    )
    return as_json(await run_in_threadpool(do))


async def taken_back(request: Request) -> Response:
    """Let one count no longer."""
    sent = await json_of(request, Version)
    do = partial(
        take_comparable_back,
        request.app.state.store,
        request.path_params["id"],
        version=sent.version,
        author=request.state.session.author,
    )
    return as_json(await run_in_threadpool(do))


async def table(request: Request) -> Response:
    """Hand out what was noted as a table."""
    made = await run_in_threadpool(comparables_file, request.app.state.store)
    headers = {"content-disposition": disposition("prices.csv", "prices.csv", keep=True)}
    return Response(made.text.encode(), media_type="text/csv; charset=utf-8", headers=headers)


ROUTES = (
    Route("/prices.json", prices),
    Route("/prices", prices),
    Route("/prices.csv", table),
    Route("/prices/look", looked, methods=["POST"]),
    Route("/prices/take-in", taken, methods=["POST"]),
    Route("/prices/note", noted, methods=["POST"]),
    Route("/prices/{id}/amend", amended, methods=["POST"]),
    Route("/prices/{id}/take-back", taken_back, methods=["POST"]),
    Route("/prices/{id}.json", one),
    Route("/prices/{id}", one),
)
