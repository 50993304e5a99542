"""Words that a person accepted in the place of the draft, and whether they still may go out."""

from __future__ import annotations

import hashlib
import json
import re
from dataclasses import replace
from typing import TYPE_CHECKING

from shutline.car.findings import State

if TYPE_CHECKING:
    from shutline.car.carfile import CarFile
    from shutline.car.going_out import OfferedText
    from shutline.publish.private import Private
    from shutline.store import Store
    from shutline.words import Draft

_BLANK_LINES = re.compile(r"\n\s*\n")
_STANDS_ON = "words that a person accepted"


def accepted_now(store: Store, car: CarFile) -> OfferedText | None:
    """Give the words in force of a car file; None for the draft."""
    from shutline.store.offered import in_force

    return in_force(store.offered_texts(car.name))


def accepted_out(store: Store, car: CarFile) -> OfferedText | None:
    """Give the words in force where they go out: where all that stood when they were accepted stands as it did."""
    there = accepted_now(store, car)
    return there if there is not None and there.mark == standing_mark(car) else None


def accepted_mark(store: Store, car: CarFile) -> str:
    """Give what changes when other words go out."""
    there = accepted_out(store, car)
    return "" if there is None else f"{there.id}"


def standing_mark(car: CarFile) -> str:
    """Give a mark of all that a description may be made from: findings that stand, and facts that are not struck.

    Words are not read anew with each change of a car file; where any of this changes, accepted words might speak of
    what was struck, or leave out a fault that came later, and the draft goes out until they are accepted again.
    """
    from shutline.words.facts import told_plainly

    told = [
        (kept.id, one.part, one.side, one.position, one.condition, one.found, one.severity, one.remedy)
        for kept in car.going_out()
        if (one := kept.finding).state is State.STANDS
    ]
    facts = [
        # One that was only heard is told as said.
        (kept.id, kept.fact.name, kept.fact.value, kept.fact.unit, *(() if told_plainly(kept.fact) else ("heard",)))
        for kept in car.facts
        if kept.fact.state is not State.STRUCK and not kept.withdrawn
    ]
    data = json.dumps([sorted(told, key=repr), sorted(facts, key=repr), car.title, car.drive])
    return hashlib.sha256(data.encode("utf-8", "surrogatepass")).hexdigest()


def in_words(draft: Draft, text: str, private: Private) -> Draft:
    """Give a draft with the paragraphs of a text in the place of its own, and what may not leave taken out of them."""
    from shutline.words.model import Footed, FootedOn, Paragraph, Sentence

    told = [" ".join(one.split()) for one in _BLANK_LINES.split(text.replace("\r\n", "\n"))]
    if told and told[0] in {draft.title.text, " ".join(draft.title.text.split())}:
        told = told[1:]
    footed = (Footed(FootedOn.HOUSE, _STANDS_ON),)
    paragraphs = tuple(Paragraph("accepted", "", (Sentence(private.text(one), footed),)) for one in told if one)
    return replace(draft, paragraphs=paragraphs)
