"""The papers of a car: brought in, one proposal after another ringed on its page, and a paper as it would go out."""

from __future__ import annotations

import contextlib
import re
import secrets
import time
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING
from urllib.parse import unquote

import msgspec
from starlette.concurrency import run_in_threadpool
from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Route

from shutline.car.errors import NotFoundError, Problem, UserError
from shutline.car.kept_papers import Cover
from shutline.car.papers import PaperKind, PaperState, ReadKind, ReadState
from shutline.usecases.look import find_car
from shutline.usecases.paper_events import KINDS
from shutline.usecases.papers import CarPapers, PaperLine, ReadLine, ReadVerb, car_papers, decide_paper, decide_read
from shutline.usecases.papers_intake import PapersCame, enter_papers, read_on
from shutline.usecases.papers_out import cover_more, hold_back, let_out, page_out, paper_out
from shutline.web.forms import file_name, json_of, not_taken
from shutline.web.pages import answer, as_json, whole_number
from shutline.web.under_way import UnderWay

if TYPE_CHECKING:
    from shutline.store import Store
    from shutline.usecases.progress import Stop, Tell

_FOLDER, _TOKEN = "papers-arriving", re.compile(r"[0-9a-f]{32}\Z")
_LEFTOVER_AFTER_S = 24 * 3600
_OPENS = "shutline-opens"
"""The header that a password comes in: an address would be written into logs."""

READ_KINDS = {
    ReadKind.DATE: "Date",
    ReadKind.MILEAGE: "Mileage",
    ReadKind.MONEY: "Sum",
    ReadKind.MARK: "Registration mark",
    ReadKind.CHASSIS: "Chassis number",
    ReadKind.COUNTRY: "Country",
    ReadKind.COUNT: "Number",
    ReadKind.NAME: "Name",
    ReadKind.ADDRESS: "Address",
    ReadKind.CONTACT: "Telephone or mail",
    ReadKind.REFERENCE: "Reference",
}
UNITS = {
    ReadKind.MILEAGE: (("mi", "miles"), ("km", "kilometres")),
    ReadKind.MONEY: (("GBP", "pounds"), ("EUR", "euros"), ("USD", "dollars")),
}


class Decided(msgspec.Struct, forbid_unknown_fields=True):
    """What is sent to decide about something read; `version` is the one the page showed."""

    id: str
    verb: ReadVerb
    version: int
    value: str | None = None
    unit: str | None = None
    day: str | None = None
    kind: ReadKind | None = None
    role: str | None = None


class Said(msgspec.Struct, forbid_unknown_fields=True):
    """What is sent to say whose a paper is, or what it is."""

    id: str
    version: int
    state: PaperState | None = None
    kind: PaperKind | None = None


class Arrived(msgspec.Struct, forbid_unknown_fields=True):
    """A file that was sent: what the workbench calls it, and its name."""

    token: str
    name: str


class ToRead(msgspec.Struct, forbid_unknown_fields=True):
    """What is sent to have papers read: the files that were sent, or none to go on with those that were stopped."""

    files: list[Arrived] = []


class Going(msgspec.Struct, forbid_unknown_fields=True):
    """What is sent about a paper on its way out: let out by its mark, or held back, or covered otherwise."""

    version: int
    mark: str | None = None
    covers: list[Cover] | None = None


async def page(request: Request) -> Response:
    """Show the papers of a car and one proposal; `.json` gives the record that the command line prints."""
    found = await run_in_threadpool(car_papers, request.app.state.store, request.path_params["car"])
    if request.url.path.endswith(".json"):
        return as_json(found)
    paper, read = _chosen(found, request.query_params.get("read", ""), request.query_params.get("paper", ""))
    order = [(one, read_) for one in found.papers for read_ in _in_order(one)]
    place = next((at for at, (_, one) in enumerate(order) if read is not None and one.id == read.id), -1)
    return answer(
        request.scope,
        "papers.html.j2",
        found,
        car={"name": found.car, "title": found.title},
        paper=paper,
        read=read,
        sheet=_sheet(paper, read),
        before=order[place - 1][1] if place > 0 else None,
        after=order[place + 1][1] if 0 <= place < len(order) - 1 else None,
        next_waiting=_next_waiting(order, place),
        kinds=KINDS,
        read_kinds=READ_KINDS,
        units=UNITS,
        going=_readings(request).of(found.car),
    )


async def arrive(request: Request) -> Response:
    """Keep a file that is sent until it is read; it is written to the disk as it comes."""
    from shutline.capture.limits import limits

    await run_in_threadpool(find_car, request.app.state.store, request.path_params["car"])
    folder = request.app.state.store.folder / _FOLDER
    folder.mkdir(exist_ok=True)
    _clear(folder)
    token = secrets.token_hex(16)
    path, most, size = folder / token, limits().papers.max_bytes, 0
    with path.open("xb") as file:
        async for piece in request.stream():
            size += len(piece)
            if size > most:
                path.unlink()
                raise not_taken(f"more than {most:,} bytes", f"at most {most:,} bytes")
            await run_in_threadpool(file.write, piece)
    return as_json(Arrived(token, file_name(request.query_params.get("name", ""), instead="paper")), status=201)


async def read(request: Request) -> Response:
    """Begin to read what was sent, or go on with what was stopped."""
    sent = await json_of(request, ToRead)
    store: Store = request.app.state.store
    car = (await run_in_threadpool(find_car, store, request.path_params["car"])).name
    there = _readings(request).of(car)
    if there is not None and not there.ended:
        raise UserError(_busy(car))
    names = {store.folder / _FOLDER / _token(one.token): one.name for one in sent.files}
    password, author = unquote(request.headers.get(_OPENS, "")), request.state.session.author

    def work(tell: Tell, stop: Stop) -> PapersCame:
        if not names:
            return read_on(store, car, password=password, tell=tell, stop=stop)
        try:
            return enter_papers(
                store, car, list(names), password=password, arrived=names, author=author, tell=tell, stop=stop
            )
        finally:
            for path in names:
                path.unlink(missing_ok=True)

    return as_json(_readings(request).begin(car, work), status=202)


async def now(request: Request) -> Response:
    """Tell how far the reading is."""
    found = await run_in_threadpool(find_car, request.app.state.store, request.path_params["car"])
    return as_json(_readings(request).of(found.name))


async def stopped(request: Request) -> Response:
    """Stop the reading at the next page; what was read is kept."""
    found = await run_in_threadpool(find_car, request.app.state.store, request.path_params["car"])
    return as_json(_readings(request).stop(found.name), status=202)


async def decided(request: Request) -> Response:
    """Take, amend or strike something read, or let it wait again."""
    sent = await json_of(request, Decided)
    do = partial(
        decide_read,
        request.app.state.store,
        request.path_params["car"],
        sent.id,
        sent.verb,
        value=sent.value,
        unit=sent.unit,
        day=sent.day,
        kind=sent.kind,
        role=sent.role,
        version=sent.version,
        author=request.state.session.author,
    )
    return as_json(await run_in_threadpool(do))


async def said(request: Request) -> Response:
    """Say whose a paper is, or what it is."""
    sent = await json_of(request, Said)
    do = partial(
        decide_paper,
        request.app.state.store,
        request.path_params["car"],
        sent.id,
        state=sent.state,
        kind=sent.kind,
        version=sent.version,
        author=request.state.session.author,
    )
    return as_json(await run_in_threadpool(do))


async def out(request: Request) -> Response:
    """Show a paper as it would go out."""
    asked = request.path_params["car"], request.path_params["paper"]
    found = await run_in_threadpool(paper_out, request.app.state.store, *asked)
    car = await run_in_threadpool(find_car, request.app.state.store, found.car)
    covers = next(one.covers for one in car.papers if one.id == found.paper)
    shown = {"name": found.car, "title": found.title}
    covers_json = msgspec.json.encode(covers).decode()
    return answer(request.scope, "paper_out.html.j2", found, car=shown, covers=covers, covers_json=covers_json)


async def out_page(request: Request) -> Response:
    """Send the picture of a page as it would go out."""
    asked = request.path_params["car"], request.path_params["paper"]
    number = whole_number(request.path_params["number"], "the page")
    made = await run_in_threadpool(page_out, request.app.state.store, *asked, number)
    return Response(made.jpeg, media_type="image/jpeg", headers={"cache-control": "private, no-store"})


async def let(request: Request) -> Response:
    """Let a paper go out, hold it back, or cover it otherwise."""
    sent = await json_of(request, Going)
    store, who = request.app.state.store, request.state.session.author
    asked = request.path_params["car"], request.path_params["paper"]
    if sent.covers is not None:
        do = partial(cover_more, store, *asked, sent.covers, version=sent.version, author=who)
    elif sent.mark is not None:
        do = partial(let_out, store, *asked, mark=sent.mark, version=sent.version, author=who)
    else:
        do = partial(hold_back, store, *asked, version=sent.version, author=who)
    return as_json(await run_in_threadpool(do))


def _in_order(paper: PaperLine) -> list[ReadLine]:
    return sorted(paper.reads, key=lambda one: (one.page, one.box.top, one.box.left, one.id))


def _chosen(found: CarPapers, read: str, paper: str) -> tuple[PaperLine | None, ReadLine | None]:
    """Give the proposal that was asked for, else the first that waits of a paper that counts, else the first."""
    order = [(one, read_) for one in found.papers for read_ in _in_order(one) if paper in {"", one.id}]
    asked = [pair for pair in order if read and pair[1].id == read]
    waiting = [pair for pair in order if pair[0].counts and pair[1].state is ReadState.OPEN]
    for some in (asked, waiting, order):
        if some:
            return some[0]
    return next((one for one in found.papers if paper in {"", one.id}), None), None


def _next_waiting(order: list[tuple[PaperLine, ReadLine]], place: int) -> ReadLine | None:
    """Give what waits next after a place, from the beginning again at the end; None where nothing else does."""
    turned = order[place + 1 :] + order[: max(place, 0)]
    return next((read for paper, read in turned if paper.counts and read.state is ReadState.OPEN), None)


def _sheet(paper: PaperLine | None, read: ReadLine | None) -> object:
    if paper is None:
        return None
    wanted = 1 if read is None else read.page
    return next((one for one in paper.sheets if one.number == wanted and one.picture), None)


def _readings(request: Request) -> UnderWay[PapersCame]:
    readings: UnderWay[PapersCame] = request.app.state.paper_readings
    return readings


def _token(text: str) -> str:
    if _TOKEN.match(text):
        return text
    raise NotFoundError(_no_file(text))


def _clear(folder: Path) -> None:
    """Forget files that were sent and never read."""
    for path in folder.iterdir():
        with contextlib.suppress(OSError):
            if time.time() - path.stat().st_mtime > _LEFTOVER_AFTER_S:
                path.unlink()


def _no_file(text: str) -> Problem:
    return Problem(
        slug="web-sent",
        where="papers",
        found=f"no file that was sent is called {text[:40]!r}",
        allowed="the files that were sent just now",
        advice="Load the page again, and send them there.",
    )


def _busy(car: str) -> Problem:
    return Problem(
        slug="paper-busy",
        where=car,
        found="papers of this car are being read",
        allowed="one reading of a car at a time",
        advice="Wait until it has ended, or stop it.",
    )


_HERE = "/cars/{car}/papers"
ROUTES = (
    Route(_HERE, page),
    Route(f"{_HERE}.json", page),
    Route(f"{_HERE}/arrive", arrive, methods=["POST"]),
    Route(f"{_HERE}/read", read, methods=["POST"]),
    Route(f"{_HERE}/now.json", now),
    Route(f"{_HERE}/stop", stopped, methods=["POST"]),
    Route(f"{_HERE}/decide", decided, methods=["POST"]),
    Route(f"{_HERE}/said", said, methods=["POST"]),
    Route(f"{_HERE}/{{paper}}/out", out),
    Route(f"{_HERE}/{{paper}}/out.json", out),
    Route(f"{_HERE}/{{paper}}/out/let", let, methods=["POST"]),
    Route(f"{_HERE}/{{paper}}/out/{{number}}.jpg", out_page),
)
