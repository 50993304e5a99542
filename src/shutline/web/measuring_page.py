"""Measuring on a car's pictures by places that are picked or typed, by eye against a drawn scale, by keyed colours."""

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
from shutline.usecases.marker_card import BLISTERS, blister_drawing, blister_scale, marker_card_pdf
from shutline.usecases.measuring import (
    Measure,
    MeasuredPlace,
    Picked,
    measure_on_car,
    measuring_view,
    picture_jpeg,
)
from shutline.usecases.readings import place_words, value_words
from shutline.web.forms import json_of
from shutline.web.pages import answer, as_json, packed

if TYPE_CHECKING:
    from shutline.usecases.measuring import MeasuringView

_VIEW_PX = 2000

KINDS = {
    Measure.LENGTH: "a length",
    Measure.AREA: "an area",
    Measure.RUST: "rust within an outline",
    Measure.COLOUR: "the colour across a shut line",
    Measure.BLISTERS: "blisters, by eye",
    Measure.COLOURS: "two colours from a spectrophotometer",
}
_ANYWHERE = (Measure.BLISTERS, Measure.COLOURS)
"""What needs no picture."""


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
    scale = blister_scale()
    return answer(
        request.scope,
        "measuring.html.j2",
        found,
        car={"name": found.car, "title": found.title},
        number=number,
        shown=shown,
        kinds=KINDS if shown else {kind: KINDS[kind] for kind in _ANYWHERE},
        scale=scale,
        parts=[(key, part.label) for key, part in vocabulary().parts.items()],
        taken=_taken(found, shown.id) if shown else [],
        rated=_taken(found, ""),
    )


async def picture(request: Request) -> Response:
    """Send a picture as it is, upright, for the workbench alone."""
    car, number = request.path_params["car"], request.path_params["number"]
    make = partial(picture_jpeg, request.app.state.store, car, int(number), longest_px=_VIEW_PX)
    data = await run_in_threadpool(make)
    return Response(data, media_type="image/jpeg", headers={"cache-control": "private, max-age=3600"})


async def blisters(request: Request) -> Response:
    """Send one drawing of the scale of blisters."""
    drawn = blister_drawing(request.path_params["density"], request.path_params["size"])
    headers = {"cache-control": "private, max-age=86400"}
    return packed(request.scope, Response(drawn, media_type="image/svg+xml", headers=headers))


async def card(request: Request) -> Response:
    """Send a card, or the scale of blisters, as a PDF to be printed."""
    name = request.path_params["name"]
    pdf = await run_in_threadpool(marker_card_pdf, name)
    file = "blister-scale" if name == BLISTERS else f"marker-card-{name}"
    headers = {"content-disposition": f'attachment; filename="{file}.pdf"'}
    return Response(pdf, media_type="application/pdf", headers=headers)


async def measure(request: Request) -> Response:
    """Measure what was picked, and keep it where a part is named."""
    sent = await json_of(request, ToMeasure)
    do = partial(
        measure_on_car,
        request.app.state.store,
        request.path_params["car"],
        sent.picture,
        sent.picked,
        keep=sent.keep,
        author=request.state.session.author,
    )
    made = await run_in_threadpool(do)
    return as_json(made, status=201 if made.kept else 200)


def _taken(found: MeasuringView, picture_: str) -> list[dict[str, str]]:
    """Give the readings that were taken off a picture in words, or at the car where none is named; no struck ones."""
    return [
        {"figure": value_words(one.reading), "place": place_words(one.reading)}
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
    Route("/cars/{car}/measuring/blisters/{density:int}-{size:int}.svg", blisters),
    Route("/cars/{car}/measuring/card/{name}.pdf", card),
    Route("/cars/{car}/measuring/measure", measure, methods=["POST"]),
)
