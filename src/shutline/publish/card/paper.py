"""The marker card as a PDF, to scale."""

from __future__ import annotations

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

    (pdf,) = typeset(
        "card/card.typ",
        words,
        # The same card is the same bytes, whenever it is printed.
        made_at=datetime(1970, 1, 1, tzinfo=UTC),
        trouble=Problem(
            "card-not-set",
            "marker card",
            "the PDF could not be made",
            "a card printed before is as good",
            "See whether the disk is full; if it is not, report this with the message.",
        ),
    )
    return pdf
