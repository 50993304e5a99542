"""A contact sheet: pictures in rows, each with its moment under it, as pixels that can be saved as PNG, JPEG or PDF."""

from __future__ import annotations

import io
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cache
from importlib.resources import files
from typing import TYPE_CHECKING, Literal

from shutline.publish.bare import BarePicture
from shutline.publish.plain import one_line

if TYPE_CHECKING:
    from PIL import Image, ImageFont

SheetForm = Literal["png", "jpg", "pdf"]
"""What a sheet can be saved as."""

_TILE_PX, _GAP_PX, _MARGIN_PX = 480, 24, 48
_TITLE_PX, _LINE_PX = 34, 22
_ROWS_A_PAGE = 4
_PAPER, _INK, _QUIET = "#fbfaf6", "#1d1b17", "#5d584c"
# 200 dots an inch: three tiles across are 8 inches of paper.
_DPI = 200.0


@dataclass(frozen=True, slots=True)
class Tile:
    """One picture of a sheet, made ready to go out, and the lines under it."""

    picture: BarePicture
    lines: tuple[str, ...]


def sheet(title: str, note: str, tiles: Sequence[Tile], *, form: SheetForm, across: int = 3) -> bytes:
    """Set pictures in rows.

    Parameters
    ----------
    title, note : str
        What stands above the first row.
    tiles : sequence of Tile
        In the order they are shown; none gives a sheet that holds its title only.
    form : SheetForm
        ``png`` and ``jpg`` are one picture however long; ``pdf`` has four rows a page.
    across : int
        Tiles in a row.

    Returns
    -------
    bytes
        The same tiles give the same bytes; nothing in them says when or with what they were made.
    """
    rows = [tiles[at : at + across] for at in range(0, len(tiles), across)]
    per_page = _ROWS_A_PAGE if form == "pdf" else max(1, len(rows))
    pages = [rows[at : at + per_page] for at in range(0, len(rows), per_page)] or [[]]
    drawn = [_page(title if not at else "", note if not at else "", page, across) for at, page in enumerate(pages)]
    out = io.BytesIO()
    if form == "pdf":
        quiet = {"creationDate": None, "modDate": None, "producer": None}
        drawn[0].save(out, "PDF", save_all=True, append_images=drawn[1:], resolution=_DPI, quality=88, **quiet)
    elif form == "jpg":
        drawn[0].save(out, "JPEG", quality=88)
    else:
        drawn[0].save(out, "PNG", optimize=True)
    return out.getvalue()


def _page(title: str, note: str, rows: Sequence[Sequence[Tile]], across: int) -> Image.Image:
    from PIL import Image, ImageDraw

    width = 2 * _MARGIN_PX + across * _TILE_PX + (across - 1) * _GAP_PX
    head = [*_wrapped(title, _type(_TITLE_PX, bold=True), width - 2 * _MARGIN_PX)] if title else []
    small = [*_wrapped(note, _type(_LINE_PX), width - 2 * _MARGIN_PX)] if note else []
    top = _MARGIN_PX + len(head) * (_TITLE_PX + 12) + len(small) * (_LINE_PX + 8) + (_GAP_PX if head or small else 0)
    laid = [(row, [_lines(tile) for tile in row]) for row in rows]
    heights = [
        max(_shown(tile)[1] for tile in row) + 10 + max(len(lines) for lines in told) * (_LINE_PX + 6) + _GAP_PX
        for row, told in laid
    ]
    page = Image.new("RGB", (width, top + sum(heights) + _MARGIN_PX), _PAPER)
    pen = ImageDraw.Draw(page)
    y = _MARGIN_PX
    for line in head:
        pen.text((_MARGIN_PX, y), line, fill=_INK, font=_type(_TITLE_PX, bold=True))
        y += _TITLE_PX + 12
    for line in small:
        pen.text((_MARGIN_PX, y), line, fill=_QUIET, font=_type(_LINE_PX))
        y += _LINE_PX + 8
    y = top
    for (row, told), height in zip(laid, heights, strict=True):
        tallest = max(_shown(tile)[1] for tile in row)
        for at, (tile, lines) in enumerate(zip(row, told, strict=True)):
            x = _MARGIN_PX + at * (_TILE_PX + _GAP_PX)
            shown = Image.open(io.BytesIO(tile.picture.jpeg)).resize(_shown(tile), Image.Resampling.LANCZOS)
            page.paste(shown, (x + (_TILE_PX - shown.width) // 2, y + tallest - shown.height))
            for number, line in enumerate(lines):
                here = (x, y + tallest + 10 + number * (_LINE_PX + 6))
                pen.text(here, line, fill=_QUIET if number else _INK, font=_type(_LINE_PX, bold=not number))
        y += height
    return page


def _shown(tile: Tile) -> tuple[int, int]:
    """Give the size a picture is shown at: within a square as wide as its tile."""
    share = _TILE_PX / max(tile.picture.width, tile.picture.height)
    return max(1, round(tile.picture.width * share)), max(1, round(tile.picture.height * share))


def _lines(tile: Tile) -> list[str]:
    return [
        line
        for number, text in enumerate(tile.lines)
        for line in _wrapped(text, _type(_LINE_PX, bold=not number), _TILE_PX)[:3]
    ]


def _wrapped(text: str, face: ImageFont.FreeTypeFont, width: int) -> list[str]:
    """Break a text into lines that fit; a word too long for one is cut."""
    lines: list[str] = []
    for word in one_line(text).split():
        there = f"{lines[-1]} {word}" if lines else word
        if lines and face.getlength(there) <= width:
            lines[-1] = there
            continue
        while face.getlength(word) > width and len(word) > 1:
            word = word[:-1]  # noqa: PLW2901 - what is left of it is the line
        lines.append(word)
    return lines


@cache
def _type(size: int, *, bold: bool = False) -> ImageFont.FreeTypeFont:
    from PIL import ImageFont

    name = "ShutlineSans-SemiBold.ttf" if bold else "ShutlineSans-Regular.ttf"
    data = files("shutline.publish").joinpath("fonts", name).read_bytes()
    return ImageFont.truetype(io.BytesIO(data), size, layout_engine=ImageFont.Layout.BASIC)
