"""What is left out of all that goes out because it may not leave, and where: told to the house alone."""

from __future__ import annotations

from collections.abc import Iterator
from difflib import SequenceMatcher
from typing import TYPE_CHECKING

from shutline.publish.report.times import moment
from shutline.publish.wording import choose, joined, phrase
from shutline.usecases.accepted_words import accepted_out

if TYPE_CHECKING:
    from shutline.car.carfile import CarFile
    from shutline.publish.private import Private
    from shutline.store import Store

_MARKS = ".,;:!?"


def left_out_told(store: Store, car: CarFile, private: Private) -> tuple[str, ...]:
    """Say what is left out and where.

    Parameters
    ----------
    store : Store
        Where the car is kept.
    car : CarFile
        With everything that is kept.
    private : Private
        What may not leave.

    Returns
    -------
    tuple of str
        A sentence for each text from which something goes, with what goes, and one for each film, with the moments.
    """
    told = [
        phrase("private.left_out", where=phrase(f"private.{where}"), words=words)
        for where, text in _texts(store, car)
        for words in gone(text, private.titled(text) if where == "title" else private.prose(text))
    ]
    spoken = [one for one in car.recordings if one.stretches]
    for number, one in enumerate(spoken, 1):
        spans = private.muted(one.id, one.stretches)
        if spans:
            moments = joined(list(dict.fromkeys(moment(start_s) for start_s, _ in spans)))
            told.append(choose("private.said", len(spoken), moments=moments, number=number))
    return tuple(dict.fromkeys(told))


def gone(text: str, left: str) -> Iterator[str]:
    """Give the runs of words of a text that are not in what is left of it.

    >>> list(gone("It runs. Augusta had it. It is dry.", "It runs. It is dry."))
    ['Augusta had it']
    """
    before = text.split()
    # A mark may move to the word before.
    bare, bare_left = ([word.rstrip(_MARKS) for word in words] for words in (before, left.split()))
    for what, first, end, *_ in SequenceMatcher(None, bare, bare_left, autojunk=False).get_opcodes():
        if what in {"delete", "replace"}:
            yield " ".join(before[first:end]).rstrip(_MARKS)


def _texts(store: Store, car: CarFile) -> Iterator[tuple[str, str]]:
    yield "title", car.title
    offered = accepted_out(store, car)
    if offered is not None:
        for paragraph in offered.words.splitlines():
            yield "offered", paragraph
    for question in store.questions(car.name):
        if question.on_page:
            yield "question", question.words
    for kept in car.told():
        if kept.put_right is not None:
            yield "put_right", kept.put_right.words
