"""At the car: notes made with a phone in one hand, kept on it while there is no signal, sent once."""

from __future__ import annotations

import contextlib
import secrets
from collections.abc import AsyncIterator
from contextlib import asynccontextmanager
from dataclasses import dataclass
from functools import cache
from importlib.resources import files
from pathlib import Path
from typing import TYPE_CHECKING, TypeVar

import msgspec
from starlette.concurrency import run_in_threadpool
from starlette.requests import ClientDisconnect, Request
from starlette.responses import Response
from starlette.routing import Route

from shutline.car.errors import NotFoundError, Problem, UserError
from shutline.car.findings import Drive
from shutline.car.notes import NoteKind
from shutline.usecases.at_the_car import at_the_car
from shutline.usecases.note_keeping import NoteKept, Says, keep_file, keep_words, say_what_it_shows, tie
from shutline.web.forms import file_name
from shutline.web.pages import answer, as_json

if TYPE_CHECKING:
    from collections.abc import Callable

    from shutline.store import Store
    from shutline.web.jobs import Jobs

T = TypeVar("T")

MOST_BYTES = 250_000_000
"""The longest picture or spoken note that is taken, bytes; a film of a walk comes in by the page for it."""

_LONGEST_BODY = 65_536
_PIECE = 1 << 20
_FOLDER = "arriving-notes"


@dataclass(frozen=True, slots=True)
class TypedNote:
    """A typed note as the phone sends it."""

    token: str
    place: str
    words: str
    at: str | None = None
    says: Says | None = None


@dataclass(frozen=True, slots=True)
class Shown:
    """What a note that was sent before shows: something new, or a finding that is there already."""

    token: str
    note: str
    says: Says | None = None
    finding: str | None = None


async def page(request: Request) -> Response:
    """Show the places of a car, and the buttons for each."""
    it = await run_in_threadpool(at_the_car, request.app.state.store, request.path_params["car"])
    if request.url.path.endswith(".json"):
        return as_json(it)
    plan = await run_in_threadpool(_plan, it.body, it.doors, it.drive)
    return answer(request.scope, "phone.html.j2", it, car={"name": it.car, "title": it.title}, plan=plan)


async def take_file(request: Request) -> Response:
    """Take a picture or a spoken note; it is read, or heard, in its turn."""
    asked = request.query_params
    store: Store = request.app.state.store
    author: str = request.state.session.author
    kind = _kind(asked.get("kind", ""))
    try:
        async with _received(request, store.folder / _FOLDER) as path:

            def keep() -> NoteKept:
                return keep_file(
                    store,
                    request.path_params["car"],
                    path,
                    kind=kind,
                    place=asked.get("place", ""),
                    token=asked.get("token", ""),
                    name=file_name(asked.get("name", ""), instead=f"{kind} note"),
                    at=asked.get("at") or None,
                    ours=True,
                    by=author,
                )

            kept = await run_in_threadpool(keep)
    except ClientDisconnect:
        return Response(status_code=400)
    if kept.new:
        # One that was read before is not read again.
        jobs: Jobs = request.app.state.jobs
        with contextlib.suppress(NotFoundError):
            if kind is NoteKind.SPOKEN:
                await run_in_threadpool(jobs.read_on, kept.note.source, author=author)
            else:
                await run_in_threadpool(jobs.read_picture, kept.car, kept.note, author=author)
    return as_json(kept, status=201 if kept.new else 200)


async def take_words(request: Request) -> Response:
    """Take a typed note."""
    sent = await _body(request, TypedNote)

    def keep() -> NoteKept:
        return keep_words(
            request.app.state.store,
            request.path_params["car"],
            sent.words,
            place=sent.place,
            token=sent.token,
            says=sent.says,
            at=sent.at,
            by=request.state.session.author,
        )

    kept = await run_in_threadpool(keep)
    return as_json(kept, status=201 if kept.new else 200)


async def take_shown(request: Request) -> Response:
    """Take what a note is said to show."""
    sent = await _body(request, Shown)
    store, car = request.app.state.store, request.path_params["car"]
    author = request.state.session.author
    keep: Callable[[], NoteKept]
    if sent.says is not None:
        says = sent.says

        def keep() -> NoteKept:
            return say_what_it_shows(store, car, sent.note, says, token=sent.token, by=author)
    else:

        def keep() -> NoteKept:
            return tie(store, car, sent.note, sent.finding or "", by=author)

    return as_json(await run_in_threadpool(keep))


async def worker(_: Request) -> Response:
    """Send the script that opens the page without signal; it may serve the pages of cars."""
    return Response(
        _worker(), media_type="text/javascript", headers={"service-worker-allowed": "/", "cache-control": "no-cache"}
    )


@cache
def _worker() -> str:
    return files("shutline.web").joinpath("static/worker.js").read_text(encoding="utf-8")


@cache
def _plan(body: str | None, doors: int | None, drive: Drive) -> str:
    from shutline.car.plan import Layout, draw, plan_svg

    try:
        plan = draw(body, doors=doors, drive=drive, layout=Layout.FOLDED)
    except UserError:
        plan = draw(None, drive=drive, layout=Layout.FOLDED)
    return plan_svg(
        plan,
        title="The Plan",
        desc="The car unrolled. Touch a face of it to come nearer, then the part; the list has the same places.",
        standalone=False,
    )


@asynccontextmanager
async def _received(request: Request, folder: Path) -> AsyncIterator[Path]:
    """Give the body of a request as a file, written to the disk; it is gone afterwards."""
    await run_in_threadpool(folder.mkdir, parents=True, exist_ok=True, mode=0o700)
    path = folder / f"{secrets.token_hex(16)}.part"
    try:
        waiting = bytearray()
        came = 0
        async for chunk in request.stream():
            came += len(chunk)
            if came > MOST_BYTES:
                raise _refused("note-too-large", "more bytes than that", f"at most {MOST_BYTES:,} bytes")
            waiting += chunk
            if len(waiting) >= _PIECE:
                await run_in_threadpool(_write, path, bytes(waiting))
                waiting.clear()
        await run_in_threadpool(_write, path, bytes(waiting), last=True)
        yield path
    finally:
        await run_in_threadpool(path.unlink, missing_ok=True)


def _write(path: Path, data: bytes, *, last: bool = False) -> None:
    import os

    from shutline.store.errors import of_system

    try:
        with path.open("ab") as file:
            file.write(data)
            if last:
                file.flush()
                os.fsync(file.fileno())
    except OSError as trouble:
        raise of_system(trouble, where="the note") from trouble


async def _body(request: Request, kind: type[T]) -> T:
    body = bytearray()
    async for chunk in request.stream():
        body += chunk
        if len(body) > _LONGEST_BODY:
            raise _refused("note-too-large", "more bytes than that", f"at most {_LONGEST_BODY:,} bytes")
    try:
        return msgspec.json.decode(bytes(body), type=kind)
    except (msgspec.MsgspecError, UnicodeDecodeError) as trouble:
        raise _refused("web-asked", str(trouble)[:200], "JSON as the page sends it") from trouble


def _kind(text: str) -> NoteKind:
    if text in {NoteKind.PICTURE, NoteKind.SPOKEN}:
        return NoteKind(text)
    raise _refused("note-kind", repr(text[:40]), "picture or spoken")


def _refused(slug: str, found: str, allowed: str) -> UserError:
    return UserError(Problem(slug, "note", found, allowed, "Load the page again, and make the note once more."))


ROUTES = (
    Route("/at-the-car/worker.js", worker),
    Route("/cars/{car}/at-the-car.json", page),
    Route("/cars/{car}/at-the-car", page),
    Route("/cars/{car}/at-the-car/file", take_file, methods=["POST"]),
    Route("/cars/{car}/at-the-car/words", take_words, methods=["POST"]),
    Route("/cars/{car}/at-the-car/shows", take_shown, methods=["POST"]),
)
