"""Write the route of a car on one page."""

from __future__ import annotations

import contextlib
import os
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path
from typing import TYPE_CHECKING

from shutline.car.errors import BrokenWorldError, Problem

if TYPE_CHECKING:
    from shutline.publish.sheet import RouteSheet
    from shutline.usecases.survey import Planned


@dataclass(frozen=True, slots=True)
class WrittenSheet:
    """Where the page lies, and its size."""

    path: str
    byte_size: int


def worded_route(planned: Planned, *, made_at: datetime | None = None) -> RouteSheet:
    """Put a route into words; now is its moment when none is given."""
    from shutline.publish.sheet import build_route_sheet

    moment = (made_at or datetime.now(UTC)).astimezone(UTC).replace(microsecond=0).isoformat()
    return build_route_sheet(planned.route, title=planned.title, answered=planned.answered, made_at=moment)


def route_sheet(planned: Planned, *, made_at: datetime | None = None) -> bytes:
    """Give the page as a PDF; now is its moment when none is given. Raises as `publish.sheet.route_pdf` does."""
    from shutline.publish.sheet import route_pdf

    return route_pdf(worded_route(planned, made_at=made_at))


def write_route_sheet(planned: Planned, path: Path, *, made_at: datetime | None = None) -> WrittenSheet:
    """Write the page; it is written whole under another name and then put in its place.

    Raises
    ------
    BrokenWorldError
        The file cannot be written (slug ``output-not-written``), or the page not be set.
    """
    data = route_sheet(planned, made_at=made_at)
    part = path.with_name(f".{path.name}.part")
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        with part.open("wb") as file:
            file.write(data)
            file.flush()
            os.fsync(file.fileno())
        part.replace(path)
    except OSError as trouble:
        with contextlib.suppress(OSError):
            part.unlink(missing_ok=True)
        raise BrokenWorldError(
            Problem(
                slug="output-not-written",
                where=str(path),
                found=trouble.strerror or type(trouble).__name__,
                allowed="a folder that can be written to, with room for the page",
                advice="Make room, or name another file with --pdf.",
            )
        ) from trouble
    return WrittenSheet(str(path), len(data))
