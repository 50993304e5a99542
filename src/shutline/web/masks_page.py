"""What is covered in the pictures and films of a car that go out: looked at, moved, drawn, confirmed and struck."""

from __future__ import annotations

import threading
from concurrent.futures import Future, ThreadPoolExecutor
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, TypeVar

import msgspec
from starlette.concurrency import run_in_threadpool
from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Route

from shutline.car.errors import NotFoundError, Problem, ShutlineError, UserError
from shutline.car.masks import Box, BoxAt, KeptMask, MaskKind
from shutline.usecases.look import find_car
from shutline.usecases.mask_looks import Looked, look_for_masks
from shutline.usecases.masks import CarMasks, add_mask, car_masks, decide_mask
from shutline.web.pages import answer, as_json

if TYPE_CHECKING:
    from shutline.store import Store
    from shutline.usecases.progress import Step

_LONGEST_SENT = 64_000
_VIEW_PX = 1600
_QUALITY = 88

KINDS = {
    MaskKind.MARK: "registration mark",
    MaskKind.CHASSIS: "chassis number",
    MaskKind.FACE: "face",
    MaskKind.OTHER: "something else",
}

T = TypeVar("T")


class Drawn(msgspec.Struct, forbid_unknown_fields=True):
    """What is sent to draw a mask: each entry of `way` is a moment, then left, top, right and bottom in shares."""

    source: str
    kind: MaskKind
    way: list[tuple[float, float, float, float, float]]
    token: str


class Decided(msgspec.Struct, forbid_unknown_fields=True):
    """What is sent to decide about a mask; `version` is the one the page showed."""

    id: str
    action: str
    version: int
    kind: MaskKind | None = None
    box: tuple[float, float, float, float] | None = None
    at_s: float | None = None


class ToLook(msgspec.Struct, forbid_unknown_fields=True):
    """What is sent to have the program look; through the films too where `films` is true."""

    films: bool = False


@dataclass(frozen=True, slots=True)
class Looking:
    """How far a look is: what is being looked at, how much of it is done, and what came of it or went wrong."""

    at: str = ""
    done: float = 0.0
    ended: bool = False
    looked: Looked | None = None
    problem: Problem | None = None


class Lookings:
    """The looks that go on, at most one a car."""

    def __init__(self, store: Store) -> None:
        self._store = store
        self._turn = threading.Lock()
        self._worker = ThreadPoolExecutor(1, thread_name_prefix="masks")
        self._now: dict[str, Looking] = {}

    def begin(self, car: str, *, films: bool) -> Looking:
        """Begin a look unless one goes on."""
        with self._turn:
            if car not in self._now or self._now[car].ended:
                self._now[car] = Looking()
                self._worker.submit(self._run, car, films).add_done_callback(lambda done: self._ended(car, done))
            return self._now[car]

    def of(self, car: str) -> Looking | None:
        """Give the look that goes on, or the last one."""
        return self._now.get(car)

    def _run(self, car: str, films: bool) -> Looked:  # noqa: FBT001 - handed to a thread
        def tell(step: Step) -> None:
            self._now[car] = Looking(step.recording, step.done)

        return look_for_masks(self._store, car, films=films, tell=tell)

    def _ended(self, car: str, done: Future[Looked]) -> None:
        error = done.exception()
        problem = error.problem if isinstance(error, ShutlineError) else None
        if error is not None and problem is None:
            problem = Problem(
                slug="masks-not-sought",
                where=car,
                found=f"the pictures could not be looked through: {type(error).__name__}",
                allowed="what was found before is kept",
                advice="Try again; if it happens again, report it with this message.",
            )
        looked = done.result() if error is None else None
        self._now[car] = Looking(done=1.0, ended=True, looked=looked, problem=problem)


@dataclass(frozen=True, slots=True)
class MasksNow:
    """The masks of a car, and the look that goes on."""

    masks: CarMasks
    looking: Looking | None = None


async def page(request: Request) -> Response:
    """Show what is covered; `show` in the address is the number of a picture, from 1."""
    found = await run_in_threadpool(car_masks, request.app.state.store, request.path_params["car"])
    number = _number(request.query_params.get("show", "1"), len(found.shots))
    shown = found.shots[number - 1] if found.shots else None
    by_id = {kept.id: kept for kept in found.masks}
    return answer(
        request.scope,
        "masks.html.j2",
        MasksNow(found, _lookings(request).of(found.car)),
        car={"name": found.car, "title": found.title},
        number=number,
        shown=shown,
        here=[] if shown is None else [_drawn(by_id[one], shown.shot.at_s) for one in shown.masks],
        followed=[kept for kept in found.masks if len(kept.mask.way) > 1],
        kinds=KINDS,
    )


async def picture(request: Request) -> Response:
    """Send a picture of a car as it is, upright, for the workbench alone."""
    car, number = request.path_params["car"], request.path_params["number"]
    data = await run_in_threadpool(_view, request.app.state.store, car, int(number))
    return Response(data, media_type="image/jpeg", headers={"cache-control": "private, max-age=3600"})


async def going_out(request: Request) -> Response:
    """Send a picture as it goes out, covered."""
    car, number = request.path_params["car"], request.path_params["number"]
    data = await run_in_threadpool(_out, request.app.state.store, car, int(number))
    return Response(data, media_type="image/jpeg", headers={"cache-control": "no-store"})


async def drawn(request: Request) -> Response:
    """Keep a mask that a person drew."""
    sent = await _sent(request, Drawn)
    way = [BoxAt(at_s, _box(edges)) for at_s, *edges in sent.way]
    done = await run_in_threadpool(
        add_mask,
        request.app.state.store,
        request.path_params["car"],
        sent.source,
        sent.kind,
        way,
        token=sent.token,
        author=request.state.session.author,
    )
    return as_json(done)


async def decided(request: Request) -> Response:
    """Confirm, strike, restore, move or rename a mask."""
    sent = await _sent(request, Decided)
    if sent.action not in {"confirm", "strike", "restore", "amend"}:
        raise _not_taken(f"the action {sent.action[:40]!r}", "confirm, strike, restore or amend")
    if sent.action != "amend" and (sent.box is not None or sent.kind is not None):
        raise _not_taken(f"a box or a kind with {sent.action}", "them with amend alone")
    done = await run_in_threadpool(
        decide_mask,
        request.app.state.store,
        request.path_params["car"],
        sent.id,
        sent.action,  # type: ignore[arg-type]
        kind=sent.kind,
        box=None if sent.box is None else _box(sent.box),
        at_s=sent.at_s,
        version=sent.version,
        author=request.state.session.author,
    )
    return as_json(done)


async def look(request: Request) -> Response:
    """Begin to look through the pictures; how far it is is told by the page's JSON twin."""
    sent = await _sent(request, ToLook)
    found = await run_in_threadpool(car_masks, request.app.state.store, request.path_params["car"])
    looking = _lookings(request).begin(found.car, films=sent.films)
    return as_json(MasksNow(found, looking), status=202)


def _drawn(kept: KeptMask, at_s: float) -> dict[str, Any]:
    box = kept.mask.at(at_s, slack_s=0.1)
    return {"kept": kept, "box": box or kept.mask.way[0].box, "kind": KINDS[kept.mask.kind]}


def _view(store: Store, name: str, number: int) -> bytes:
    """Give the picture of that number in JPEG, upright, whole."""
    import io

    from shutline.capture.pictures import unpack
    from shutline.publish.bare import pack
    from shutline.usecases.mask_looks import bytes_of, shots

    car = find_car(store, name)
    there = shots(car)
    data = bytes_of(store, car, there[number - 1]) if 0 < number <= len(there) else None
    pixels = None if data is None else unpack(io.BytesIO(data), longest_side_px=_VIEW_PX)
    if pixels is None:
        raise _no_picture(car.name, number)
    return pack(pixels, quality=_QUALITY).jpeg


def _out(store: Store, name: str, number: int) -> bytes:
    from shutline.usecases.mask_looks import bytes_of, shots
    from shutline.usecases.published_pictures import Shown, out_picture, out_still

    car = find_car(store, name)
    there = shots(car)
    if not 0 < number <= len(there):
        raise _no_picture(car.name, number)
    shot = there[number - 1]
    if shot.sha256 is None:
        picture_ = next(one for one in car.pictures if one.id == shot.source)
        return out_picture(store, car, picture_).jpeg
    data = bytes_of(store, car, shot)
    made = None if data is None else out_still(store, car, Shown(shot.source, shot.at_s, shot.sha256), data)
    if made is None:
        raise _no_picture(car.name, number)
    return made.jpeg


def _no_picture(car: str, number: int) -> NotFoundError:
    return NotFoundError(
        Problem(
            slug="media-gone",
            where=f"{car}, picture {number}",
            found="there is no such picture, or its file is gone",
            allowed="the pictures that the page lists",
            advice="Load the page again.",
        )
    )


def _number(text: str, count: int) -> int:
    return min(max(int(text), 1), max(count, 1)) if text.isascii() and text.isdigit() and len(text) < 7 else 1


def _box(edges: Any) -> Box:
    try:
        return Box(*edges)
    except ValueError as error:
        raise _not_taken(str(error)[:200], "a box within the picture") from error


def _lookings(request: Request) -> Lookings:
    state = request.app.state
    if not hasattr(state, "lookings"):
        state.lookings = Lookings(state.store)
    lookings: Lookings = state.lookings
    return lookings


async def _sent(request: Request, kind: type[T]) -> T:
    body = bytearray()
    async for piece in request.stream():
        body += piece
        if len(body) > _LONGEST_SENT:
            raise _not_taken(f"more than {_LONGEST_SENT:,} bytes", "one change at a time")
    try:
        return msgspec.json.decode(bytes(body), type=kind)
    except (msgspec.DecodeError, msgspec.ValidationError, UnicodeDecodeError) as trouble:
        raise _not_taken(str(trouble)[:200], "JSON as the page of the masks sends it") from None


def _not_taken(found: str, allowed: str) -> UserError:
    return UserError(
        Problem(
            slug="web-sent",
            where="what was sent",
            found=found,
            allowed=allowed,
            advice="Load the page again, and make the change there.",
        )
    )


ROUTES = (
    Route("/cars/{car}/masks", page),
    Route("/cars/{car}/masks.json", page),
    Route("/cars/{car}/masks/picture/{number:int}", picture),
    Route("/cars/{car}/masks/out/{number:int}", going_out),
    Route("/cars/{car}/masks/draw", drawn, methods=["POST"]),
    Route("/cars/{car}/masks/decide", decided, methods=["POST"]),
    Route("/cars/{car}/masks/look", look, methods=["POST"]),
)
