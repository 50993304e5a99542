"""What is covered in the pictures and films of a car that go out: looked at, moved, drawn, confirmed and struck."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import msgspec
from starlette.concurrency import run_in_threadpool
from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Route

from shutline.car.errors import NotFoundError, Problem
from shutline.car.masks import Box, BoxAt, KeptMask, MaskKind
from shutline.usecases.look import find_car
from shutline.usecases.mask_looks import Looked, look_for_masks
from shutline.usecases.masks import CarMasks, add_mask, car_masks, decide_mask
from shutline.web.forms import json_of, not_taken
from shutline.web.pages import answer, as_json
from shutline.web.under_way import Going, UnderWay

if TYPE_CHECKING:
    from shutline.store import Store
    from shutline.usecases.progress import Stop, Tell

_VIEW_PX = 1600
_QUALITY = 88

KINDS = {
    MaskKind.MARK: "registration mark",
    MaskKind.CHASSIS: "chassis number",
    MaskKind.FACE: "face",
    MaskKind.OTHER: "something else",
}


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
class MasksNow:
    """The masks of a car, and the look that goes on."""

    masks: CarMasks
    looking: Going[Looked] | None = None


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
    sent = await json_of(request, Drawn)
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
    sent = await json_of(request, Decided)
    if sent.action not in {"confirm", "strike", "restore", "amend"}:
        raise not_taken(f"the action {sent.action[:40]!r}", "confirm, strike, restore or amend")
    if sent.action != "amend" and (sent.box is not None or sent.kind is not None):
        raise not_taken(f"a box or a kind with {sent.action}", "them with amend alone")
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
    sent = await json_of(request, ToLook)
    found = await run_in_threadpool(car_masks, request.app.state.store, request.path_params["car"])
    store: Store = request.app.state.store

    def work(tell: Tell, stop: Stop) -> Looked:
        return look_for_masks(store, found.car, films=sent.films, tell=tell, stop=stop)

    return as_json(MasksNow(found, _lookings(request).begin(found.car, work)), status=202)


async def stopped(request: Request) -> Response:
    """Stop the look at the next good moment; what was looked at is kept."""
    found = await run_in_threadpool(find_car, request.app.state.store, request.path_params["car"])
    return as_json(_lookings(request).stop(found.name), status=202)


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
        raise not_taken(str(error)[:200], "a box within the picture") from error


def _lookings(request: Request) -> UnderWay[Looked]:
    lookings: UnderWay[Looked] = request.app.state.lookings
    return lookings


ROUTES = (
    Route("/cars/{car}/masks", page),
    Route("/cars/{car}/masks.json", page),
    Route("/cars/{car}/masks/picture/{number:int}", picture),
    Route("/cars/{car}/masks/out/{number:int}", going_out),
    Route("/cars/{car}/masks/draw", drawn, methods=["POST"]),
    Route("/cars/{car}/masks/decide", decided, methods=["POST"]),
    Route("/cars/{car}/masks/look", look, methods=["POST"]),
    Route("/cars/{car}/masks/stop", stopped, methods=["POST"]),
)
