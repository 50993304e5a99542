"""Measuring on a car's pictures: places picked by mouse, touch or keys, or typed; the picture stays as it is."""

from __future__ import annotations

from functools import partial
from typing import TYPE_CHECKING

import msgspec
from starlette.concurrency import run_in_threadpool
from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Route

from shutline.car.errors import NotFoundError, Problem
from shutline.car.vocabulary import vocabulary
from shutline.usecases.marker_card import marker_card_pdf
from shutline.usecases.measuring import (
    Measure,
    MeasuredPlace,
    Picked,
    measure_on_picture,
    measuring_view,
    picture_jpeg,
)
from shutline.usecases.readings import figure_words, place_words
from shutline.web.forms import json_of
from shutline.web.pages import answer, as_json

if TYPE_CHECKING:
    from shutline.usecases.measuring import MeasuringView

_VIEW_PX = 2000

KINDS = {
    Measure.LENGTH: "a length",
    Measure.AREA: "an area",
    Measure.RUST: "rust within an outline",
    Measure.COLOUR: "the colour across a shut line",
}


class ToMeasure(msgspec.Struct, forbid_unknown_fields=True):
    """What is sent to be measured; kept where `keep` names a part."""

    picture: str
    picked: Picked
    keep: MeasuredPlace | None = None


async def page(request: Request) -> Response:
    """Show a picture to measure on; `show` in the address is its number, from 1."""
    found = await run_in_threadpool(measuring_view, request.app.state.store, request.path_params["car"])
    number = _number(request.query_params.get("show", "1"), len(found.pictures))
    shown = found.pictures[number - 1] if found.pictures else None
    return answer(
        request.scope,
        "measuring.html.j2",
        found,
        car={"name": found.car, "title": found.title},
        number=number,
        shown=shown,
        kinds=KINDS,
        parts=[(key, part.label) for key, part in vocabulary().parts.items()],
        taken=_taken(found, shown.id if shown else ""),
    )


async def picture(request: Request) -> Response:
    """Send a picture as it is, upright, for the workbench alone."""
    car, number = request.path_params["car"], request.path_params["number"]
    make = partial(picture_jpeg, request.app.state.store, car, int(number), longest_px=_VIEW_PX)
    data = await run_in_threadpool(make)
    return Response(data, media_type="image/jpeg", headers={"cache-control": "private, max-age=3600"})


async def card(request: Request) -> Response:
    """Send the marker card as a PDF to be printed."""
    name = request.path_params["name"]
    pdf = await run_in_threadpool(marker_card_pdf, name)
    headers = {"content-disposition": f'attachment; filename="marker-card-{name}.pdf"'}
    return Response(pdf, media_type="application/pdf", headers=headers)


async def measure(request: Request) -> Response:
    """Measure what was picked, and keep it where a part is named."""
    sent = await json_of(request, ToMeasure)
    do = partial(
        measure_on_picture,
        request.app.state.store,
        request.path_params["car"],
        sent.picture,
        sent.picked,
        keep=sent.keep,
        author=request.state.session.author,
    )
    made = await run_in_threadpool(do)
    return as_json(made, status=200 if made.kept is None else 201)


def _taken(found: MeasuringView, picture_: str) -> list[dict[str, str]]:
    """Give the readings that were taken off a picture in words, struck ones left out."""
    return [
        {"figure": figure_words(one.reading), "place": place_words(one.reading), "quantity": one.reading.quantity}
        for one in found.readings
        if one.reading.source == picture_ and one.state != "struck"
    ]


def _number(text: str, count: int) -> int:
    if not (text.isascii() and text.isdigit() and len(text) < 7):
        raise NotFoundError(
            Problem("measure-picture", f"picture {text[:20]!r}", "it is no number", "1 on", "Load the page again.")
        )
    return min(max(int(text), 1), max(count, 1))


ROUTES = (
    Route("/cars/{car}/measuring", page),
    Route("/cars/{car}/measuring.json", page),
    Route("/cars/{car}/measuring/picture/{number:int}", picture),
    Route("/cars/{car}/measuring/card/{name}.pdf", card),
    Route("/cars/{car}/measuring/measure", measure, methods=["POST"]),
)
