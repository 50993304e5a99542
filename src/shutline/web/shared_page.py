"""A buyer's page under its own address: without a login, to be looked at and nothing else, until it is ended."""

from __future__ import annotations

import threading
import time
from collections import OrderedDict
from collections.abc import Callable
from dataclasses import dataclass, field
from pathlib import Path
from typing import TYPE_CHECKING

from starlette.concurrency import run_in_threadpool
from starlette.requests import Request
from starlette.responses import FileResponse, RedirectResponse, Response
from starlette.routing import Route

from shutline.car.errors import NotFoundError, ShutlineError
from shutline.usecases.shares import make_shared_page, shared_car, shared_file

if TYPE_CHECKING:
    from shutline.store import Store

MOST_ASKED = 900
"""So many files are given to one address of a network in `WITHIN_S` seconds; a page has some dozens."""
MOST_WRONG = 30
"""After so many wrong links in that time nothing is answered to it."""
WITHIN_S = 300.0
_MOST_KNOWN = 2_000
_FRESH_S = 3.0

POLICY = (
    "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self'; media-src 'self'; font-src 'self'; "
    "base-uri 'none'; form-action 'none'; frame-ancestors 'none'"
)

_HEADERS = {
    "content-security-policy": POLICY,
    "referrer-policy": "no-referrer",
    "x-robots-tag": "noindex, nofollow, noarchive",
    "permissions-policy": "camera=(), microphone=(), geolocation=(), payment=(), usb=()",
    # A page that was ended must not be shown out of a browser's own store.
    "cache-control": "no-store",
}

_TYPES = {
    ".html": "text/html; charset=utf-8",
    ".css": "text/css; charset=utf-8",
    ".js": "text/javascript; charset=utf-8",
    ".svg": "image/svg+xml",
    ".jpg": "image/jpeg",
    ".mp4": "video/mp4",
    ".vtt": "text/vtt; charset=utf-8",
    ".pdf": "application/pdf",
    ".woff2": "font/woff2",
    ".txt": "text/plain; charset=utf-8",
}


@dataclass(slots=True)
class _Asked:
    """What one address asked for: since when, how much, and how much of it was wrong."""

    since: float
    count: int = 0
    wrong: int = 0


@dataclass(slots=True)
class Gate:
    """Counts what is asked for without a login; safe to use from many threads.

    The oldest addresses are forgotten where there are very many, so that it never grows beyond all bounds.
    """

    clock: Callable[[], float] = time.monotonic
    _known: OrderedDict[str, _Asked] = field(default_factory=OrderedDict)
    _turn: threading.Lock = field(default_factory=threading.Lock)

    def lets_in(self, address: str) -> bool:
        """Count one request; False where there were too many."""
        with self._turn:
            one = self._of(address)
            one.count += 1
            return one.count <= MOST_ASKED and one.wrong < MOST_WRONG

    def was_wrong(self, address: str) -> None:
        """Count one request for a link that is none."""
        with self._turn:
            self._of(address).wrong += 1

    def _of(self, address: str) -> _Asked:
        now = self.clock()
        one = self._known.get(address)
        if one is None or now - one.since > WITHIN_S:
            one = self._known[address] = _Asked(now)
            self._known.move_to_end(address)
            while len(self._known) > _MOST_KNOWN:
                self._known.popitem(last=False)
        return one


async def page(request: Request) -> Response:
    """Give a file of the page of a link; what is not there, has ended or never was is answered alike."""
    state = request.app.state
    if not hasattr(state, "gate"):
        state.gate = Gate()
    gate: Gate = state.gate
    address = request.client.host if request.client is not None else ""
    if not gate.lets_in(address):
        return _said(429, "Too much was asked for at once. Wait some minutes.", {"retry-after": f"{WITHIN_S:.0f}"})
    token, file = request.path_params["token"], request.path_params.get("file", "")
    try:
        path = await run_in_threadpool(_file, request, token, file)
    except NotFoundError:
        gate.was_wrong(address)
        return _said(404, "There is nothing here. If somebody gave you this link, it has ended: ask them.")
    if path is None:
        return await run_in_threadpool(_make_anew, request, token)
    kind = _TYPES.get(path.suffix, "application/octet-stream")
    headers = _HEADERS
    if path.suffix == ".pdf":
        # The reader that a browser has for PDF is shut out by an empty policy.
        headers = {**_HEADERS, "content-security-policy": "script-src 'none'; base-uri 'none'; frame-ancestors 'none'"}
    return FileResponse(path, media_type=kind, headers=headers)


async def bare(request: Request) -> Response:
    """Send a link whose last stroke was lost on to the page: what lies beside it is found from there."""
    return RedirectResponse(f"{request.url.path}/", status_code=308, headers=_HEADERS)


def _file(request: Request, token: str, file: str) -> Path | None:
    """Find a file; whether a page is still of the car file as it is now is looked at every few seconds."""
    store: Store = request.app.state.store
    # That the link is open is looked at each time: an end holds at once.
    car = shared_car(store, token)
    state = request.app.state
    if not hasattr(state, "shared_now"):
        state.shared_now = {}
    seen: dict[str, tuple[float, Path]] = state.shared_now
    there = seen.get(car)
    now = time.monotonic()
    if there is None or now - there[0] > _FRESH_S or not there[1].is_dir():
        first = shared_file(store, token, "index.html")
        if first is None:
            seen.pop(car, None)
            return None
        seen[car] = there = (now, first.parent)
    if "\0" in file:
        raise _none(token, store)
    path = (there[1] / (file or "index.html")).resolve()
    if not path.is_relative_to(there[1]) or not path.is_file():
        raise _none(token, store)
    return path


def _make_anew(request: Request, token: str) -> Response:
    """Begin to make the page anew, once, and say so."""
    store: Store = request.app.state.store
    try:
        car = shared_car(store, token)
    except ShutlineError:
        return _said(404, "There is nothing here.")
    request.app.state.sharings.begin(car, lambda tell, stop: make_shared_page(store, car, tell=tell, stop=stop))
    return _said(503, "This page is being brought up to date. Come back in a few minutes.", {"retry-after": "60"})


def _none(token: str, store: Store) -> NotFoundError:
    """Answer a file that is not there as a link that is not there."""
    try:
        shared_file(store, token, "no such file")
    except NotFoundError as error:
        return error
    raise AssertionError("a file that is not there was found")


def _said(status: int, words: str, more: dict[str, str] | None = None) -> Response:
    body = (
        '<!doctype html><html lang="en-GB"><head><meta charset="utf-8">'
        '<meta name="viewport" content="width=device-width, initial-scale=1"><title>A car</title></head>'
        f"<body><main><h1>A car</h1><p>{words}</p></main></body></html>"
    )
    return Response(
        body, status_code=status, media_type="text/html; charset=utf-8", headers={**_HEADERS, **(more or {})}
    )


ROUTES = (
    Route("/shared/{token}", bare),
    Route("/shared/{token}/", page),
    Route("/shared/{token}/{file:path}", page),
)
