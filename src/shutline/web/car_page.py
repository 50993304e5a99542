"""One car: the film, its words, the thread, the Plan and all that was found, moving together."""

from __future__ import annotations

import gzip
from typing import Any

from markupsafe import Markup
from starlette.concurrency import run_in_threadpool
from starlette.requests import Request
from starlette.responses import HTMLResponse, Response
from starlette.routing import Route

from shutline.car.plan import Layout
from shutline.usecases.car_view import CarView, captions_of, lay_out, view_car
from shutline.usecases.look import show_car
from shutline.web.pages import answer, as_json, whole_number


async def twin(request: Request) -> Response:
    """Send the car as `shutline show NAME --json` prints it."""
    return as_json(await run_in_threadpool(show_car, request.app.state.store, request.path_params["car"]))


async def page(request: Request) -> Response:
    """Show a car."""
    asked = request.query_params
    view = await run_in_threadpool(
        view_car,
        request.app.state.store,
        request.path_params["car"],
        recording=whole_number(asked["recording"], "recording") if "recording" in asked else None,
        struck=asked.get("struck") == "shown",
    )
    # The drawing is our own, and escaped where it holds anything of the car's.
    figure = Markup(view.figure)  # noqa: S704
    return packed(request, answer(request.scope, "car.html.j2", view, figure=figure, moving=moving(view)))


async def folded(request: Request) -> Response:
    """Send the Plan folded in two rows, for a narrow screen; a piece of the page."""
    number = whole_number(request.query_params.get("recording", "1"), "recording")

    def fold() -> str:
        shown = show_car(request.app.state.store, request.path_params["car"])
        return lay_out(shown, number=number, layout=Layout.FOLDED).figure

    return packed(request, HTMLResponse(await run_in_threadpool(fold)))


async def captions(request: Request) -> Response:
    """Send the captions of a recording."""
    text = await run_in_threadpool(
        captions_of,
        request.app.state.store,
        request.path_params["car"],
        recording=whole_number(request.path_params["number"], "recording"),
    )
    return Response(text, media_type="text/vtt")


def packed(request: Request, response: Response) -> Response:
    """Pack an answer where the browser can unpack it: the drawing is long, and a phone may be far from the machine."""
    if "gzip" not in request.headers.get("accept-encoding", ""):
        return response
    response.body = gzip.compress(bytes(response.body), compresslevel=4, mtime=0)
    response.headers["content-length"] = str(len(response.body))
    response.headers["content-encoding"] = "gzip"
    response.headers["vary"] = "accept-encoding"
    return response


def moving(view: CarView) -> dict[str, Any]:
    """Give what the script needs to move film, words and Plan together, in few characters.

    ``places``: keys of the Plan of each place, and those it may be at; ``visits``: start, end (seconds), place;
    ``found``: by id, place, recording, start and end; ``words``: stretch by stretch the start of each word, hundredths
    of a second after that of the one before; ``silent``: keys of what nobody spoke of; ``number``: the recording shown.
    """
    lines = (*view.found, *view.struck)
    return {
        "places": [[place.keys, place.maybe] for place in view.places],
        "visits": [[round(start, 2), round(end, 2), place] for start, end, place in view.visits],
        "found": {
            line.entry.id: [
                line.place,
                line.recording,
                None if line.start_s is None else round(line.start_s, 2),
                None if line.end_s is None else round(line.end_s, 2),
            ]
            for line in lines
        },
        "words": [_steps(stretch.starts_cs) for stretch in view.words],
        "silent": view.silent_keys,
        "number": view.number,
    }


def _steps(starts: tuple[int, ...]) -> list[int]:
    return [start - before for start, before in zip(starts, (0, *starts), strict=False)]


ROUTES = (
    Route("/cars/{car}.json", twin),
    Route("/cars/{car}", page),
    Route("/cars/{car}/plan-folded", folded),
    Route("/cars/{car}/captions/{number}.vtt", captions),
)
