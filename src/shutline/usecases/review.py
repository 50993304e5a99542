"""What a person decides about what was heard: confirm, strike, take back. Nothing is deleted.

What a second reading asks, or takes otherwise, is decided in the same way: confirmed, it is a finding that the person
entered; struck, one that they entered and rejected, and it is not asked again.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Literal

from shutline.car.carfile import CarFile, KeptFact, KeptFinding
from shutline.car.errors import NotFoundError, Problem, UserError
from shutline.car.findings import Fact, Finding, State
from shutline.car.second import SecondView
from shutline.usecases.look import find_car
from shutline.usecases.second import adopt, lay_beside, to_decide
from shutline.usecases.settings import author as present_author

if TYPE_CHECKING:
    from shutline.store import Store

Kept = KeptFinding | KeptFact | SecondView
Verb = Literal["confirm", "strike", "undo"]


@dataclass(frozen=True, slots=True)
class Decision:
    """What a person decides about one finding, fact or question.

    `id` is its id, or a beginning that no other of the car has. `version` is the one the person had before them, None
    for whatever is kept now; a question has none.
    """

    id: str
    decision: Verb
    version: int | None = None


@dataclass(frozen=True, slots=True)
class Decided:
    """What stands now of the findings and facts that were decided about."""

    car: str
    findings: tuple[KeptFinding, ...] = ()
    facts: tuple[KeptFact, ...] = ()


def confirm(store: Store, car: str, ids: Sequence[str], *, author: str | None = None) -> Decided:
    """Let findings and facts stand.

    Parameters
    ----------
    store : Store
        Where they are kept.
    car : str
        The car's name, or a beginning of it that no other has.
    ids : sequence of str
        Their ids, or beginnings of them that no other of this car has.
    author : str, optional
        Who says so; the name the user is logged in with when left out.

    Raises
    ------
    NotFoundError
        No car, or nothing of this car, begins so, or several do; then nothing was done.
    StaleError
        Somebody changed one of them meanwhile.
    """
    return decide(store, car, [Decision(id_, "confirm") for id_ in ids], author=author)


def strike(store: Store, car: str, ids: Sequence[str], *, author: str | None = None) -> Decided:
    """Reject findings and facts: they are kept, and go out nowhere. As `confirm` otherwise."""
    return decide(store, car, [Decision(id_, "strike") for id_ in ids], author=author)


def undo(store: Store, car: str, ids: Sequence[str], *, author: str | None = None) -> Decided:
    """Take back the last decision about each, by a new one; raises UserError where there is none. As `confirm`."""
    return decide(store, car, [Decision(id_, "undo") for id_ in ids], author=author)


def undo_last(store: Store, car: str, *, author: str | None = None) -> Decided:
    """Take back what a person decided last on a car, whenever that was; what was decided together is taken together.

    What somebody else has decided about since is left alone: it is not the person's own any more.

    Parameters
    ----------
    store : Store
        Where it is kept.
    car : str
        The car's name, or a beginning of it that no other has.
    author : str, optional
        Whose decision; that of the name the user is logged in with when left out.

    Raises
    ------
    NotFoundError
        No car begins so.
    UserError
        Nothing that this person decided on the car is left to take back (slug ``nothing-of-yours``).
    """
    who = author or present_author()
    with store.together():
        file = find_car(store, car)
        deeds = store.decisions_of(file.name, who)
        if not deeds:
            raise UserError(_nothing_left(file, who))
        last = max(deeds.values())
        # All that is written together is written at one time.
        mine = [id_ for id_, at in deeds.items() if at == last]
        return decide(store, file.name, [Decision(id_, "undo") for id_ in mine], author=who)


def _nothing_left(file: CarFile, who: str) -> Problem:
    kept: tuple[KeptFinding | KeptFact, ...] = (*file.findings, *file.facts)
    changes = [change for one in kept for change in one.changes[1:]]
    others = dict.fromkeys(change.author for change in changes if change.author not in {who, "program"})
    found = f"nothing that {who} decided on this car is left to take back"
    return Problem(
        slug="nothing-of-yours",
        where=file.title,
        found=f"{found}; {', '.join(others)} decided here too" if others else found,
        allowed="one's own decisions, of earlier visits too, the last one first",
        advice="What somebody else decided is taken back under “Who did what” of that finding or fact, or by its id."
        if others
        else "Strike or amend what ought to be otherwise.",
    )


def decide(store: Store, car: str, decisions: Sequence[Decision], *, author: str | None = None) -> Decided:
    """Do several decisions about one car together, or none of them.

    Parameters
    ----------
    store : Store
        Where they are kept.
    car : str
        The car's name, or a beginning of it that no other has.
    decisions : sequence of Decision
        Two about the same thing count once, the first.
    author : str, optional
        Who says so; the name the user is logged in with when left out.

    Raises
    ------
    NotFoundError
        No car, or nothing of this car, begins so, or several do.
    StaleError
        One of them has been changed since the version given; it carries what is kept now and what was wanted.
    UserError
        There is nothing to take back.
    """
    who = author or present_author()
    findings: list[KeptFinding] = []
    facts: list[KeptFact] = []
    # The car is read inside the write, so that nobody changes it between the look and the deed.
    with store.together():
        file = find_car(store, car)
        meant: dict[str, tuple[Kept, Decision]] = {}
        for one in decisions:
            of = one_of(file, one.id, questions=one.decision != "undo")
            meant.setdefault(of.id, (of, one))
        for of, one in meant.values():
            kept = adopt(store, file, of, author=who) if isinstance(of, SecondView) else of
            with as_wanted(one.decision), said_of(file, kept):
                if isinstance(kept, KeptFact):
                    facts.append(_decide_fact(store, kept, one, who))
                elif kept is not of and one.decision == "confirm":
                    findings.append(kept)
                else:
                    findings.append(_decide_finding(store, kept, one, who))
        lay_all_beside(store, file)
    return Decided(file.name, tuple(findings), tuple(facts))


def _decide_finding(store: Store, kept: KeptFinding, one: Decision, author: str) -> KeptFinding:
    version = kept.version if one.version is None else one.version
    if one.decision == "undo":
        return store.undo_finding(kept.id, author=author, expected_version=version)
    return store.change_finding(kept.id, action=one.decision, author=author, expected_version=version)


def _decide_fact(store: Store, kept: KeptFact, one: Decision, author: str) -> KeptFact:
    version = kept.version if one.version is None else one.version
    if one.decision == "undo":
        return store.undo_fact(kept.id, author=author, expected_version=version)
    return store.change_fact(kept.id, action=one.decision, author=author, expected_version=version)


@contextmanager
def as_wanted(verb: Verb) -> Iterator[None]:
    """Let a refused change say in `wanted` what it would have come to: standing (what is amended stands), or struck."""
    from shutline.store import StaleError

    try:
        yield
    except StaleError as stale:
        state = {"confirm": State.STANDS, "strike": State.STRUCK}.get(verb)
        if state is not None and isinstance(stale.wanted, Finding | Fact):
            stale.wanted = replace(stale.wanted, state=state)
        raise


@contextmanager
def said_of(file: CarFile, kept: KeptFinding | KeptFact) -> Iterator[None]:
    """Let a refused decision name the finding or fact in words, not by its id."""
    try:
        yield
    except UserError as error:
        if kept.id in error.problem.where:
            error.problem = replace(error.problem, where=f"{file.title}, {_words_of(kept)}")
        raise


def _words_of(kept: KeptFinding | KeptFact) -> str:
    from shutline.publish.naming import place_name
    from shutline.publish.statement import statement

    if isinstance(kept, KeptFact):
        return f"{kept.fact.name.replace('_', ' ')} {kept.fact.value}"
    of = kept.finding
    return f"{place_name(of.part, of.side, of.position)}: {statement(of)}"


def lay_all_beside(store: Store, car: CarFile) -> None:
    """Lay the second readings of a car, where there are any, beside its findings as they are now."""
    for recording in {reading.recording for reading in car.second_readings}:
        lay_beside(store, car.name, recording)


def one_of(car: CarFile, text: str, *, questions: bool = False) -> Kept:
    """Give the finding or fact of a car that an id, or a beginning of one, names.

    Parameters
    ----------
    car : CarFile
        Where to look.
    text : str
        The id, or a beginning of it that no other has.
    questions : bool
        Look among what second readings put before a person too.

    Raises
    ------
    NotFoundError
        Nothing begins so, or several do (slug ``statement-unknown``).
    """
    everything: tuple[Kept, ...] = (*car.findings, *car.facts, *(to_decide(car) if questions else ()))
    begins = [kept for kept in everything if text and kept.id.startswith(text.lower())]
    if len(begins) == 1:
        return begins[0]
    raise NotFoundError(
        Problem(
            slug="statement-unknown",
            where=f"{car.name}, {text!r}",
            found="no finding or fact begins so" if not begins else f"{len(begins)} findings and facts begin so",
            allowed="an id, or a beginning of one that no other of this car has; nothing was done",
            advice=f"See the ids with `shutline show {car.name}`.",
        )
    )
