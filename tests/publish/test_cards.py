"""Job cards read back by pypdf: every job, word and caution is on paper, and each trade begins a page."""

from __future__ import annotations

import io
import re
from typing import TYPE_CHECKING

import pytest
from PIL import Image
from pypdf import PdfReader

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


def test_pages_are_pictures_of_the_same(sheets: CardSheets) -> None:
    pages = cards_pages(sheets)
    assert len(pages) == len(PdfReader(io.BytesIO(cards_pdf(sheets))).pages)
    assert Image.open(io.BytesIO(pages[0])).width == 794


def test_no_cards_are_a_page_without_any(sample: Sample) -> None:
    assert cards_pdf(build_card_sheets(sample.car, (), made_at=MADE_AT)).startswith(b"%PDF")
