"""The report and the other outputs of a car: made on request, looked at, and handed out."""

from __future__ import annotations

import base64
import hashlib
import re
import threading
from concurrent.futures import Future, ThreadPoolExecutor
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any
from urllib.parse import quote

from starlette.concurrency import run_in_threadpool
from starlette.requests import Request
from starlette.responses import FileResponse, Response
from starlette.routing import Route

from shutline.car.errors import Problem, ShutlineError, UserError
from shutline.usecases.outputs import Outputs, make_outputs, output_file, outputs
from shutline.usecases.progress import Step
from shutline.usecases.report import WHATS, wanted_outputs
from shutline.web.guard import HEADERS
from shutline.web.pages import answer, as_json
from shutline.web.wording import when

if TYPE_CHECKING:
    from shutline.store import Store

_LONGEST_ASKED = 2_000
_SHOWN_LINES = 300
_SHOWN_BYTES = 60_000

_TYPES = {
    ".html": "text/html; charset=utf-8",
    ".pdf": "application/pdf",
    ".json": "application/json",
    ".vtt": "text/vtt; charset=utf-8",
    ".txt": "text/plain; charset=utf-8",
    ".md": "text/markdown; charset=utf-8",
    ".jsonld": "application/ld+json",
}

# The page may frame what it makes; what is framed may do nothing but look as it does.
_PAGE_POLICY = HEADERS["content-security-policy"] + "; frame-src 'self'; object-src 'self'"
_FRAMED = (
    "default-src 'none'; img-src data:; font-src data:; base-uri 'none'; form-action 'none'; frame-ancestors 'self'"
)
_STYLE = re.compile(r"<style>(.*?)</style>", re.DOTALL)


@dataclass(frozen=True, slots=True)
class Making:
    """What is being made of a car: which of `WHATS`, what has begun, how many are done; or what went wrong."""

    only: tuple[str, ...]
    at: str = ""
    done: int = 0
    ended: bool = False
    problem: Problem | None = None


@dataclass(frozen=True, slots=True)
class OutputsNow:
    """What is made of a car, and what is being made."""

    made: Outputs
    making: Making | None = None


class Makings:
    """The outputs being made, at most one run a car; kept until a later one begins."""

    def __init__(self, store: Store) -> None:
        self._store = store
        self._turn = threading.Lock()
        self._workers = ThreadPoolExecutor(2, thread_name_prefix="outputs")
        self._now: dict[str, Making] = {}

    def begin(self, car: str, only: tuple[str, ...]) -> None:
        """Begin to make some outputs of a car, unless some are being made already."""
        with self._turn:
            if car in self._now and not self._now[car].ended:
                return
            self._now[car] = Making(only)
        self._workers.submit(self._run, car, only).add_done_callback(lambda future: self._ended(car, future))

    def of(self, car: str) -> Making | None:
        """Give what is being made of a car, or was made last."""
        return self._now.get(car)

    def _run(self, car: str, only: tuple[str, ...]) -> None:
        for number, what in enumerate(only):
            self._now[car] = Making(only, what, number)

            def tell(step: Step, number: int = number) -> None:
                self._now[car] = Making(only, step.stage, number + int(step.done))

            make_outputs(self._store, car, only=[what], tell=tell)

    def _ended(self, car: str, future: Future[None]) -> None:
        error = future.exception()
        problem = None
        if isinstance(error, ShutlineError):
            problem = error.problem
        elif error is not None:
            problem = Problem(
                slug="output-failed",
                where=car,
                found=f"it could not be made: {type(error).__name__}",
                allowed="the car file is as it was",
                advice="Try again; if it happens again, report it with this message.",
            )
        last = self._now[car]
        self._now[car] = Making(last.only, last.at, len(last.only), ended=True, problem=problem)


async def page(request: Request) -> Response:
    """Show what can be made of a car; `show` in the address looks at one of them."""
    car: str = request.path_params["car"]
    show = request.query_params.get("show", "")
    if show:
        wanted_outputs([show])
    begins = await run_in_threadpool(_begins, request.app.state.store, car, show)
    made = await run_in_threadpool(outputs, request.app.state.store, car)
    now = OutputsNow(made, _makings(request).of(made.car))
    shown = {"name": made.car, "title": made.title}
    response = answer(request.scope, "outputs.html.j2", now, car=shown, show=show, begins=begins, when=when)
    response.headers["content-security-policy"] = _PAGE_POLICY
    return response


async def make(request: Request) -> Response:
    """Begin to make outputs; how far they are is told by the page's JSON twin."""
    only = await _asked(request)
    made = await run_in_threadpool(outputs, request.app.state.store, request.path_params["car"])
    makings = _makings(request)
    makings.begin(made.car, only)
    return as_json(OutputsNow(made, makings.of(made.car)), status=202)


async def file(request: Request) -> Response:
    """Hand out a file, made anew first where the car has changed since; with `keep` in the address as a download."""
    store, car, name = request.app.state.store, request.path_params["car"], request.path_params["file"]
    path, called = await run_in_threadpool(output_file, store, car, name)
    kind = _TYPES[path.suffix]
    keeps = "keep" in request.query_params
    headers = {"content-disposition": disposition(called, name, keep=keeps)}
    if path.suffix == ".pdf":
        # The reader that a browser has for PDF is shut out by a sandbox, and by an empty policy.
        headers["content-security-policy"] = "frame-ancestors 'self'; script-src 'none'"
    else:
        style = await run_in_threadpool(_style_source, path) if path.suffix == ".html" else ""
        headers["content-security-policy"] = f"{_FRAMED}; sandbox allow-popups{style}"
        if path.suffix != ".html" and not keeps:
            kind = "text/plain; charset=utf-8"
    return FileResponse(path, media_type=kind, headers=headers)


def disposition(called: str, plain: str, *, keep: bool) -> str:
    """Give the value of Content-Disposition: a name that all can read, and the real one as RFC 5987 writes it."""
    sort = "attachment" if keep else "inline"
    ascii_name = (
        called if called.isascii() and '"' not in called and "\\" not in called and "%" not in called else plain
    )
    return f"{sort}; filename=\"{ascii_name}\"; filename*=UTF-8''{quote(called, safe='')}"


def _style_source(path: Path) -> str:
    """Allow the style that the report carries, by its hash, and no other."""
    found = _STYLE.search(path.read_text(encoding="utf-8"))
    if found is None:
        return ""
    digest = base64.b64encode(hashlib.sha256(found[1].encode()).digest()).decode("ascii")
    return f"; style-src 'sha256-{digest}'"


def _begins(store: Store, car: str, show: str) -> list[dict[str, Any]]:
    """Make what is looked at where it is not made yet, and give the beginnings of what is text."""
    if not show:
        return []
    made = make_outputs(store, car, only=[show])
    if show in {"html", "pdf"}:
        return []
    found: list[dict[str, Any]] = []
    files = next(output for output in made.outputs if output.what == show).files
    # Of the forms of a description, the plain one is looked at.
    for one in (file for file in files if show != "description" or file.name.endswith(".txt")):
        path, _ = output_file(store, made.car, one.name)
        with path.open("rb") as opened:
            lines = opened.read(_SHOWN_BYTES).decode("utf-8", "ignore").splitlines()
        whole = one.byte_size <= _SHOWN_BYTES and len(lines) <= _SHOWN_LINES
        found.append({"name": one.name, "text": "\n".join(lines[:_SHOWN_LINES]), "whole": whole})
    return found


def _makings(request: Request) -> Makings:
    state = request.app.state
    if not hasattr(state, "makings"):
        state.makings = Makings(state.store)
    makings: Makings = state.makings
    return makings


async def _asked(request: Request) -> tuple[str, ...]:
    import json

    body = bytearray()
    async for piece in request.stream():
        body += piece
        if len(body) > _LONGEST_ASKED:
            break
    try:
        sent = json.loads(bytes(body) or b"{}")
    except (ValueError, RecursionError):
        sent = None
    only = (sent.get("only") or list(WHATS)) if isinstance(sent, dict) else None
    if not isinstance(only, list) or not all(isinstance(what, str) for what in only):
        raise UserError(
            Problem(
                slug="web-sent",
                where="what was sent",
                found="something else than what is to be made",
                allowed=f'{{"only": [...]}} with some of {", ".join(WHATS)}',
                advice="Load the page again.",
            )
        )
    return wanted_outputs(only)


ROUTES = (
    Route("/cars/{car}/outputs", page),
    Route("/cars/{car}/outputs.json", page),
    Route("/cars/{car}/outputs/make", make, methods=["POST"]),
    Route("/cars/{car}/outputs/{file}", file),
)
