"""The guides there are, the user's own laid over the shipped ones, and which of them a car gets."""

from __future__ import annotations

import hashlib
import os
from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path
from typing import TYPE_CHECKING

from shutline.car.errors import BadInputError, Problem
from shutline.usecases.settings import settings_file

if TYPE_CHECKING:
    from shutline.survey import Shelf
    from shutline.survey.checks import Check

GUIDES_VARIABLE = "SHUTLINE_GUIDES"
"""Environment variable that names another folder of guides."""

BANDS_FILE = "bands.toml"
"""Name of the file among the user's guides that holds bands of cost of their own."""


@dataclass(frozen=True, slots=True)
class GuideLine:
    """One guide in a list: what it is called, what it is of, how many checks it asks, and whose it is."""

    id: str
    label: str
    sort: str
    builds_on: str
    checks: int
    file: str
    own: bool


@dataclass(frozen=True, slots=True)
class GuideList:
    """All guides, and the folder in which the user's lie."""

    folder: str
    guides: tuple[GuideLine, ...]


@dataclass(frozen=True, slots=True)
class GuideShown:
    """One guide put together with all that it builds on."""

    id: str
    label: str
    laid: tuple[str, ...]
    checks: tuple[Check, ...]


def guides_folder() -> Path:
    """Give where the user's guides lie: what the environment names, else the folder `guides` beside the settings."""
    named = os.environ.get(GUIDES_VARIABLE)
    return Path(named) if named else settings_file().parent / "guides"


def own_shelf(folder: Path | None = None) -> Shelf:
    """Give all guides, the user's laid over the shipped ones.

    Parameters
    ----------
    folder : Path, optional
        Where the user's lie; see `guides_folder` when left out.

    Raises
    ------
    BadInputError
        A file is no UTF-8, or something in it cannot be used (slug ``guide-refused``), with file and line.
    """
    return _shelf_of(_files(folder))


def guides_mark(folder: Path | None = None) -> str:
    """Give a mark that changes with what the user's files of guides hold; they are not read for what they mean."""
    digest = hashlib.sha256()
    for name, data in _files(folder):
        digest.update(Path(name).name.encode() + b"\0" + data + b"\0")
    return digest.hexdigest()[:16]


def list_guides() -> GuideList:
    """List the guides, the shipped and the user's; raises as `own_shelf` does."""
    shelf = own_shelf()
    folder = guides_folder()
    lines = (
        GuideLine(
            one.id,
            one.label,
            one.sort,
            one.builds_on,
            len(shelf.put_together([one.id]).checks) if one.sort != "drive" else len(one.checks),
            one.file,
            Path(one.file).parent == folder,
        )
        for one in shelf.guides.values()
    )
    return GuideList(str(folder), tuple(lines))


def show_guide(names: tuple[str, ...]) -> GuideShown:
    """Give guides put together; raises UserError where there is none of a name (slug ``guide-unknown``)."""
    guide = own_shelf().put_together(names)
    return GuideShown(guide.id, guide.label, guide.laid, guide.checks)


def _files(folder: Path | None) -> tuple[tuple[str, bytes], ...]:
    return tuple((str(file), file.read_bytes()) for file in sorted((folder or guides_folder()).glob("*.toml")))


@lru_cache(maxsize=4)
def _shelf_of(found: tuple[tuple[str, bytes], ...]) -> Shelf:
    from shutline import survey

    if not found:
        return survey.shelf()
    texts: dict[str, str] = {}
    bands: tuple[str, str] | None = None
    for name, data in found:
        try:
            text = data.decode("utf-8-sig")
        except UnicodeDecodeError as error:
            raise BadInputError(
                Problem(
                    "guide-refused",
                    f"{name}, line {data[: error.start].count(10) + 1}",
                    f"byte {error.start} is no UTF-8",
                    "UTF-8",
                    "Save the file as UTF-8 and give the command again.",
                )
            ) from None
        if Path(name).name == BANDS_FILE:
            bands = (name, text)
        else:
            texts[name] = text
    return survey.with_own(texts, bands=bands)
