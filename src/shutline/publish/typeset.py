"""The one call of the typesetter: a page of ours, its words as data, our typefaces alone, the same bytes each time."""

from __future__ import annotations

import json
import tempfile
from collections.abc import Callable, Mapping
from dataclasses import replace
from datetime import UTC, datetime
from importlib.resources import as_file, files
from pathlib import Path
from typing import Any, Literal

from shutline.car.errors import BrokenWorldError, Problem

PIXELS_AN_INCH = 96.0
"""Of pages set as pictures."""


def typeset(
    page: str,
    data: Callable[[Path], Mapping[str, Any]],
    *,
    made_at: datetime,
    trouble: Problem,
    form: Literal["pdf", "png"] = "pdf",
) -> tuple[bytes, ...]:
    """Set a page.

    Parameters
    ----------
    page : str
        Its file below `shutline.publish`, as ``sheet/sheet.typ``, which reads its words from ``sheet.json`` beside it.
    data : callable
        Told the folder the page will lie in, puts pictures into it and gives the words, plain values only: they go to
        the typesetter as data, never as markup.
    made_at : datetime
        With its time zone; the same words and moment give the same bytes.
    trouble : Problem
        What is told where the typesetter fails, without its own words, which are added to `found`.
    form : {'pdf', 'png'}
        PDF 1.7 after PDF/UA-1, or a picture of each page, 96 pixels to the inch.

    Returns
    -------
    tuple of bytes
        The PDF alone, or the pages in order.

    Raises
    ------
    BrokenWorldError
        The typesetter fails, or there is no room for its working files.
    """
    import typst

    package = files("shutline.publish")
    name = Path(page).name
    more: dict[str, Any] = {"pdf_standards": ["1.7", "ua-1"]} if form == "pdf" else {"ppi": PIXELS_AN_INCH}
    try:
        with (
            tempfile.TemporaryDirectory(prefix=f"shutline-{Path(page).stem}-") as folder,
            as_file(package.joinpath("fonts")) as fonts,
        ):
            root = Path(folder)
            (root / name).write_bytes(package.joinpath(page).read_bytes())
            (root / name).with_suffix(".json").write_text(json.dumps(data(root)), encoding="utf-8")
            made: Any = typst.compile(
                root / name,
                root=root,
                font_paths=[fonts],
                ignore_system_fonts=True,
                format=form,
                timestamp=int(made_at.astimezone(UTC).timestamp()),
                **more,
            )
    except (OSError, typst.TypstError) as error:
        raise BrokenWorldError(replace(trouble, found=f"{trouble.found}: {error}")) from error
    # One page comes by itself.
    return (bytes(made),) if isinstance(made, bytes) else tuple(bytes(one) for one in made)
