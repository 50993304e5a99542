"""What a person decides about what was heard: confirm, strike, take back. Nothing is deleted.

What a second reading asks, or takes otherwise, is decided in the same way: confirmed, it is a finding that the person
entered; struck, one that they entered and rejected, and it is not asked again.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal

from shutline.car.carfile import KeptFact, KeptFinding
from shutline.car.errors import NotFoundError, Problem
from shutline.car.second import SecondView
from shutline.usecases.look import find_car
from shutline.usecases.second import adopt, lay_beside, to_decide
from shutline.usecases.settings import author as present_author

if TYPE_CHECKING:
    from shutline.store import Store

Kept = KeptFinding | KeptFact | SecondView


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
    return _decide(store, car, ids, "confirm", author=author)


def strike(store: Store, car: str, ids: Sequence[str], *, author: str | None = None) -> Decided:
    """Reject findings and facts: they are kept, and go out nowhere. As `confirm` otherwise."""
    return _decide(store, car, ids, "strike", author=author)


def undo(store: Store, car: str, ids: Sequence[str], *, author: str | None = None) -> Decided:
    """Take back the last decision about each, by a new one; raises UserError where there is none. As `confirm`."""
    return _decide(store, car, ids, "undo", author=author)


def _decide(
    store: Store, car: str, ids: Sequence[str], decision: Literal["confirm", "strike", "undo"], *, author: str | None
) -> Decided:
    file = find_car(store, car)
    everything: tuple[Kept, ...] = (*file.findings, *file.facts, *(() if decision == "undo" else to_decide(file)))
    meant = [_one(everything, text, file.name) for text in dict.fromkeys(ids)]
    who = author or present_author()
    findings: list[KeptFinding] = []
    facts: list[KeptFact] = []
    with store.together():
        for one in meant:
            kept = adopt(store, file, one, author=who) if isinstance(one, SecondView) else one
            if isinstance(kept, KeptFinding) and kept is not one and decision == "confirm":
                findings.append(kept)
                continue
            of, version = kept.id, kept.version
            if isinstance(kept, KeptFinding):
                findings.append(
                    store.undo_finding(of, author=who, expected_version=version)
                    if decision == "undo"
                    else store.change_finding(of, action=decision, author=who, expected_version=version)
                )
            else:
                facts.append(
                    store.undo_fact(of, author=who, expected_version=version)
                    if decision == "undo"
                    else store.change_fact(of, action=decision, author=who, expected_version=version)
                )
        for recording in {reading.recording for reading in file.second_readings}:
            lay_beside(store, file.name, recording)
    return Decided(file.name, tuple(findings), tuple(facts))


def _one(everything: Sequence[Kept], text: str, car: str) -> Kept:
    begins = [kept for kept in everything if text and kept.id.startswith(text.lower())]
    if len(begins) == 1:
        return begins[0]
    raise NotFoundError(
        Problem(
            slug="statement-unknown",
            where=f"{car}, {text!r}",
            found="no finding or fact begins so" if not begins else f"{len(begins)} findings and facts begin so",
            allowed="an id, or a beginning of one that no other of this car has; nothing was done",
            advice=f"See the ids with `shutline show {car}`.",
        )
    )
