"""The marker card on paper: to scale, and found by the program in what the typesetter draws."""

import io
import re
from pathlib import Path

import numpy as np
import pypdf
import pypdfium2
import pytest

from shutline.car.errors import BrokenWorldError, NotFoundError
from shutline.gauge.size import cards, find_card
from shutline.usecases.marker_card import marker_card_pdf, write_marker_card


def drawn_at(card: str, dots_an_inch: int) -> np.ndarray:
    """Give the page as the typesetter draws it in dots, shape (height, width, 3)."""
    import tempfile
    from dataclasses import asdict
    from importlib.resources import as_file, files
    from json import dumps

    import typst
    from PIL import Image

    from shutline.gauge.size import card_svg
    from shutline.publish.card import CardSheet

    found = cards()[card]
    sheet = CardSheet("Card", "How", "Why", "Card", found.width_mm, found.height_mm)
    package = files("shutline.publish")
    with tempfile.TemporaryDirectory() as folder, as_file(package.joinpath("fonts")) as fonts:
        root = Path(folder)
        (root / "card.typ").write_bytes(package.joinpath("card/card.typ").read_bytes())
        (root / "card.json").write_text(dumps(asdict(sheet)), encoding="utf-8")
        (root / "card.svg").write_text(card_svg(found), encoding="utf-8")
        png = typst.compile(
            root / "card.typ", root=root, font_paths=[fonts], ignore_system_fonts=True, format="png", ppi=dots_an_inch
        )
    return np.asarray(Image.open(io.BytesIO(png)).convert("RGB"))


@pytest.mark.parametrize("card", ["sheet", "small"])
def test_the_card_comes_out_to_scale(card: str) -> None:
    found = find_card(drawn_at(card, 400))
    assert found.card.id == card
    assert len(found.markers) == 4
    apart = np.linalg.norm(found.px[1:] - found.px[0], axis=1) / np.linalg.norm(found.mm[1:] - found.mm[0], axis=1)
    # Dots a millimetre. The typesetter sets a drawing on whole dots: up to one over the side of a marker.
    assert apart == pytest.approx(400 / 25.4, rel=1.5e-3)


@pytest.mark.parametrize("card", ["sheet", "small"])
def test_the_pdf_is_one_page_of_a4_that_says_how_to_use_it(card: str) -> None:
    pdf = marker_card_pdf(card)
    pages = pypdf.PdfReader(io.BytesIO(pdf)).pages
    assert len(pages) == 1
    assert [float(each) for each in pages[0].mediabox[2:]] == pytest.approx([595.3, 841.9], abs=0.1)
    text = re.sub(r"\s+", " ", pages[0].extract_text())
    assert "Print at 100 %" in text
    assert f"must be {cards()[card].ruler_mm:g} mm long" in text
    assert pdf == marker_card_pdf(card)


def test_a_card_is_written_and_a_card_that_is_none_refused(tmp_path: Path) -> None:
    made = write_marker_card(tmp_path / "new" / "card.pdf", card="small")
    assert Path(made.file).read_bytes().startswith(b"%PDF-1.7")
    assert made.ruler_mm == 100
    with pytest.raises(NotFoundError, match="sheet, small, blisters"):
        marker_card_pdf("huge")
    with pytest.raises(BrokenWorldError):
        write_marker_card(tmp_path)


def test_the_scale_of_blisters_comes_out_to_scale_a_page_for_each_size(tmp_path: Path) -> None:
    made = write_marker_card(tmp_path / "scale.pdf", card="blisters")
    pdf = Path(made.file).read_bytes()
    assert pdf == marker_card_pdf("blisters")
    pages = [page.extract_text() for page in pypdf.PdfReader(io.BytesIO(pdf)).pages]
    assert len(pages) == 4
    for size, text in zip((2, 3, 4, 5), pages, strict=True):
        assert [f"{density}(S{size})" in text for density in (2, 3, 4, 5)] == [True] * 4
    document = pypdfium2.PdfDocument(pdf)
    dots = 10.0  # a millimetre
    page = np.asarray(document[3].render(scale=dots * 25.4 / 72).to_pil().convert("RGB")).astype(int)
    document.close()
    dark = page.sum(axis=2) < 250
    assert dark.sum(axis=1).max() == pytest.approx(made.ruler_mm * dots, abs=dots)
    field = np.abs(page - np.array((0xE9, 0xE2, 0xD4))).max(axis=2) < 3
    assert np.flatnonzero(field.sum(axis=1) > 100).size == pytest.approx(2 * made.width_mm * dots, abs=2 * dots)
