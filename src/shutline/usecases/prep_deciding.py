"""What people decide about preparation: a task refused, a finding promised, what may be spent, what is asked."""

from __future__ import annotations

from typing import TYPE_CHECKING

from shutline.car.errors import Problem, UserError
from shutline.car.prep_decisions import PrepDecision, PrepKind
from shutline.usecases.look import find_car
from shutline.usecases.own_prep import own_prep
from shutline.usecases.prep_worked import check_pence, check_sure
from shutline.usecases.settings import author as present_author

if TYPE_CHECKING:
    from shutline.car.carfile import CarFile
    from shutline.store import Store

LONGEST = 300
"""The longest reason, characters."""
LONGEST_CHANCE = 2


def decide_prep(
    store: Store,
    car: str,
    kind: PrepKind,
    about: str = "",
    *,
    author: str | None = None,
    words: str = "",
    pence: int | None = None,
    holds: bool = True,
    version: int | None = None,
) -> PrepDecision:
    """Keep a decision about preparation, or take it back.

    Parameters
    ----------
    store : Store
        Where the car is kept.
    car : str
        Its name, or a beginning of it that no other has.
    kind : PrepKind
        What it is about.
    about : str
        The id of a task that could be done (`PrepKind.REFUSED`), or of a finding or a beginning of it that no other
        has (`PrepKind.PROMISED`); else empty.
    author : str, optional
        Who decided; whoever is logged in when left out.
    words : str
        Why it is refused, or what was promised; then it must be given. With a budget in how many of a hundred it is to
        be kept to, empty for the expected cost.
    pence : int, optional
        The sum; with a budget or an asking price, and then it must be given.
    holds : bool
        False takes it back.
    version : int, optional
        Refuse it when the decision is at another version.

    Raises
    ------
    NotFoundError, UserError
        No such car, or what was decided cannot be (slugs ``prep-refused``, ``asking-price``).
    StaleError
        Somebody decided otherwise since `version`.
    """
    file = find_car(store, car)
    words = " ".join(words.split())
    if kind in {PrepKind.BUDGET, PrepKind.ASKING}:
        about, words = "", words if kind is PrepKind.BUDGET else ""
        if words:
            _check_chance(words)
        if holds:
            if pence is None:
                raise _refused(kind.value, "no sum", "a sum of money")
            slug = "asking-price" if kind is PrepKind.ASKING else "prep-refused"
            check_pence(pence, slug=slug, where=kind.value, least=int(kind is PrepKind.ASKING))
    else:
        pence = None
        about = _known(store, file, kind, about, holds=holds)
        if holds and not 0 < len(words) <= LONGEST:
            raise _refused(f"{kind.value} {about}", f"{len(words)} characters", f"words, up to {LONGEST} characters")
    return store.decide_prep(
        file.name,
        kind,
        about,
        author=author or present_author(),
        words=words if holds else "",
        pence=pence if holds else None,
        holds=holds,
        expected_version=version,
    )


def keep_budget(
    store: Store, car: str, pence: int | None, *, sure: int | None = None, author: str | None = None
) -> PrepDecision:
    """Keep what may be spent and in how many of a hundred it is to be kept to; None leaves either as it was kept.

    Raises as `decide_prep` does; no sum is given and none is kept (slug ``prep-refused``).
    """
    decided = store.prep_decisions(find_car(store, car).name)
    kept = next((one for one in decided if one.holds and one.kind is PrepKind.BUDGET), None)
    if kept is not None:
        pence = kept.pence if pence is None else pence
    words = "" if kept is None else kept.words
    if sure is not None:
        words = str(sure) if sure else ""
    return decide_prep(store, car, PrepKind.BUDGET, author=author, words=words, pence=pence)


def _known(store: Store, file: CarFile, kind: PrepKind, about: str, *, holds: bool) -> str:
    """Give the id that is meant: what could be done now, or, to take a decision back, what was decided."""
    if not holds:
        ids = {one.about for one in store.prep_decisions(file.name) if one.kind is kind and one.holds}
    elif kind is PrepKind.REFUSED:
        from shutline.prep.tasks import tasks_of

        ids = {task.id for task in tasks_of(file.findings, tables=own_prep()[0]).candidates}
    else:
        ids = {one.id for one in file.going_out()}
    meant = [id_ for id_ in sorted(ids) if id_ == about] or [
        id_ for id_ in sorted(ids) if about and id_.startswith(about)
    ]
    if len(meant) != 1:
        what = "tasks" if kind is PrepKind.REFUSED else "findings"
        raise _refused(
            f"{kind.value} {about[:60]!r}", f"{len(meant)} {what} of that id", f"one of: {', '.join(sorted(ids))}"
        )
    return meant[0]


def _check_chance(words: str) -> None:
    if not (words.isascii() and words.isdecimal() and len(words) <= LONGEST_CHANCE):
        raise _refused("budget", repr(words[:60]), "in how many of a hundred it is to be kept to")
    check_sure(int(words))


def _refused(where: str, found: str, allowed: str) -> UserError:
    return UserError(
        Problem(
            "prep-refused", where, found, allowed[:600], "Show the preparation with the ids: shutline prep CAR --plan."
        )
    )
