"""Job cards read back by pypdf: every job, word and caution is on paper, and each trade begins a page."""

from __future__ import annotations

import io
import re
from typing import TYPE_CHECKING

import numpy as np
import pytest
from PIL import Image
from pypdf import PdfReader

from shutline.car.rings import Circle
from shutline.prep.cards import Card, job_cards
from shutline.prep.tables import prep_tables
from shutline.prep.tasks import tasks_of
from shutline.publish.cards import CardSheets, build_card_sheets, cards_pages, cards_pdf

if TYPE_CHECKING:
    from tests.publish.conftest import Sample

MADE_AT = "2026-11-25T10:00:00+00:00"


@pytest.fixture(scope="module")
def cards(sample: Sample) -> tuple[Card, ...]:
    found = sample.car.going_out()
    return job_cards(tasks_of(found).tasks, found, prep_tables())


@pytest.fixture(scope="module")
def sheets(sample: Sample, cards: tuple[Card, ...]) -> CardSheets:
    return build_card_sheets(sample.car, cards, stills=sample.stills, made_at=MADE_AT)


def squeezed(text: str) -> str:
    return re.sub(r"[\s\u00ad\u200b]+", "", text)


def test_every_job_word_and_caution_is_on_paper(cards: tuple[Card, ...], sheets: CardSheets) -> None:
    reader = PdfReader(io.BytesIO(cards_pdf(sheets)))
    text = squeezed("".join(page.extract_text() for page in reader.pages))
    assert len(cards) > 1
    for card in cards:
        assert squeezed(f"Job card: {card.name}") in text
        for line in card.lines:
            assert squeezed(line.task.job.name)[1:] in text
            for place in line.places:
                assert squeezed(place.words[0]) in text
        for caution, _ in card.cautions:
            assert squeezed(caution.text) in text
    assert "PLANTED" not in text


def test_each_trade_begins_a_page_and_the_pdf_is_tagged_and_the_same_each_time(sheets: CardSheets) -> None:
    pdf = cards_pdf(sheets)
    reader = PdfReader(io.BytesIO(pdf))
    assert reader.root_object["/MarkInfo"]["/Marked"]
    heads = [page.extract_text().count("Job card:") for page in reader.pages]
    assert max(heads) == 1
    assert sum(heads) == len(sheets.cards)
    assert cards_pdf(sheets) == pdf


def test_a_job_with_a_still_shows_it_and_one_without_does_not(sample: Sample, cards: tuple[Card, ...]) -> None:
    with_stills = build_card_sheets(sample.car, cards, stills=sample.stills, made_at=MADE_AT)
    without = build_card_sheets(sample.car, cards, made_at=MADE_AT)
    assert all(line.pictures for card in with_stills.cards for line in card.lines)
    assert not any(line.pictures for card in without.cards for line in card.lines)
    for line in (line for card in with_stills.cards for line in card.lines):
        picture = Image.open(io.BytesIO(line.pictures[0].data))
        assert not picture.getexif()


def test_places_are_numbered_on_the_plan(sheets: CardSheets, cards: tuple[Card, ...]) -> None:
    for words, card in zip(sheets.cards, cards, strict=True):
        for line in card.lines:
            assert f">{line.number}</text>" in words.drawing


def test_a_ring_is_drawn_where_somebody_said_and_the_picture_stays_as_it_is(
    sample: Sample, cards: tuple[Card, ...]
) -> None:
    card = cards[0]
    place = card.lines[0].places[0]
    still = place.finding.stills[0].sha256

    def set_with(circle: Circle | None = None) -> tuple[CardSheets, np.ndarray]:
        rings = {} if circle is None else {(place.finding.id, still): circle}
        sheets = build_card_sheets(sample.car, [card], stills=sample.stills, rings=rings, made_at=MADE_AT)
        return sheets, np.asarray(Image.open(io.BytesIO(cards_pages(sheets)[0])).convert("L"), dtype=int)

    def drawn(page: np.ndarray) -> tuple[float, float, float]:
        """Give the middle and the width of what differs from the page without a ring, caption left out."""
        rows, columns = np.nonzero(np.abs(page - plain)[:, -260:] > 40)
        near = rows < rows.min() + 2 * 0.25 * wide + 8
        return (
            float(columns[near].min() + columns[near].max()) / 2,
            float(rows[near].min() + rows[near].max()) / 2,
            float(np.ptp(columns[near])),
        )

    without, plain = set_with()
    left, page = set_with(Circle(0.35, 0.5, 0.25))
    right, moved = set_with(Circle(0.65, 0.5, 0.25))
    one = left.cards[0].lines[0].pictures[0]
    # The page is 210 mm and 794 pixels wide; a picture may take 58 by 34 mm.
    wide = min(58.0, 34.0 * one.width / one.height) * 794 / 210
    (x1, y1, across), (x2, y2, _) = drawn(page), drawn(moved)
    assert across == pytest.approx(0.5 * wide, abs=0.06 * wide)
    assert x2 - x1 == pytest.approx(0.3 * wide, abs=2)
    assert y1 == pytest.approx(y2, abs=1)
    assert one.data == without.cards[0].lines[0].pictures[0].data == right.cards[0].lines[0].pictures[0].data
    assert one.alt.endswith("The place is ringed.")
    assert "ringed" not in without.cards[0].lines[0].pictures[0].alt


def test_pages_are_pictures_of_the_same(sheets: CardSheets) -> None:
    pages = cards_pages(sheets)
    assert len(pages) == len(PdfReader(io.BytesIO(cards_pdf(sheets))).pages)
    assert Image.open(io.BytesIO(pages[0])).width == 794


def test_no_cards_are_a_page_without_any(sample: Sample) -> None:
    assert cards_pdf(build_card_sheets(sample.car, (), made_at=MADE_AT)).startswith(b"%PDF")
