"""Changes that are sent: as JSON by a script, or as a plain form by a browser without one; either once, and no more."""

from __future__ import annotations

from typing import TYPE_CHECKING, TypeVar
from urllib.parse import parse_qs

import msgspec
from starlette.responses import RedirectResponse, Response

from shutline.car.errors import Problem, UserError
from shutline.web.guard import FORM, LONGEST_FORM

if TYPE_CHECKING:
    from starlette.requests import Request

T = TypeVar("T")


def is_form(request: Request) -> bool:
    """Tell whether a plain form was sent; its proof was looked at before it came here."""
    return request.headers.get("content-type", "").partition(";")[0].strip().lower() == FORM


async def body_of(request: Request, *, most: int = LONGEST_FORM) -> bytes:
    """Give what was sent.

    Raises
    ------
    UserError
        It is longer than `most` bytes (slug ``web-sent``).
    """
    body = bytearray()
    async for piece in request.stream():
        body += piece
        if len(body) > most:
            allowed = "one change at a time" if most == LONGEST_FORM else f"at most {most:,} bytes"
            raise not_taken(f"more than {most:,} bytes", allowed)
    return bytes(body)


async def form_of(request: Request, *, most: int = LONGEST_FORM) -> dict[str, list[str]]:
    """Give the fields of a plain form, each with its values; raises as `body_of` does."""
    return parse_qs((await body_of(request, most=most)).decode("utf-8", "replace"), keep_blank_values=True)


async def json_of(request: Request, kind: type[T], *, most: int = LONGEST_FORM) -> T:
    """Give what a script sent, as a record; raises UserError (slug ``web-sent``) for anything else."""
    try:
        return msgspec.json.decode(await body_of(request, most=most), type=kind)
    except (msgspec.DecodeError, msgspec.ValidationError, UnicodeDecodeError) as trouble:
        raise not_taken(str(trouble)[:200], "JSON as our own pages send it") from None


def file_name(text: str, *, instead: str) -> str:
    r"""Give the last part of a file's name, as it is shown; it is never used as a path.

    >>> file_name("../../sill <b>.jpg", instead="picture"), file_name("\x07", instead="spoken note")
    ('sill <b>.jpg', 'spoken note')
    """
    clean = "".join(sign for sign in text if sign.isprintable()).replace("\\", "/").rsplit("/", 1)[-1].strip()[:120]
    return clean if clean.strip(".") else instead


def see(address: str) -> Response:
    """Send a browser without script on to what there is to see now."""
    return RedirectResponse(address, status_code=303)


def whole_version(text: str) -> int | None:
    """Read the version a form was filled in for; None where it has none."""
    if not text:
        return None
    if text.isascii() and text.isdigit() and len(text) <= 9:
        return int(text)
    raise not_taken(f"version {text[:20]!r}", "a whole number")


def not_taken(found: str, allowed: str) -> UserError:
    """Say that this is none of what our pages send."""
    return UserError(
        Problem(
            slug="web-sent",
            where="what was sent",
            found=found,
            allowed=allowed,
            advice="Load the page again, and make the change there.",
        )
    )
