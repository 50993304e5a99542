"""Pages and their JSON twins: the same record, shown or sent."""

from __future__ import annotations

import gzip
import json
from collections.abc import Mapping
from functools import cache
from typing import TYPE_CHECKING, Any

from starlette.datastructures import Headers
from starlette.responses import HTMLResponse, Response
from starlette.types import Scope

from shutline.car.errors import Problem, UserError

if TYPE_CHECKING:
    from jinja2 import Environment

    from shutline.web.access import Session

_LONG = 4_000
"""Bytes from which an answer is worth packing."""


def answer(scope: Scope, template: str, record: Any, **more: object) -> Response:
    """Send a record as JSON where the address ends so, else as a page; `more` is for the page alone."""
    if str(scope["path"]).endswith(".json"):
        return packed(scope, as_json(record))
    return render(scope, template, {"it": record, **more})


def as_json(record: Any, *, status: int = 200) -> Response:
    """Send a record as JSON, as the command line prints it."""
    import msgspec

    try:
        body = msgspec.json.encode(record)
    except UnicodeEncodeError:
        # Odd file names bring lone surrogates, which are no UTF-8: written by their number.
        body = json.dumps(msgspec.to_builtins(record)).encode("ascii")
    return Response(body, media_type="application/json", status_code=status)


def packed(scope: Scope, response: Response) -> Response:
    """Pack an answer that is long where the browser can unpack it: a phone may be far from the machine."""
    if len(response.body) < _LONG or "gzip" not in Headers(scope=scope).get("accept-encoding", ""):
        return response
    response.body = gzip.compress(bytes(response.body), compresslevel=4, mtime=0)
    response.headers["content-length"] = str(len(response.body))
    response.headers["content-encoding"] = "gzip"
    response.headers["vary"] = "accept-encoding"
    return response


def render(scope: Scope, template: str, context: Mapping[str, object], *, status: int = 200) -> Response:
    """Set a page."""
    session: Session | None = scope.get("state", {}).get("session")
    text = _environment().get_template(template).render(session=session, path=scope["path"], **context)
    return packed(scope, HTMLResponse(text.encode("utf-8", "replace"), status_code=status))


def prepare(*templates: str) -> None:
    """Read templates before they are asked for."""
    for template in templates:
        _environment().get_template(template)


@cache
def _environment() -> Environment:
    from jinja2 import Environment, PackageLoader, StrictUndefined

    from shutline.usecases.yard import counted
    from shutline.web.wording import day, moment, said

    environment = Environment(
        loader=PackageLoader("shutline.web", "templates"),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
        keep_trailing_newline=True,
    )
    environment.filters["moment"] = moment
    environment.filters["day"] = day
    environment.globals["said"] = said
    environment.globals["counted"] = counted
    return environment


def whole_number(text: str, name: str) -> int:
    """Read a whole number out of an address.

    Raises
    ------
    UserError
        It is none (slug ``web-asked``).
    """
    if text.isascii() and text.isdigit() and len(text) <= 9:
        return int(text)
    raise UserError(
        Problem(
            slug="web-asked",
            where=f"{name} in the address",
            found=repr(text[:40]),
            allowed="a whole number from 0",
            advice="Follow the links of the page.",
        )
    )
