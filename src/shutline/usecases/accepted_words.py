"""Words that a person accepted in the place of the draft, and whether they still may go out."""

from __future__ import annotations

import hashlib
import json
import re
from dataclasses import replace
from typing import TYPE_CHECKING

from shutline.car.findings import State

if TYPE_CHECKING:
    from collections.abc import Collection

    from shutline.car.carfile import CarFile
    from shutline.car.going_out import OfferedText
    from shutline.publish.private import Private
    from shutline.store import Store
    from shutline.words import Draft

_BLANK_LINES = re.compile(r"\n\s*\n")
_HEADING = re.compile(r"#{1,6} (.*[^#\s]) ?#*")
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
    """Give a draft with the paragraphs of a text in the place of its own, without what may not leave.

    A line with ``#`` before it, as Markdown has it, is the heading of what follows, and so is a line that is a heading
    of the draft.
    """
    from shutline.words.model import Footed, FootedOn, Paragraph, Sentence

    title = " ".join(draft.title.text.split())
    footed = (Footed(FootedOn.HOUSE, _STANDS_ON),)
    paragraphs: list[Paragraph] = []
    for number, (over, told) in enumerate(_with_headings(text, {one.heading for one in draft.paragraphs})):
        # The text as it is started from begins with the title.
        heading, left = ("" if number == 0 and one == title else one for one in (over, told))
        heading, left = private.titled(heading), private.prose(left)
        if heading or left:
            paragraphs.append(Paragraph("accepted", heading, (Sentence(left, footed),) if left else ()))
    return replace(draft, paragraphs=tuple(paragraphs))


def _with_headings(text: str, known: Collection[str]) -> list[tuple[str, str]]:
    """Give the paragraphs of a text with the heading over each, "" where none is; a heading may stand over nothing."""
    found: list[tuple[str, str]] = []
    heading = ""
    for block in _BLANK_LINES.split(text.replace("\r\n", "\n")):
        lines: list[str] = []
        for line in (" ".join(one.split()) for one in block.split("\n")):
            marked = _HEADING.fullmatch(line)
            if marked is None and line not in known:
                lines.append(line)
                continue
            if heading or any(lines):
                found.append((heading, " ".join(filter(None, lines))))
            heading, lines = marked[1] if marked else line, []
        if any(lines):
            found.append((heading, " ".join(filter(None, lines))))
            heading = ""
    return [*found, (heading, "")] if heading else found
