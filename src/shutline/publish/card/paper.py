"""The marker card as a PDF, to scale."""

from __future__ import annotations

import json
import tempfile
from dataclasses import asdict, dataclass
from importlib.resources import as_file, files
from pathlib import Path

from shutline.car.errors import BrokenWorldError, Problem


@dataclass(frozen=True, slots=True)
class CardSheet:
    """A page with a card: its words, and the size at which the drawing must come out, millimetres."""

    title: str
    how: str
    why: str
    alt: str
    width_mm: float
    height_mm: float


def card_pdf(sheet: CardSheet, svg: str) -> bytes:
    """Set a card as a PDF of one page of A4.

    Parameters
    ----------
    sheet : CardSheet
    svg : str
        The card, one unit a millimetre.

    Returns
    -------
    bytes
        PDF 1.7, PDF/UA-1, the same bytes for the same card.

    Raises
    ------
    BrokenWorldError
        The typesetter fails, or there is no room for its working files (slug ``card-not-set``).
    """
    import typst

    package = files("shutline.publish")
    try:
        with (
            tempfile.TemporaryDirectory(prefix="shutline-card-") as folder,
            as_file(package.joinpath("fonts")) as fonts,
        ):
            root = Path(folder)
            (root / "card.typ").write_bytes(package.joinpath("card/card.typ").read_bytes())
            (root / "card.json").write_text(json.dumps(asdict(sheet)), encoding="utf-8")
            (root / "card.svg").write_text(svg, encoding="utf-8")
            pdf = typst.compile(
                root / "card.typ",
                root=root,
                font_paths=[fonts],
                ignore_system_fonts=True,
                format="pdf",
                pdf_standards=["1.7", "ua-1"],
                timestamp=0,
            )
    except (OSError, typst.TypstError) as error:
        problem = Problem(
            "card-not-set",
            "marker card",
            f"the PDF could not be made: {error}",
            "a card printed before is as good",
            "See whether the disk is full; if it is not, report this with the message.",
        )
        raise BrokenWorldError(problem) from error
    return bytes(pdf)
