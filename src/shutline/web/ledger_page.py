"""The ledger: the stock book, one car of stock with what is entered about it, a quarter, the forecourt, and files."""

from __future__ import annotations

from datetime import timedelta
from functools import partial
from typing import TYPE_CHECKING, Any

from starlette.concurrency import run_in_threadpool
from starlette.exceptions import HTTPException
from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Route

from shutline.ledger import Kind, State, Taxed
from shutline.usecases.ledger import today
from shutline.usecases.ledger_car import CarInLedger, car_in_ledger, next_entry, shown_car
from shutline.usecases.ledger_settings import ledger_rules
from shutline.usecases.ledger_shown import (
    invoice_paper,
    last_stock_number,
    ledger_data,
    shown_forecourt,
    shown_stock,
    shown_totals,
    stock_book_paper,
)
from shutline.usecases.ledger_typed import answer_typed, day_typed, enter_typed
from shutline.web.forms import json_of
from shutline.web.outputs_page import disposition
from shutline.web.pages import answer, as_json, packed, whole_number
from shutline.web.wording import when

if TYPE_CHECKING:
    from shutline.car.carfile import CarSummary
    from shutline.store import Store

_LINES = 50
"""Lines on a page of the book."""
_MOST_MADE = 50
_MOST_OFFERED = 200
_KINDS = {
    "what": "wide",
    **dict.fromkeys(("bought_on", "sold_on"), "date"),
    **dict.fromkeys(("bought_price", "sold_price", "margin", "base", "vat"), "sum"),
}
_FILES = {
    "stock-book.csv": ("stock", "text/csv; charset=utf-8"),
    "entries.csv": ("entries", "text/csv; charset=utf-8"),
    "ledger.beancount": ("journal", "text/plain; charset=utf-8"),
}


async def book(request: Request) -> Response:
    """Show the stock book, open at its last page; its twin has all of it."""
    store: Store = request.app.state.store
    if request.url.path.endswith(".json"):
        return packed(request.scope, as_json(await run_in_threadpool(shown_stock, store)))
    last = await run_in_threadpool(last_stock_number, store)
    count = max(1, -(-last // _LINES))
    number = min(count, max(1, whole_number(request.query_params.get("page", str(count)), "page")))
    numbers = (1 + (number - 1) * _LINES, number * _LINES)
    found = await run_in_threadpool(partial(shown_stock, store, numbers=numbers))
    columns = ledger_rules().columns
    return answer(
        request.scope,
        "ledger.html.j2",
        found,
        shown=list(zip(found.lines, found.cells, strict=True)),
        kinds=[_KINDS.get(one.field, "") for one in columns],
        purchase=sum(one.side == "purchase" for one in columns),
        number=number,
        count=count,
        last=last,
        standing=sum(line.state is State.IN_STOCK for line in found.lines),
        unknown=sum(line.taxed is Taxed.NOT_KNOWN for line in found.lines),
        **await run_in_threadpool(_beforehand, store),
    )


async def car(request: Request) -> Response:
    """Show one car of stock."""
    store: Store = request.app.state.store
    stock = whole_number(request.path_params["stock"], "stock number")
    found = await run_in_threadpool(shown_car, store, stock)
    if request.url.path.endswith(".json"):
        return as_json(found)
    more = await run_in_threadpool(_beforehand, store)
    sale = next((one.entry for one in found.entries if found.owed and one.entry.number == found.owed.entry), None)
    deposits = [one.entry for one in found.entries if one.entry.kind is Kind.DEPOSIT and one.may_come_back]
    return answer(
        request.scope,
        "ledger_stock.html.j2",
        found,
        sale=sale,
        given=[one for one in more["coming"].purchases if one.stock != stock],
        payer=deposits[-1].party.name if deposits else "",
        when=when,
        **more,
    )


async def of_car_file(request: Request) -> Response:
    """Show the lines that the ledger has of a car file, or enter its purchase."""
    store: Store = request.app.state.store
    found: CarInLedger = await run_in_threadpool(car_in_ledger, store, request.path_params["car"])
    if request.url.path.endswith(".json"):
        return as_json(found)
    shown = {"name": found.car, "title": found.title}
    more = await run_in_threadpool(_beforehand, store)
    return answer(request.scope, "ledger_car.html.j2", found, car=shown, **more)


async def quarter(request: Request) -> Response:
    """Show the sums of a quarter, or of other days."""
    asked = dict(request.query_params)
    day, start, end = (day_typed(asked, name) for name in ("day", "start", "end"))
    found = await run_in_threadpool(partial(shown_totals, request.app.state.store, day=day, start=start, end=end))
    after = found.end + timedelta(days=1)
    return answer(
        request.scope,
        "ledger_quarter.html.j2",
        found,
        whole=start is None,
        before=found.start - timedelta(days=1),
        after=after if after <= today() else None,
        today=today(),
    )


async def forecourt(request: Request) -> Response:
    """Show what stands in stock and what was made."""
    day = day_typed(dict(request.query_params), "day")
    found = await run_in_threadpool(partial(shown_forecourt, request.app.state.store, day=day))
    return answer(request.scope, "ledger_forecourt.html.j2", found, most=_MOST_MADE)


async def entered(request: Request) -> Response:
    """Enter what was typed."""
    sent = await json_of(request, dict[str, str])
    do = partial(enter_typed, request.app.state.store, sent, author=request.state.session.author)
    return as_json(await run_in_threadpool(do))


async def answered(request: Request) -> Response:
    """Keep an answer about a car of stock."""
    sent = await json_of(request, dict[str, str])
    stock = whole_number(request.path_params["stock"], "stock number")
    do = partial(answer_typed, request.app.state.store, stock, sent, author=request.state.session.author)
    return as_json(await run_in_threadpool(do))


async def file(request: Request) -> Response:
    """Hand out the book, the entries or the journal."""
    name = request.path_params["file"]
    if name not in _FILES:
        raise HTTPException(404)
    what, kind = _FILES[name]
    data = await run_in_threadpool(ledger_data, request.app.state.store, what)
    return Response(data, media_type=kind, headers=_kept_as(name))


async def book_paper(request: Request) -> Response:
    """Hand out the stock book on paper."""
    data = await run_in_threadpool(stock_book_paper, request.app.state.store)
    return Response(data, media_type="application/pdf", headers=_kept_as("stock-book.pdf"))


async def invoice(request: Request) -> Response:
    """Hand out an invoice on paper."""
    number = whole_number(request.path_params["number"], "entry")
    data = await run_in_threadpool(invoice_paper, request.app.state.store, number)
    return Response(data, media_type="application/pdf", headers=_kept_as(f"invoice-of-entry-{number}.pdf"))


def _kept_as(name: str) -> dict[str, str]:
    return {"content-disposition": disposition(name, name, keep=True)}


def _beforehand(store: Store) -> dict[str, Any]:
    """Give what forms have in them beforehand."""
    cars: list[CarSummary] = list(store.cars(limit=_MOST_OFFERED))
    return {"coming": next_entry(store), "cars": cars, "today": today()}


ROUTES = (
    Route("/ledger.json", book),
    Route("/ledger", book),
    Route("/ledger/enter", entered, methods=["POST"]),
    Route("/ledger/quarter.json", quarter),
    Route("/ledger/quarter", quarter),
    Route("/ledger/forecourt.json", forecourt),
    Route("/ledger/forecourt", forecourt),
    Route("/ledger/stock/{stock}.json", car),
    Route("/ledger/stock/{stock}", car),
    Route("/ledger/stock/{stock}/answer", answered, methods=["POST"]),
    Route("/ledger/invoice/{number}.pdf", invoice),
    Route("/ledger/files/stock-book.pdf", book_paper),
    Route("/ledger/files/{file}", file),
    Route("/cars/{car}/ledger.json", of_car_file),
    Route("/cars/{car}/ledger", of_car_file),
)
