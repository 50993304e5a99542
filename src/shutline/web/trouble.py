"""Errors on the web: one shape, as JSON where JSON was asked for, else as a page with the same words."""

from __future__ import annotations

from dataclasses import asdict

from starlette.datastructures import Headers
from starlette.responses import JSONResponse, Response
from starlette.types import Scope

from shutline.car.errors import BrokenWorldError, NotFoundError, Problem, ShutlineError, StoppedError
from shutline.web.pages import render


def wants_json(scope: Scope) -> bool:
    """Tell whether a request asks for JSON: by its address, or because no page can show the answer."""
    accept = Headers(scope=scope).get("accept", "")
    return str(scope["path"]).endswith(".json") or "text/html" not in accept


def refusal(scope: Scope, status: int, problem: Problem) -> Response:
    """Say no, and why."""
    if wants_json(scope):
        return JSONResponse({"error": asdict(problem)}, status_code=status)
    return render(scope, "trouble.html.j2", {"problem": problem, "status": status}, status=status)


def status_of(error: ShutlineError) -> int:
    """Give the HTTP status of an error."""
    if isinstance(error, NotFoundError):
        return 404
    if isinstance(error, BrokenWorldError):
        return 503
    if isinstance(error, StoppedError):
        return 409
    return 409 if hasattr(error, "expected_version") else 400
