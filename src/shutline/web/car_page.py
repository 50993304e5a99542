"""One car: the film, its words, the thread, the Plan and all that was found, moving together."""

from __future__ import annotations

import hashlib
import math
from enum import StrEnum
from typing import Any, TypeVar
from urllib.parse import urlencode

from starlette.concurrency import run_in_threadpool
from starlette.datastructures import QueryParams
from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Route

from shutline.car.errors import Problem, UserError
from shutline.car.findings import Drive
from shutline.car.plan import Layout
from shutline.usecases.car_found import run_at, runs, view_found
from shutline.usecases.car_plan import body_of, view_plan, view_sheet
from shutline.usecases.car_view import CarView, captions_of, view_car, view_words
from shutline.usecases.look import show_car
from shutline.web.pages import answer, as_json, packed, render, whole_number

T = TypeVar("T", bound=StrEnum)

_SVG = "image/svg+xml"


async def twin(request: Request) -> Response:
    """Send the car as `shutline show NAME --json` prints it."""
    return as_json(await run_in_threadpool(show_car, request.app.state.store, request.path_params["car"]))


async def page(request: Request) -> Response:
    """Show a car."""
    asked = request.query_params

    def laid_out() -> Response:
        view = view_car(
            request.app.state.store,
            request.path_params["car"],
            recording=_recording(asked),
            struck=asked.get("struck") == "shown",
            first=whole_number(asked.get("first", "1"), "first"),
            stretch=whole_number(asked.get("stretch", "0"), "stretch"),
            at_s=_moment(asked),
        )
        return answer(
            request.scope,
            "car.html.j2",
            view,
            moving=moving(view),
            at_s=_moment(asked),
            runs=runs(view.found.count),
            elsewhere=lambda number: _elsewhere(view, number),
            sheet=sheet_of(view),
        )

    return await run_in_threadpool(laid_out)


async def found(request: Request) -> Response:
    """Send a run of the findings; a piece of the page."""
    asked = request.query_params

    def piece() -> Response:
        run = view_found(
            request.app.state.store,
            request.path_params["car"],
            first=whole_number(asked.get("first", "1"), "first"),
            recording=_recording(asked) or 1,
        )
        return render(request.scope, "car_found.html.j2", {"run": run})

    return await run_in_threadpool(piece)


async def words(request: Request) -> Response:
    """Send a run of the words; a piece of the page."""
    asked = request.query_params

    def piece() -> Response:
        said = view_words(
            request.app.state.store,
            request.path_params["car"],
            recording=_recording(asked) or 1,
            stretch=whole_number(asked.get("stretch", "0"), "stretch"),
        )
        return render(request.scope, "car_said.html.j2", {"said": said, "count": 0})

    return await run_in_threadpool(piece)


async def plan(request: Request) -> Response:
    """Send the Plan as JSON, without its sheet, or as a drawing with it, for a page without script."""
    asked = request.query_params
    whole = request.url.path.endswith(".svg")

    def drawn() -> Response:
        form = asked.get("form", "near")
        view = view_plan(
            request.app.state.store,
            request.path_params["car"],
            recording=_recording(asked),
            layout=Layout.FOLDED if form == "folded" else Layout.STRIP,
            far=form == "far",
            whole=whole,
        )
        return packed(request.scope, Response(view.figure, media_type=_SVG) if whole else as_json(view))

    return await run_in_threadpool(drawn)


async def sheet(request: Request) -> Response:
    """Send the sheet of a body; a browser keeps it, and asks whether it is still so."""
    asked = request.query_params

    def drawn() -> str:
        doors = whole_number(asked["doors"], "doors") if "doors" in asked else None
        body = (asked.get("body"), doors, _one_of(Drive, asked.get("drive", Drive.RHD), "drive"))
        return view_sheet(body, _one_of(Layout, request.path_params["layout"], "layout"))

    text = await run_in_threadpool(drawn)
    tag = f'"{hashlib.sha256(text.encode()).hexdigest()[:20]}"'
    headers = {"etag": tag, "cache-control": "private, no-cache"}
    if request.headers.get("if-none-match") == tag:
        return Response(status_code=304, headers=headers)
    return packed(request.scope, Response(text, media_type=_SVG, headers=headers))


async def captions(request: Request) -> Response:
    """Send the captions of a recording."""
    text = await run_in_threadpool(
        captions_of,
        request.app.state.store,
        request.path_params["car"],
        recording=whole_number(request.path_params["number"], "recording"),
    )
    return Response(text, media_type="text/vtt")


def moving(view: CarView) -> dict[str, Any]:
    """Give what the script needs to move film, words and findings together, in few characters.

    ``found``: of each finding, in the order of their numbers, recording, start and end (seconds); ``struck``: the same
    of those struck, by id; ``number``: the recording shown; ``stamp``: of which state of the car the page is.
    """
    return {
        "found": [[number, _hundredths(start), _hundredths(end)] for number, start, end in view.moments],
        "struck": {
            line.entry.id: [line.recording, _hundredths(line.start_s), _hundredths(line.end_s)] for line in view.struck
        },
        "number": view.number,
        "stamp": view.found.changed_at,
    }


def sheet_of(view: CarView) -> str:
    """Give where the sheet of a car's body is, but for how it is laid out."""
    body, doors, drive = body_of(view.car)[0]
    told = {"body": body, "doors": doors, "drive": drive.value}
    return urlencode({name: value for name, value in told.items() if value is not None})


def _elsewhere(view: CarView, number: int) -> str:
    """Give where a finding is that is not on this page, for a browser without script."""
    if view.found.first <= number <= view.found.last:
        return ""
    return f"?recording={view.number}&first={run_at(view.found.count, number)[0]}"


def _hundredths(seconds: float | None) -> float | None:
    return None if seconds is None else round(seconds, 2)


def _recording(asked: QueryParams) -> int | None:
    return whole_number(asked["recording"], "recording") if "recording" in asked else None


def _moment(asked: QueryParams) -> float | None:
    text = asked.get("at")
    if text is None:
        return None
    try:
        seconds = float(text)
    except ValueError:
        seconds = math.nan
    if not 0 <= seconds < 1e6:
        raise _odd("at", text, "seconds from the start of the recording, 0 or more")
    return seconds


def _one_of(kind: type[T], text: str, name: str) -> T:
    found = next((member for member in kind if member.value == text), None)
    if found is None:
        raise _odd(name, text, ", ".join(member.value for member in kind))
    return found


def _odd(name: str, text: str, allowed: str) -> UserError:
    return UserError(
        Problem(
            slug="web-asked",
            where=f"{name} in the address",
            found=repr(text[:40]),
            allowed=allowed,
            advice="Follow the links of the page.",
        )
    )


ROUTES = (
    Route("/cars/{car}.json", twin),
    Route("/cars/{car}", page),
    Route("/cars/{car}/found", found),
    Route("/cars/{car}/words", words),
    Route("/cars/{car}/plan.json", plan),
    Route("/cars/{car}/plan.svg", plan),
    Route("/cars/{car}/captions/{number}.vtt", captions),
    Route("/sheets/{layout}.svg", sheet),
)
