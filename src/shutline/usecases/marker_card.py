"""Print the cards: those that sizes on photographs are read off by, and the drawn scale of blisters."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from shutline.car.errors import NotFoundError, Problem

if TYPE_CHECKING:
    from pathlib import Path


BLISTERS = "blisters"
"""The name of the drawn scale of blisters among the cards."""
_SCALE_RULER_MM = 100.0


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

    if card == BLISTERS:
        return _blister_scale()
    found = cards().get(card)
    if found is None:
        raise NotFoundError(
            Problem(
                slug="card-unknown",
                where="marker card",
                found=repr(card[:40]),
                allowed=", ".join((*cards(), BLISTERS)),
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
    if card == BLISTERS:
        from shutline.gauge.rust import settings as rust_settings
        from shutline.gauge.rust import words as rust_words

        field = rust_settings().blisters.field_mm
        return CardMade(card, str(out), field, field, _SCALE_RULER_MM, rust_words()["blister_scale"])
    found = cards()[card]
    return CardMade(card, str(out), found.width_mm, found.height_mm, found.ruler_mm, words()["instructions"])


@dataclass(frozen=True, slots=True)
class BlisterScale:
    """The drawn scale: the densities, and the sizes with how many millimetres across blisters of each are."""

    densities: tuple[int, ...]
    sizes: tuple[tuple[int, float], ...]


def blister_scale() -> BlisterScale:
    """Give what the drawn scale of blisters has."""
    from shutline.gauge.rust import settings

    rules = settings().blisters
    return BlisterScale(rules.densities, tuple(zip(rules.sizes, rules.diameters_mm, strict=True)))


def blister_drawing(density: int, size: int) -> str:
    """Give one drawing of the scale as SVG; raises BadInputError (slug ``blister-rating``) where there is none."""
    from shutline.gauge.rust import blister_svg

    return blister_svg(density, size)


def _blister_scale() -> bytes:
    from shutline.gauge.rust import blister_svg, rated, settings, words
    from shutline.publish.card import ScaleDrawing, ScalePage, ScaleSheet, scale_pdf

    rules = settings().blisters
    pages = tuple(
        ScalePage(
            f"Size {size}: blisters of about {across:g} mm",
            tuple(
                ScaleDrawing(
                    blister_svg(density, size),
                    rated(density, size).called,
                    f"Blisters of density {density}, size {size}",
                )
                for density in rules.densities
            ),
        )
        for size, across in zip(rules.sizes, rules.diameters_mm, strict=True)
    )
    ruler = f"This line must be {_SCALE_RULER_MM:g} mm long."
    sheet = ScaleSheet(
        "Blisters: density and size",
        words()["blister_scale"],
        words()["blisters"],
        ruler,
        rules.field_mm,
        _SCALE_RULER_MM,
        pages,
    )
    return scale_pdf(sheet)
