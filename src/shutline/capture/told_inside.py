"""All words that a made file carries, also those that nobody sees at first sight: titles, tags, texts of pictures."""

from __future__ import annotations

import ctypes
import io
from collections.abc import Iterator
from pathlib import Path
from typing import Any

# Tags that tell of the file itself.
_OF_THE_FORMAT = frozenset({"major_brand", "minor_version", "compatible_brands", "handler_name", "language", "encoder"})


def pdf_words(data: bytes) -> str:
    """Give all words of a PDF: of its pages, its title and the like, its outline, and what stands for its pictures.

    Parameters
    ----------
    data : bytes
        The file, one of our own.

    Returns
    -------
    str
        A word that is parted at the end of a line is put together again.
    """
    import pypdfium2

    document = pypdfium2.PdfDocument(data)
    try:
        told = [document.get_metadata_value(name) for name in ("Title", "Author", "Subject", "Keywords")]
        told += [entry.get_title() for entry in document.get_toc()]
        for number in range(len(document)):
            told += _page_words(document[number])
    finally:
        document.close()
    # PDFium's sign for a hyphen that only parts a word.
    return "\n".join(told).replace("\ufffe\r\n", "").replace("\x02\r\n", "").replace("\ufffe", "").replace("\x02", "")


def film_words(path: Path) -> str:
    """Give all words that a film carries beside picture and sound: its tags, those of its tracks, its chapters."""
    import av

    with av.open(str(path)) as film:
        tags = [film.metadata, *(stream.metadata for stream in film.streams)]
        tags += [chapter["metadata"] for chapter in film.chapters()]
        return "\n".join(value for one in tags for name, value in one.items() if name not in _OF_THE_FORMAT)


def picture_words(data: bytes) -> str:
    """Give all words that a picture carries beside what it shows: its comment and its tags."""
    from PIL import Image

    with Image.open(io.BytesIO(data)) as picture:
        values = [*picture.info.values(), *picture.getexif().values()]
    texts = (one.decode("utf-8", "replace") if isinstance(one, bytes) else one for one in values)
    return "\n".join(one for one in texts if isinstance(one, str))


def _page_words(page: Any) -> Iterator[str]:
    import pypdfium2.raw as pdfium

    textpage = page.get_textpage()
    try:
        yield textpage.get_text_range()
    finally:
        textpage.close()
    tree = pdfium.FPDF_StructTree_GetForPage(page.raw)
    if tree:
        try:
            for at in range(pdfium.FPDF_StructTree_CountChildren(tree)):
                yield from _stands_for(pdfium.FPDF_StructTree_GetChildAtIndex(tree, at))
        finally:
            pdfium.FPDF_StructTree_Close(tree)
    page.close()


def _stands_for(element: Any) -> Iterator[str]:
    """Give what is read aloud in place of pictures: of an element of a page's structure, and of all below it."""
    import pypdfium2.raw as pdfium

    if not element:
        return
    size = pdfium.FPDF_StructElement_GetAltText(element, None, 0)
    if size > len("\0".encode("utf-16-le")):
        held = ctypes.create_string_buffer(size)
        pdfium.FPDF_StructElement_GetAltText(element, held, size)
        yield held.raw.decode("utf-16-le", "replace").rstrip("\0")
    for at in range(pdfium.FPDF_StructElement_CountChildren(element)):
        yield from _stands_for(pdfium.FPDF_StructElement_GetChildAtIndex(element, at))
