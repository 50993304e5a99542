"""What the page of words starts with: our draft, if asked for, what goes out now, and the questions that were asked."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from shutline.usecases.answering import AskedQuestion, OpenQuestion, asked_questions, open_questions
from shutline.usecases.offering import Offered, offered

if TYPE_CHECKING:
    from shutline.store import Store


@dataclass(frozen=True, slots=True)
class WordsStarted:
    """A text to start from, empty unless a draft was asked for; the words that go out now; and the questions.

    `questions` are those that still have no answer, `asked` all that were kept, with whether they are on the page.
    """

    car: str
    title: str
    text: str
    offered: Offered
    questions: tuple[OpenQuestion, ...]
    asked: tuple[AskedQuestion, ...] = ()


def words_started(store: Store, name: str, *, draft: str = "") -> WordsStarted:
    """Give what the page of words starts with.

    Parameters
    ----------
    store : Store
        Where the car is kept.
    name : str
        Its name, or a beginning of it that no other has.
    draft : str
        The length of our draft to start from: line, short, full; none when left out.

    Raises
    ------
    NotFoundError, UserError
        No such car; no such length (slug ``description-asked``).
    """
    from shutline.usecases.describe import describe

    summary = store.find_car("-".join(name.split()))
    text = describe(store, summary.name, length=draft).text if draft else ""
    return WordsStarted(
        summary.name,
        summary.title,
        text,
        offered(store, summary.name),
        open_questions(store, summary.name),
        asked_questions(store, summary.name),
    )
