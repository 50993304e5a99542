"""The pictures of a car by part: stills, pictures taken by hand, the contact sheet of the part, clips to hand out."""

from __future__ import annotations

import tempfile
from pathlib import Path
from typing import TYPE_CHECKING

import msgspec
from starlette.background import BackgroundTask
from starlette.concurrency import run_in_threadpool
from starlette.requests import Request
from starlette.responses import FileResponse, Response
from starlette.routing import Route

from shutline.car.errors import NotFoundError, Problem
from shutline.car.recordings import Kind
from shutline.usecases.contact_sheet import contact_sheet
from shutline.usecases.joined_pictures import car_pictures, picture_of, place_picture, show_with_picture
from shutline.usecases.look import find_car
from shutline.usecases.published_films import write_clip, write_film
from shutline.web.forms import json_of
from shutline.web.outputs_page import disposition
from shutline.web.pages import answer, as_json

if TYPE_CHECKING:
    from collections.abc import Callable

    from shutline.car.carfile import Recording
    from shutline.publish.contact_sheet import SheetForm
    from shutline.store import Store
    from shutline.usecases.published_films import FilmWritten

_VIEW_PX, _QUALITY = 1000, 85
_FORMS: dict[str, tuple[SheetForm, str]] = {
    "png": ("png", "image/png"),
    "jpg": ("jpg", "image/jpeg"),
    "pdf": ("pdf", "application/pdf"),
}


class Placed(msgspec.Struct, forbid_unknown_fields=True):
    """What is sent to say which part a picture is of; no place for none in particular."""

    picture: str
    place: str | None
    version: int


class Shows(msgspec.Struct, forbid_unknown_fields=True):
    """What is sent to let a finding stand on a picture, or no longer; `version` is the finding's."""

    picture: str
    finding: str
    version: int
    shows: bool = True


async def page(request: Request) -> Response:
    """Show the pictures of a car by part."""
    from shutline.usecases.at_the_car import places

    store, car = request.app.state.store, request.path_params["car"]
    view = await run_in_threadpool(car_pictures, store, car)
    films = await run_in_threadpool(_films, store, car)
    shown = {"name": view.car, "title": view.title}
    findings = {found.id: (part.name, found) for part in view.parts for found in part.findings}
    return answer(request.scope, "pictures.html.j2", view, car=shown, places=places(), findings=findings, films=films)


async def placed(request: Request) -> Response:
    """Say which part a picture is of."""
    sent = await json_of(request, Placed)
    done = await run_in_threadpool(
        place_picture,
        request.app.state.store,
        request.path_params["car"],
        sent.picture,
        sent.place,
        version=sent.version,
        author=request.state.session.author,
    )
    return as_json(done)


async def shows(request: Request) -> Response:
    """Let a finding stand on a picture, or no longer."""
    sent = await json_of(request, Shows)
    done = await run_in_threadpool(
        show_with_picture,
        request.app.state.store,
        request.path_params["car"],
        sent.picture,
        sent.finding,
        shows=sent.shows,
        version=sent.version,
        author=request.state.session.author,
    )
    return as_json(done)


async def picture(request: Request) -> Response:
    """Send a picture taken by hand as a browser can show it; within the house, so nothing in it is covered."""
    data = await run_in_threadpool(
        _seen, request.app.state.store, request.path_params["car"], request.path_params["picture"]
    )
    return Response(data, media_type="image/jpeg", headers={"cache-control": "private, max-age=86400"})


async def sheet(request: Request) -> Response:
    """Send the contact sheet of a place, made now; with `keep` in the address as a download."""
    if request.path_params["form"] not in _FORMS:
        raise NotFoundError(_no_form(request.path_params["form"]))
    form, kind = _FORMS[request.path_params["form"]]
    place = request.path_params["place"]
    made = await run_in_threadpool(contact_sheet, request.app.state.store, request.path_params["car"], place, form=form)
    called = f"{made.name} - contact sheet.{form}"
    headers = {
        "cache-control": "private, no-store",
        "content-disposition": disposition(called, f"sheet.{form}", keep="keep" in request.query_params),
    }
    return Response(made.data, media_type=kind, headers=headers)


async def clip(request: Request) -> Response:
    """Hand out a clip of a finding, made now: as it is from the key frame before, or with `exact` in the address."""
    store, car, finding = request.app.state.store, request.path_params["car"], request.path_params["finding"]
    exact = "exact" in request.query_params

    def make(out: Path) -> FilmWritten:
        return write_clip(store, car, finding, exact=exact, out=out)

    return await _handed_out(make, f"clip {finding[:8]}.mp4")


async def film(request: Request) -> Response:
    """Hand out a copy of a recording with chapters, and captions unless `bare` is in the address."""
    store, car, recording = request.app.state.store, request.path_params["car"], request.path_params["recording"]
    captions = "bare" not in request.query_params

    def make(out: Path) -> FilmWritten:
        return write_film(store, car, recording=recording, captions=captions, out=out)

    return await _handed_out(make, f"{car} film.mp4")


async def _handed_out(make: Callable[[Path], FilmWritten], called: str) -> Response:
    """Make a film in a folder of its own, send it, and take the folder away."""
    folder = tempfile.TemporaryDirectory(prefix="shutline-clip-")
    out = Path(folder.name) / "film.mp4"
    try:
        await run_in_threadpool(make, out)
    except BaseException:
        folder.cleanup()
        raise
    return FileResponse(
        out,
        media_type="video/mp4",
        headers={
            "content-disposition": disposition(called, "film.mp4", keep=True),
            "cache-control": "private, no-store",
        },
        background=BackgroundTask(folder.cleanup),
    )


def _films(store: Store, car: str) -> list[Recording]:
    return [one for one in find_car(store, car).recordings if one.original.kind is Kind.FILM]


def _no_form(form: str) -> Problem:
    return Problem(
        slug="sheet-form",
        where="the contact sheet's address",
        found=repr(form[:20]),
        allowed="an address that ends in .png, .jpg or .pdf",
        advice="Follow the links of the page.",
    )


def _seen(store: Store, car: str, text: str) -> bytes:
    from shutline.capture.originals import original_path
    from shutline.publish.bare import bare_picture

    kept = picture_of(find_car(store, car), text)
    sha256 = kept.original.sha256
    path = store.linked_path(sha256) or original_path(store.originals, sha256)
    made = bare_picture(path.read_bytes(), longest_side_px=_VIEW_PX, quality=_QUALITY) if path.is_file() else None
    if made is None:
        raise NotFoundError(
            Problem(
                slug="picture-gone",
                where=kept.original.name,
                found="its original is gone, or can no longer be read as a picture",
                allowed="pictures whose originals are where they were",
                advice="If it was linked or moved, put it back where it was.",
            )
        )
    return made.jpeg


ROUTES = (
    Route("/cars/{car}/pictures", page),
    Route("/cars/{car}/pictures.json", page),
    Route("/cars/{car}/pictures/place", placed, methods=["POST"]),
    Route("/cars/{car}/pictures/shows", shows, methods=["POST"]),
    Route("/cars/{car}/pictures/by-hand/{picture}", picture),
    Route("/cars/{car}/pictures/sheet/{place}.{form}", sheet),
    Route("/cars/{car}/pictures/clip/{finding}", clip),
    Route("/cars/{car}/pictures/film/{recording}", film),
)
