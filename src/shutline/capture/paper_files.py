"""Open a paper page by page: a PDF with the words that stand in it, or pictures, of which a file may hold many."""

from __future__ import annotations

import contextlib
import io
import os
import threading
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np

from shutline.capture import files
from shutline.capture.limits import limits
from shutline.capture.pdf_words import page_words
from shutline.capture.pictures import Picture, unpack
from shutline.capture.probe_picture import is_picture, open_picture, probe_picture, quiet
from shutline.car.errors import BadInputError, Problem

if TYPE_CHECKING:
    from collections.abc import Callable

    from shutline.car.papers import Line

_PDF = b"%PDF-"
# Readers of PDF find the header within the first 1,024 bytes (ISO 32000-1, annex H, note 13, from memory).
_HEADER_WITHIN = 1_024
_PASSWORD = 4
"""What PDFium answers for a file that is under a password (fpdfview.h, FPDF_ERR_PASSWORD)."""

_ONE_AT_A_TIME = threading.RLock()
"""PDFium may be used by one thread at a time (its own documentation)."""


@dataclass(frozen=True, slots=True)
class PageDrawn:
    """A page as it is drawn, upright as far as its file tells, with the words that stand in the file itself.

    `lines` is empty where the file has none, or none to be believed: then the picture is to be read. `turned` says by
    how many degrees clockwise the picture was turned because the words of the file run so.
    """

    picture: Picture
    lines: tuple[Line, ...] = ()
    turned: int = 0


@dataclass(frozen=True, slots=True)
class PaperFile:
    """A paper that was opened: how many pages it has, of what form it is, and each page when it is asked for.

    `draw` takes the number of a page from 1, and gives None where that page is damaged. Good while `open_paper` lasts.
    """

    form: str
    pages: int
    draw: Callable[[int], PageDrawn | None]
    taken_at: str | None = None


@contextlib.contextmanager
def open_paper(path: Path, *, password: str = "") -> Iterator[PaperFile]:
    """Open a paper.

    Parameters
    ----------
    path : Path
        A PDF, or a picture of a kind that is taken in; of a TIFF all its pages.
    password : str
        Of a PDF that is under one; it is kept nowhere.

    Raises
    ------
    BadInputError
        `empty-file`, `not-a-paper`, `paper-too-large`, `paper-too-long`, `paper-password` (none was given, or another
        one), `paper-unreadable`; for pictures `picture-too-large` and `picture-unreadable`; or it is no plain file (see
        `files.opened`).
    """
    with files.opened(path) as file:
        size = os.fstat(file.fileno()).st_size
        head = file.read(_HEADER_WITHIN)
    if not head:
        raise _refused("empty-file", path, "no bytes at all", "a paper", "Scan or copy it again.")
    if size > limits().papers.max_bytes:
        most = f"at most {limits().papers.max_bytes:,} bytes"
        raise _refused("paper-too-large", path, f"{size:,} bytes", most, "Part it, or scan it less finely.")
    if _PDF in head:
        with _pdf(path, password) as opened:
            yield opened
    elif is_picture(head[:32]):
        with _picture(path) as opened:
            yield opened
    else:
        raise _refused(
            "not-a-paper",
            path,
            "it is neither a PDF nor a picture",
            "PDF, JPEG, PNG, WebP, HEIF, AVIF, TIFF, GIF or BMP",
            "Print it to a PDF, or take a picture of it.",
        )


@contextlib.contextmanager
def _pdf(path: Path, password: str) -> Iterator[PaperFile]:
    import pypdfium2

    with _ONE_AT_A_TIME:
        try:
            document = pypdfium2.PdfDocument(path, password=password or None)
            pages = len(document)
        except pypdfium2.PdfiumError as trouble:
            if getattr(trouble, "err_code", None) == _PASSWORD:
                raise _locked(path, given=bool(password)) from trouble
            raise _broken(path) from trouble
    try:
        if not pages:
            raise _broken(path)
        _check_length(path, pages)

        def draw(number: int) -> PageDrawn | None:
            with _ONE_AT_A_TIME:
                return _draw(document, number)

        yield PaperFile("pdf", pages, draw)
    finally:
        with _ONE_AT_A_TIME:
            document.close()


def _draw(document: Any, number: int) -> PageDrawn | None:
    import pypdfium2

    try:
        page = document[number - 1]
        try:
            scale = limits().papers.drawn_px / max(1.0, *page.get_size())
            bitmap = page.render(scale=scale, rev_byteorder=True)
            picture = np.ascontiguousarray(_three(bitmap.to_numpy()), np.uint8)
            lines, turned = page_words(page)
        finally:
            page.close()
    except (pypdfium2.PdfiumError, ValueError, MemoryError):
        return None
    return PageDrawn(np.ascontiguousarray(np.rot90(picture, -turned // 90)), lines, turned)


def _three(pixels: Any) -> Any:
    """Give three channels of whatever a page was drawn in."""
    if pixels.ndim == 2:
        return np.repeat(pixels[..., None], 3, axis=2)
    return np.repeat(pixels, 3, axis=2) if pixels.shape[2] == 1 else pixels[..., :3]


@contextlib.contextmanager
def _picture(path: Path) -> Iterator[PaperFile]:
    probe, _, _ = probe_picture(path)
    with files.opened(path) as file:
        data = file.read()
    with quiet(), open_picture(io.BytesIO(data)) as picture:
        # A sequence of a telephone, or a moving picture, shows one page.
        pages = int(getattr(picture, "n_frames", 1)) if picture.format == "TIFF" else 1
    _check_length(path, pages)

    def draw(number: int) -> PageDrawn | None:
        pixels = unpack(io.BytesIO(data), longest_side_px=limits().papers.drawn_px, frame=number - 1)
        return None if pixels is None else PageDrawn(pixels)

    yield PaperFile("picture", pages, draw, probe.recorded_at)


def _check_length(path: Path, pages: int) -> None:
    if pages > limits().papers.max_pages:
        most = f"at most {limits().papers.max_pages:,} pages"
        raise _refused("paper-too-long", path, f"{pages:,} pages", most, "Part it into several files.")


def _locked(path: Path, *, given: bool) -> BadInputError:
    return _refused(
        "paper-password",
        path,
        "another password opens it" if given else "it is under a password",
        "a paper that can be opened; nothing was kept of it",
        "Give the password with --password or in the field beside the file (it is kept nowhere), or save it without.",
    )


def _broken(path: Path) -> BadInputError:
    return _refused(
        "paper-unreadable",
        path,
        "it begins like a PDF, and no page of it can be read",
        "a whole PDF",
        "Open it to see that it is whole, or copy it from where it came again.",
    )


def _refused(slug: str, path: Path, found: str, allowed: str, advice: str) -> BadInputError:
    return BadInputError(Problem(slug, files.shown_name(path), found, allowed, advice))
