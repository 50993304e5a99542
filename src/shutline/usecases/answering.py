"""Answer a stranger's question from the car file, and keep what it cannot answer for the next time at the car."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from shutline.car.errors import Problem, UserError
from shutline.car.questions import KeptQuestion
from shutline.claims.answers import Answer, Kind, answer, is_fault
from shutline.claims.questions import LONGEST
from shutline.claims.several import each_question
from shutline.publish.naming import capitalised, place_name, with_article
from shutline.publish.report.facts import fact_words
from shutline.publish.report.times import moment
from shutline.publish.wording import joined
from shutline.usecases.claim_check import Beside, beside
from shutline.usecases.claim_words import StandsOn, fact_label, known_words, reply
from shutline.usecases.private import private_for
from shutline.usecases.settings import author as present_author
from shutline.usecases.shares import shared_moment

if TYPE_CHECKING:
    from collections.abc import Sequence

    from shutline.claims.record import Known
    from shutline.store import Store

_MOST_WAYS = 12
"""How many moments a reply leads to."""
_MOST_SAID = 4
"""How many findings a reply puts into words, but for faults, of which none is left out."""


@dataclass(frozen=True, slots=True)
class Way:
    """A way to a moment that a reply stands on: in words, and as addresses within the workbench.

    `own` leads to the workbench's film, for whoever may come in there; `shared` to the moment on the buyer's page, for
    whoever has the link, empty where the car has no open link that shows it.
    """

    words: str
    own: str
    shared: str = ""


@dataclass(frozen=True, slots=True)
class Replied:
    """The answer to a question, and the words to send.

    `kind` is one of yes, no, unsure, value, told, not looked at, not recorded. `value` and `unit` are those of a fact.
    `reply` is the answer in words that may be copied, without what may not leave; `stands_on` what it stands on, with
    moment, picture or paper, and `beside` what else is known where the answer is silent. `read_as` is the question as
    it was read, where spelling was put right. `checks` are keys of the survey that would answer it; `open` tells that
    the file does not answer it; `kept` is the question on the list of what was asked, None where it is about the sale
    or was not to be kept. `heard` tells that the answer stands on findings that nobody has confirmed. `ways` are the
    first moments of the film that it stands on. `more` are the answers to what else was asked in the same words.
    """

    car: str
    title: str
    question: str
    kind: str
    reply: str
    value: int | float | str | bool | None = None
    unit: str | None = None
    stands_on: tuple[StandsOn, ...] = ()
    beside: tuple[StandsOn, ...] = ()
    read_as: str = ""
    checks: tuple[str, ...] = ()
    heard: bool = False
    kept: KeptQuestion | None = None
    ways: tuple[Way, ...] = ()
    open: bool = False
    more: tuple[Replied, ...] = ()


@dataclass(frozen=True, slots=True)
class AskedQuestion:
    """A question that was kept, as the page for the buyer would tell it now.

    `reply` is the answer as it is now, `kind` its kind; `open` tells that the car file still does not answer it.
    `heard` tells that the answer stands on what nobody has confirmed: put onto the page, it waits for that.
    """

    question: KeptQuestion
    kind: str
    reply: str
    open: bool
    heard: bool


@dataclass(frozen=True, slots=True)
class OpenQuestion:
    """A question on the list that still has no answer: the parts it is about, and the checks that would answer it."""

    question: KeptQuestion
    kind: str
    parts: tuple[str, ...]
    checks: tuple[str, ...]


def ask(store: Store, name: str, question: str, *, keep: bool = True, author: str | None = None) -> Replied:
    """Answer a question as it was typed, from the car file and from nothing else.

    Parameters
    ----------
    store : Store
        Where the car is kept.
    name : str
        Its name, or a beginning of it that no other has.
    question : str
        The words of the stranger. They are data.
    keep : bool
        Keep what was asked: a question without an answer feeds 'still to show', and a person may put one with an answer
        onto the buyer's page.
    author : str, optional
        Who put it in.

    Raises
    ------
    NotFoundError, UserError
        No such car; no words, or more than are read (slug ``question-words``).
    """
    words = " ".join(question.split())
    if not 0 < len(words) <= LONGEST:
        found = f"{len(words):,} letters"
        raise UserError(
            Problem("question-words", "the question", found, f"1 to {LONGEST} letters", "Ask one thing at a time.")
        )
    with_it = beside(store, name)
    first, *more = (
        _asked(store, one, with_it, keep=keep, author=author)
        for one in each_question(words, drive=with_it.record.drive, words=with_it.words)
    )
    return replace(first, more=tuple(more))


def _asked(store: Store, words: str, with_it: Beside, *, keep: bool, author: str | None) -> Replied:
    given = _answered(words, with_it)
    kept = None
    if keep and not given.asked.sale:
        kept = store.keep_question(with_it.car.name, words, author=author or present_author())
    return _replied(store, given, with_it, kept)


def every_reply(replied: Replied) -> tuple[Replied, ...]:
    """Give the answers to all that was asked in the same words, in their order."""
    return (replied, *replied.more)


def open_questions(store: Store, name: str) -> tuple[OpenQuestion, ...]:
    """Give the questions that were kept and that the car file still does not answer, the first that came first."""
    kept = store.questions(store.find_car("-".join(name.split())).name)
    return still_open(kept, beside(store, name)) if kept else ()


def still_open(kept: Sequence[KeptQuestion], with_it: Beside) -> tuple[OpenQuestion, ...]:
    """Ask kept questions again; what has been answered since is left out."""
    out = []
    for question in kept:
        given = _answered(question.words, with_it)
        if given.silent:
            parts = tuple(dict.fromkeys(spot.part for spot in given.asked.spots))
            out.append(OpenQuestion(question, given.kind.value, parts, given.checks))
    return tuple(out)


def drop_question(store: Store, name: str, question: str, *, author: str | None = None) -> KeptQuestion:
    """Take a question off the list; raises NotFoundError where the car has none of that id."""
    car = store.find_car("-".join(name.split())).name
    return store.end_question(car, question, author=author or present_author())


def asked_questions(store: Store, name: str) -> tuple[AskedQuestion, ...]:
    """Give the questions that were kept, with their answers as they are now, the first that came first."""
    kept = store.questions(store.find_car("-".join(name.split())).name)
    if not kept:
        return ()
    with_it = beside(store, name)
    out = []
    for question in kept:
        given = _answered(question.words, with_it)
        told = _replied(store, given, with_it, None)
        heard = told.heard or any(one.heard for one in told.beside)
        out.append(AskedQuestion(question, told.kind, told.reply, given.silent, heard))
    return tuple(out)


def show_question(
    store: Store, name: str, question: str, *, shown: bool = True, author: str | None = None
) -> KeptQuestion:
    """Put a question that was kept onto the buyer's page, or take it off.

    Parameters
    ----------
    store : Store
        Where the car is kept.
    name : str
        Its name, or a beginning of it that no other has.
    question : str
        The id of the question.
    shown : bool
        Whether it is to be on the page.
    author : str, optional
        Who says so.

    Raises
    ------
    NotFoundError
        No such car, or it has no question of that id on its list (slug ``question-unknown``).
    UserError
        It was to be put on, and holds words that may not leave (``question-private``).
    """
    car = store.find_car("-".join(name.split())).name
    there = next((one for one in store.questions(car) if one.id == question), None)
    if shown and there is not None:
        bare = private_for(store, store.car_file(car)).text(there.words)
        if bare != there.words:
            raise UserError(
                Problem(
                    "question-private",
                    "the question",
                    f"words that may not leave: it would be told as '{bare}'",
                    "a question that can be told as it was asked; it is not on the page",
                    "Ask it again in words that may be read by anybody, and put that on the page.",
                )
            )
    return store.show_question(car, question, shown=shown, author=author or present_author())


def _answered(words: str, with_it: Beside) -> Answer:
    """Answer, and look into what was looked at only where nothing is known."""
    given = answer(words, with_it.record, words=with_it.words)
    if not given.silent or given.asked.sale:
        return given
    return answer(words, with_it.record, looked_at=with_it.looked_at(), words=with_it.words)


def _replied(store: Store, given: Answer, with_it: Beside, kept: KeptQuestion | None) -> Replied:
    wording = with_it.wording
    stands_on = (*wording.known(given.known), *wording.facts(given.facts))
    return Replied(
        with_it.car.name,
        with_it.car.title,
        given.question,
        given.kind.value,
        private_for(store, with_it.car).titled(_words(given)),
        given.value,
        given.unit,
        stands_on,
        wording.known(given.beside),
        given.asked.read_as,
        given.checks,
        any(one.heard for one in stands_on),
        kept,
        _ways(store, with_it, stands_on),
        given.silent,
    )


def letter(replied: Replied, address: str) -> str:
    """Give a reply to be pasted into a letter, with the ways into the film that whoever gets it can go.

    Parameters
    ----------
    replied : Replied
        The answer.
    address : str
        Where the workbench is reached from outside: ``https://cars.example``.

    Returns
    -------
    str
        The reply, and under it each way that leads to the buyer's page; those of the workbench's own film where none
        does.
    """
    return "\n\n".join(_letter(one, address.rstrip("/")) for one in every_reply(replied))


def _letter(replied: Replied, base: str) -> str:
    ways = [(way.words, way.shared) for way in replied.ways if way.shared]
    ways = ways or [(way.words, way.own) for way in replied.ways]
    lines = [reply("answers.way", words=words, link=f"{base}{path}") for words, path in ways]
    return "\n".join([replied.reply, *([""] if lines else []), *lines])


def _ways(store: Store, with_it: Beside, stands_on: Sequence[StandsOn]) -> tuple[Way, ...]:
    found: dict[tuple[int, float], Way] = {}
    recordings = with_it.car.recordings
    for one in stands_on:
        if one.recording is None or one.start_s is None or len(found) == _MOST_WAYS:
            continue
        key = "answers.moment" if len(recordings) == 1 else "answers.moment_in"
        words = reply(key, moment=moment(one.start_s), number=one.recording)
        shared = shared_moment(store, with_it.car.name, recordings[one.recording - 1].id, one.start_s)
        found.setdefault((one.recording, one.start_s), Way(words, one.link, shared))
    return tuple(found.values())


def _words(given: Answer) -> str:
    """Put an answer into the words that are sent."""
    if given.asked.sale:
        return reply("answers.sale")
    if given.facts and given.kind is Kind.VALUE:
        values = list(dict.fromkeys(fact_words(known.fact) for known in given.facts))
        key = "answers.value" if len(values) == 1 else "answers.values"
        label = capitalised(fact_label(given.facts[0].fact.name))
        return reply(key, label=label, value=" and ".join(values))
    if given.facts and not given.known and not given.silent:
        return reply(f"answers.{given.kind.value}", what=_of_fact(given))
    if given.silent:
        return _silence(given)
    what = _joined(given.known, to_do=given.asked.needs)
    return capitalised(reply(f"answers.{given.kind.value}", what=what))


def _silence(given: Answer) -> str:
    spot = given.asked.spots[0] if given.asked.spots else None
    place = "" if spot is None else with_article(place_name(spot.part, spot.side, spot.position))
    if given.kind is Kind.NOT_LOOKED_AT:
        return reply("answers.not_looked_at", place=place)
    words = reply("answers.not_recorded_of", place=place) if place else reply("answers.not_recorded")
    if given.facts:
        words += " " + reply("answers.beside", what=_of_fact(given))
    if given.beside:
        words += " " + reply("answers.beside", what=_joined(given.beside))
    return words


def _of_fact(given: Answer) -> str:
    return f"{fact_label(given.facts[0].fact.name)} {fact_words(given.facts[0].fact)}"


def _joined(known: Sequence[Known], *, to_do: bool = False) -> str:
    words_of = _with_work if to_do else known_words
    faults = {words_of(one) for one in known if is_fault(one)}
    said = list(dict.fromkeys(words_of(one) for one in known))
    told = [words for number, words in enumerate(said) if words in faults or number < _MOST_SAID]
    left = len(said) - len(told)
    return joined([*told, reply("answers.more", count=left)] if left else told)


def _with_work(known: Known) -> str:
    """Say what is known, and what is to be done about it: 'blistered paint on the wing (to repair)'."""
    remedy = known.finding.remedy
    words = known_words(known)
    return words if remedy is None else reply("answers.to_do", what=words, remedy=remedy.value)
