"""The marker card, and the drawn scale of blisters, as PDFs that are to scale."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import asdict, dataclass
from datetime import UTC, datetime
from pathlib import Path

from shutline.car.errors import Problem
from shutline.publish.typeset import typeset


@dataclass(frozen=True, slots=True)
class CardSheet:
    """A page with a card: its words, and the size at which the drawing must come out, millimetres."""

    title: str
    how: str
    why: str
    alt: str
    width_mm: float
    height_mm: float


@dataclass(frozen=True, slots=True)
class ScaleDrawing:
    """One drawing of a scale: the SVG, what it is called, and what it shows."""

    svg: str
    label: str
    alt: str


@dataclass(frozen=True, slots=True)
class ScalePage:
    """The drawings of one page."""

    heading: str
    drawings: tuple[ScaleDrawing, ...]


@dataclass(frozen=True, slots=True)
class ScaleSheet:
    """A scale of drawings, each `field_mm` square; a line of `ruler_mm` on each page shows whether they came out so."""

    title: str
    how: str
    why: str
    ruler: str
    field_mm: float
    ruler_mm: float
    pages: tuple[ScalePage, ...]


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

    def words(root: Path) -> dict[str, object]:
        (root / "card.svg").write_text(svg, encoding="utf-8")
        return asdict(sheet)

    return _set("card/card.typ", words, "marker card")


def scale_pdf(sheet: ScaleSheet) -> bytes:
    """Set a drawn scale as a PDF of A4, a page for each of its pages; as `card_pdf`."""

    def words(root: Path) -> dict[str, object]:
        told = asdict(sheet)
        for number, page in enumerate(told["pages"]):
            for at, drawing in enumerate(page["drawings"]):
                drawing["file"] = f"{number}-{at}.svg"
                (root / drawing["file"]).write_text(drawing.pop("svg"), encoding="utf-8")
        return told

    return _set("card/blisters.typ", words, "blister scale")


def _set(page: str, words: Callable[[Path], dict[str, object]], name: str) -> bytes:
    (pdf,) = typeset(
        page,
        words,
        # The same card is the same bytes, whenever it is printed.
        made_at=datetime(1970, 1, 1, tzinfo=UTC),
        trouble=Problem(
            "card-not-set",
            name,
            "the PDF could not be made",
            "a card printed before is as good",
            "See whether the disk is full; if it is not, report this with the message.",
        ),
    )
    return pdf
