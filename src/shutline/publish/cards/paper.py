"""Job cards as a PDF; all words go in as data."""

from __future__ import annotations

import re
from dataclasses import asdict, fields, is_dataclass
from pathlib import Path
from typing import Any, Literal

from shutline.car.errors import Problem
from shutline.publish.cards.model import CardPicture, CardSheets, CardWords, words
from shutline.publish.report.paper import settable
from shutline.publish.report.times import instant
from shutline.publish.typeset import typeset

_DRAWING_FACE = re.compile(r"font-family=\"[^\"]*\"")


def cards_pdf(sheets: CardSheets) -> bytes:
    """Set job cards as a PDF, each trade on pages of its own.

    Returns
    -------
    bytes
        PDF 1.7, PDF/UA-1, the same bytes for the same cards.

    Raises
    ------
    BrokenWorldError
        The typesetter fails, or there is no room for its working files (slug ``cards-not-set``).
    """
    return _set(sheets, form="pdf")[0]


def cards_pages(sheets: CardSheets) -> tuple[bytes, ...]:
    """Set the same as pictures, one for each page, PNG, 794 pixels wide; raises as `cards_pdf` does."""
    return _set(sheets, form="png")


def _set(sheets: CardSheets, *, form: Literal["pdf", "png"]) -> tuple[bytes, ...]:
    return typeset(
        "cards/cards.typ",
        lambda root: {"m": _values(sheets, root), "w": {key: settable(text) for key, text in words().items()}},
        made_at=instant(sheets.made_at),
        trouble=Problem(
            "cards-not-set",
            "job cards",
            "they could not be made",
            "the jobs can still be shown in words",
            "See whether the disk is full; if it is not, report this with the message.",
        ),
        form=form,
    )


def _values(value: Any, root: Path) -> Any:
    if isinstance(value, CardPicture):
        (root / f"{value.key}.jpg").write_bytes(value.data)
        return {
            "file": f"{value.key}.jpg",
            "alt": settable(value.alt),
            "caption": settable(value.caption),
            "size": [value.width, value.height],
            "ring": None if value.ring is None else asdict(value.ring),
        }
    if isinstance(value, CardWords):
        name = f"plan-{len(list(root.glob('plan-*.svg'))) + 1}.svg"
        if value.drawing:
            drawing = _DRAWING_FACE.sub('font-family="Shutline Sans"', value.drawing)
            (root / name).write_text(drawing, encoding="utf-8")
        plain = {field.name: _values(getattr(value, field.name), root) for field in fields(value)}
        return {**plain, "drawing": name if value.drawing else ""}
    if is_dataclass(value) and not isinstance(value, type):
        return {field.name: _values(getattr(value, field.name), root) for field in fields(value)}
    if isinstance(value, tuple):
        return [_values(item, root) for item in value]
    return settable(value) if isinstance(value, str) else value
