"""What was taken off papers, as events of the car's timeline."""

from __future__ import annotations

from typing import TYPE_CHECKING

from shutline.car.papers import PaperKind, PaperState, ReadKind, ReadState
from shutline.history.paper_facts import fact_given, work_words
from shutline.history.timeline import Event, EventKind
from shutline.usecases.told_facts import on_paper

if TYPE_CHECKING:
    from shutline.car.carfile import CarFile

KINDS = {
    PaperKind.REGISTRATION: "registration document",
    PaperKind.TEST: "test certificate",
    PaperKind.INVOICE: "invoice",
    PaperKind.SERVICE: "service stamps",
    PaperKind.LETTER: "letter",
    PaperKind.IMPORT: "import paper",
    PaperKind.OTHER: "another paper",
}
"""What each kind of paper is called."""


def paper_events(car: CarFile) -> list[Event]:
    """Give the days that were taken off papers: work where they tell of it, else what the paper says of the day."""
    events = []
    for paper in car.papers:
        if paper.state is PaperState.OTHER:
            continue
        for read in paper.reads:
            if read.kind is not ReadKind.DATE or read.state is not ReadState.TAKEN:
                continue
            how, day = on_paper(paper, read)
            # A date that is a fact of the car is told as that.
            if day is None or fact_given(read.kind, read.role, read.value) is not None:
                continue
            work = work_words(read.role)
            kind = EventKind.PAPER if work is None else EventKind.WORK
            words = work or ", ".join(part for part in (KINDS[paper.likely], read.role) if part)
            events.append(Event(kind, day, words, how))
    return events
