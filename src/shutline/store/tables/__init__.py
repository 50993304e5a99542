"""The tables of the store, in types that SQLite and PostgreSQL both have."""

from __future__ import annotations

from shutline.store.columns import Verbatim
from shutline.store.tables.cars import (
    car,
    car_words,
    note,
    original,
    original_name,
    picture,
    private_details,
    recording,
)
from shutline.store.tables.heard import heard_segment, problem, second_answer, second_reading, stage, stretch
from shutline.store.tables.histories import test_history, test_history_change
from shutline.store.tables.ledger import ledger_answer, ledger_entry
from shutline.store.tables.market import (
    comparable,
    comparable_change,
    comparable_file,
    comparable_map,
    comparable_map_change,
)
from shutline.store.tables.measured import reading, reading_change
from shutline.store.tables.outgoing import offered_text, private_words, question, question_page, sealed_file, share
from shutline.store.tables.papers import paper, paper_change, paper_page, paper_read, paper_read_change
from shutline.store.tables.past import past, past_change
from shutline.store.tables.pictures import (
    engine_note,
    figure,
    figure_change,
    figure_look,
    mask,
    mask_change,
    mask_look,
    picture_place,
    ring,
    ring_change,
)
from shutline.store.tables.prep import prep_decision, prep_decision_change, prep_done, prep_done_change
from shutline.store.tables.prices import price_said, price_said_change
from shutline.store.tables.shape import metadata
from shutline.store.tables.statements import change, fact, finding, finding_still, footing, odds_decision, still

__all__ = (
    "REVISION",
    "Verbatim",
    "car",
    "car_words",
    "change",
    "comparable",
    "comparable_change",
    "comparable_file",
    "comparable_map",
    "comparable_map_change",
    "engine_note",
    "fact",
    "figure",
    "figure_change",
    "figure_look",
    "finding",
    "finding_still",
    "footing",
    "heard_segment",
    "ledger_answer",
    "ledger_entry",
    "mask",
    "mask_change",
    "mask_look",
    "metadata",
    "note",
    "odds_decision",
    "offered_text",
    "original",
    "original_name",
    "paper",
    "paper_change",
    "paper_page",
    "paper_read",
    "paper_read_change",
    "past",
    "past_change",
    "picture",
    "picture_place",
    "prep_decision",
    "prep_decision_change",
    "prep_done",
    "prep_done_change",
    "price_said",
    "price_said_change",
    "private_details",
    "private_words",
    "problem",
    "question",
    "question_page",
    "reading",
    "reading_change",
    "recording",
    "ring",
    "ring_change",
    "sealed_file",
    "second_answer",
    "second_reading",
    "share",
    "stage",
    "still",
    "stretch",
    "test_history",
    "test_history_change",
)

# The newest migration; a store that stands at another revision is upgraded, or refused when it is newer.
REVISION = "0031"
