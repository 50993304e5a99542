"""Films, sounds, stills and pictures, large or small, sent from where they lie; a part of a film without the rest."""

from __future__ import annotations

import re
from pathlib import Path
from typing import TYPE_CHECKING

from starlette.concurrency import run_in_threadpool
from starlette.requests import Request
from starlette.responses import FileResponse, Response
from starlette.routing import Route

from shutline.car.errors import NotFoundError, Problem
from shutline.usecases.small_pictures import small_of

if TYPE_CHECKING:
    from shutline.store import Store

_SHA256 = re.compile(r"[0-9a-f]{64}")

# What a browser is told a file is; only these are ever named, so that no original can pass for a page.
_TYPES = {
    ".mp4": "video/mp4",
    ".m4v": "video/mp4",
    ".mov": "video/mp4",
    ".mkv": "video/x-matroska",
    ".webm": "video/webm",
    ".avi": "video/x-msvideo",
    ".weba": "audio/webm",
    ".m4a": "audio/mp4",
    ".mp3": "audio/mpeg",
    ".ogg": "audio/ogg",
    ".opus": "audio/ogg",
    ".flac": "audio/flac",
    ".wav": "audio/wav",
    ".jpg": "image/jpeg",
    ".jpeg": "image/jpeg",
    ".png": "image/png",
    ".webp": "image/webp",
}
_UNKNOWN = "application/octet-stream"
_A_YEAR = "private, max-age=31536000, immutable"


async def original(request: Request) -> Response:
    """Send an original, whole or the range asked for; it is named by its bytes, so a browser may keep it."""
    path, name = await run_in_threadpool(_original, request.app.state.store, request.path_params["sha256"])
    kind = _TYPES.get(Path(name).suffix.lower(), _UNKNOWN)
    headers = {"cache-control": _A_YEAR}
    if kind == _UNKNOWN:
        headers["content-disposition"] = "attachment"
    return FileResponse(path, media_type=kind, headers=headers)


async def still(request: Request) -> Response:
    """Send a still."""
    path = await run_in_threadpool(_still, request.app.state.store, request.path_params["sha256"])
    return FileResponse(path, media_type="image/jpeg", headers={"cache-control": _A_YEAR})


async def small(request: Request) -> Response:
    """Send the small picture of an original or a still."""
    path = await run_in_threadpool(small_of, request.app.state.store, _checked(request.path_params["sha256"]))
    return FileResponse(path, media_type="image/jpeg", headers={"cache-control": _A_YEAR})


def _original(store: Store, sha256: str) -> tuple[Path, str]:
    from shutline.capture.originals import original_path

    kept = store.original(_checked(sha256))
    path = store.linked_path(sha256) or original_path(store.originals, sha256)
    if not path.is_file():
        raise _gone(kept.name)
    return path, kept.name


def _still(store: Store, sha256: str) -> Path:
    from shutline.capture.originals import original_path

    path = original_path(store.derived, _checked(sha256))
    if not path.is_file():
        raise _gone(f"still {sha256[:12]}")
    return path


def _checked(sha256: str) -> str:
    if not _SHA256.fullmatch(sha256):
        raise _gone(sha256[:80])
    return sha256


def _gone(name: str) -> NotFoundError:
    return NotFoundError(
        Problem(
            slug="media-gone",
            where=name,
            found="there is no such file in the store's folder",
            allowed="originals and stills that the store keeps, named by the SHA-256 of their bytes",
            advice="If it was linked or moved, put it back where it was.",
        )
    )


ROUTES = (
    Route("/originals/{sha256}", original),
    Route("/stills/{sha256}", still),
    Route("/small/{sha256}", small),
)
