"""Print the card that sizes on photographs are read off by."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from shutline.car.errors import NotFoundError, Problem

if TYPE_CHECKING:
    from pathlib import Path


@dataclass(frozen=True, slots=True)
class CardMade:
    """A card that was written: which, where to, how long its ruler must be, millimetres, and how it is used."""

    card: str
    file: str
    width_mm: float
    height_mm: float
    ruler_mm: float
    how: str


def marker_card_pdf(card: str = "sheet") -> bytes:
    """Give a card as a PDF.

    Raises
    ------
    NotFoundError
        There is no such card (slug ``card-unknown``).
    BrokenWorldError
        It could not be set (slug ``card-not-set``).
    """
    from shutline.gauge.size import card_svg, cards
    from shutline.gauge.size.settings import words
    from shutline.publish.card import CardSheet, card_pdf

    found = cards().get(card)
    if found is None:
        raise NotFoundError(
            Problem(
                slug="card-unknown",
                where="marker card",
                found=repr(card[:40]),
                allowed=" or ".join(cards()),
                advice="Name one of them.",
            )
        )
    sheet = CardSheet(
        title=f"Marker card: {found.label}",
        how=words()["instructions"],
        why=words()["flat"],
        alt=f"Four square markers in black and white, and below them a ruler of {found.ruler_mm:g} millimetres",
        width_mm=found.width_mm,
        height_mm=found.height_mm,
    )
    return card_pdf(sheet, card_svg(found))


def write_marker_card(out: Path, *, card: str = "sheet") -> CardMade:
    """Write a card as a PDF; errors as for `marker_card_pdf`, and OSError's as a problem (slug ``card-not-set``)."""
    from shutline.car.errors import BrokenWorldError
    from shutline.gauge.size import cards
    from shutline.gauge.size.settings import words

    pdf = marker_card_pdf(card)
    try:
        out.parent.mkdir(parents=True, exist_ok=True)
        out.write_bytes(pdf)
    except OSError as error:
        problem = Problem(
            "card-not-set", str(out), error.strerror or "it cannot be written", "a file that can be", "Name another."
        )
        raise BrokenWorldError(problem) from error
    found = cards()[card]
    return CardMade(card, str(out), found.width_mm, found.height_mm, found.ruler_mm, words()["instructions"])
