"""What every request must bear and every answer carries, whatever page it is for."""

from __future__ import annotations

from collections.abc import Iterable
from typing import TYPE_CHECKING
from urllib.parse import parse_qs, urlsplit

from starlette.datastructures import Headers, MutableHeaders
from starlette.requests import cookie_parser
from starlette.types import ASGIApp, Message, Receive, Scope, Send

from shutline.car.errors import Problem
from shutline.web.access import COOKIE, proven
from shutline.web.trouble import refusal

if TYPE_CHECKING:
    from shutline.web.access import Access

PROOF = "shutline-proof"
"""Name of the header by which our own pages prove themselves; a plain form has a field of that name."""

FORM = "application/x-www-form-urlencoded"
LONGEST_FORM = 64_000
"""Bytes of a change that is sent, at most."""

LONGEST_TEXT_FORM = 8_000_000
"""Bytes of one that carries texts of a user's own, at most: a plain form is read before it is let in. Two texts as
long as any is read have room in it, so that what is too long is told in letters."""

_TAKES_TEXTS = "/wording"
"""How the address of a page ends whose form carries such texts."""

OPEN = ("/open/", "/static/", "/type/", "/come-in", "/shared/")
"""What is answered without a session: the opening link, the door with the pass phrase, what they look like, and pages
that were shared under an address of their own."""

SAFE = frozenset({"GET", "HEAD", "OPTIONS"})

HEADERS = {
    "content-security-policy": (
        "default-src 'none'; script-src 'self'; style-src 'self'; font-src 'self'; connect-src 'self'; "
        "img-src 'self' blob:; media-src 'self' blob:; worker-src 'self'; manifest-src 'self'; form-action 'self'; "
        "frame-ancestors 'none'; base-uri 'none'"
    ),
    "x-content-type-options": "nosniff",
    # With `no-referrer` a browser names no origin for a plain form, and what comes from elsewhere could not be told.
    "referrer-policy": "same-origin",
    "cross-origin-opener-policy": "same-origin",
    "cross-origin-resource-policy": "same-origin",
    "permissions-policy": "camera=(self), microphone=(self), geolocation=(), payment=(), usb=()",
}


class Guard:
    """Lets in what is asked for under our own name, by a session, and, where it changes something, by our own page."""

    def __init__(self, app: ASGIApp, access: Access) -> None:
        self._app = app
        self._access = access

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Look at one request, and put our headers on the answer."""
        if scope["type"] != "http":
            await self._app(scope, receive, send)
            return

        async def with_headers(message: Message) -> None:
            if message["type"] == "http.response.start":
                headers = MutableHeaders(scope=message)
                for name, value in HEADERS.items():
                    headers.setdefault(name, value)
                headers.setdefault("cache-control", "no-store")
            await send(message)

        refused = self._refused(scope)
        if refused is None and _to_be_proven(scope):
            most = LONGEST_TEXT_FORM if str(scope["path"]).endswith(_TAKES_TEXTS) else LONGEST_FORM
            receive, proof = await _read_form(receive, most)
            if not proven(scope["state"]["session"], proof):
                refused = 403, _not_proven()
        if refused is not None:
            status, problem = refused
            await refusal(scope, status, problem)(scope, receive, with_headers)
            return
        await self._app(scope, receive, with_headers)

    def _refused(self, scope: Scope) -> tuple[int, Problem] | None:
        headers = Headers(scope=scope)
        host = headers.get("host", "").lower()
        if host not in self._access.hosts:
            return 421, _wrong_host(host, self._access.hosts)
        path: str = scope["path"]
        changes = scope["method"] not in SAFE
        origin = headers.get("origin")
        if changes and origin is not None and urlsplit(origin).netloc.lower() != host:
            return 403, _from_elsewhere(origin)
        session = self._access.session(cookie_parser(headers.get("cookie", "")).get(COOKIE))
        scope.setdefault("state", {})["session"] = session
        if path.startswith(OPEN):
            return None
        if session is None:
            return 401, _no_session(by_phrase=self._access.phrase is not None)
        if changes and not _to_be_proven(scope) and not proven(session, headers.get(PROOF)):
            return 403, _not_proven()
        return None


def _to_be_proven(scope: Scope) -> bool:
    """Tell whether a request is a plain form of a browser without script, whose proof is one of its fields."""
    if scope["method"] != "POST" or str(scope["path"]).startswith(OPEN):
        return False
    headers = Headers(scope=scope)
    return PROOF not in headers and headers.get("content-type", "").partition(";")[0].strip().lower() == FORM


async def _read_form(receive: Receive, most: int) -> tuple[Receive, str | None]:
    """Read a form to its end; give its proof, None where it has none or is too long, and what hands it on."""
    body = bytearray()
    messages: list[Message] = []
    while True:
        message = await receive()
        messages.append(message)
        body += message.get("body", b"")
        if message["type"] != "http.request" or not message.get("more_body", False) or len(body) > most:
            break
    fields = parse_qs(bytes(body).decode("utf-8", "replace")) if len(body) <= most else {}
    given = fields.get(PROOF, [])

    async def again() -> Message:
        return messages.pop(0) if messages else await receive()

    return again, given[0] if len(given) == 1 else None


def _wrong_host(host: str, allowed: Iterable[str]) -> Problem:
    return Problem(
        slug="web-host",
        where="the address",
        found=f"asked for under the name {host!r}" if host else "asked for under no name",
        allowed=", ".join(sorted(allowed)),
        advice="Open the link that `shutline serve` printed.",
    )


def _from_elsewhere(origin: str) -> Problem:
    return Problem(
        slug="web-elsewhere",
        where="the request",
        found=f"it comes from a page of {origin!r}",
        allowed="changes are taken from the workbench's own pages alone",
        advice="Make the change in the workbench.",
    )


def _no_session(*, by_phrase: bool) -> Problem:
    return Problem(
        slug="web-no-session",
        where="the workbench",
        found="this browser has not been let in",
        allowed="the link that `shutline serve` printed" + (", or the pass phrase" if by_phrase else ""),
        advice="Open that link once in this browser" + (", or go to /come-in." if by_phrase else "."),
    )


def _not_proven() -> Problem:
    return Problem(
        slug="web-not-proven",
        where="the request",
        found="it does not carry the secret of this session's pages",
        allowed="changes are taken from the workbench's own pages alone",
        advice="Load the page again, and make the change there.",
    )
