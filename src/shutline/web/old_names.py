"""The address of a car that was joined with another leads to the other."""

from __future__ import annotations

from typing import TYPE_CHECKING
from urllib.parse import quote

from starlette.concurrency import run_in_threadpool
from starlette.responses import RedirectResponse
from starlette.types import ASGIApp, Receive, Scope, Send

if TYPE_CHECKING:
    from shutline.store import Store

_CARS = "/cars/"


class OldNames:
    """Sends whoever asks for a page under an old name to the same page of the car it is shown under now.

    Not for good, for the two can be taken apart again. What is sent to an old name is taken where it is sent: a phone
    may have kept it since before the cars were joined, and the store knows both names.
    """

    def __init__(self, app: ASGIApp, store: Store) -> None:
        self._app = app
        self._store = store

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Look at the name in one address."""
        path = str(scope.get("path", ""))
        if scope["type"] == "http" and scope["method"] in {"GET", "HEAD"} and path.startswith(_CARS):
            told, slash, rest = path.removeprefix(_CARS).partition("/")
            ending = "" if slash or not told.endswith(".json") else ".json"
            name = "-".join(told.removesuffix(ending).split())
            old = await run_in_threadpool(self._store.shown_under, name)
            if old is not None:
                query = scope["query_string"].decode("latin-1")
                there = quote(f"{_CARS}{old[1]}{ending}{slash}{rest}") + (f"?{query}" if query else "")
                await RedirectResponse(there, status_code=307)(scope, receive, send)
                return
        await self._app(scope, receive, send)
