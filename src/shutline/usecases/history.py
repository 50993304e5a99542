"""Who did what when to the findings and facts of a car, the latest first."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal

from shutline.car.carfile import Change, KeptFact, KeptFinding
from shutline.usecases.look import find_car
from shutline.usecases.review import one_of

if TYPE_CHECKING:
    from shutline.store import Store

PROGRAM = "program"
"""Who drew what nobody entered."""


@dataclass(frozen=True, slots=True)
class Line:
    """One change, and what it was made to: a finding or a fact by its id, as it is now."""

    change: Change
    kind: Literal["finding", "fact"]
    id: str
    finding: KeptFinding | None = None
    fact: KeptFact | None = None


@dataclass(frozen=True, slots=True)
class History:
    """The changes of a car's findings and facts, the latest first."""

    name: str
    title: str
    lines: tuple[Line, ...]


def history(store: Store, car: str, ids: Sequence[str] = (), *, program: bool = False) -> History:
    """Give what was done to the findings and facts of a car.

    Parameters
    ----------
    store : Store
        Where it is kept.
    car : str
        The car's name, or a beginning of it that no other has.
    ids : sequence of str
        Only these, by their ids or beginnings of them; with these, the program's changes are given too.
    program : bool
        Give also what the program did, for all of them.

    Raises
    ------
    NotFoundError
        No such car, or nothing of it begins so.
    """
    file = find_car(store, car)
    chosen = [one_of(file, id_) for id_ in dict.fromkeys(ids)]
    lines = []
    for kept in chosen or (*file.findings, *file.facts):
        for change in kept.changes if isinstance(kept, KeptFinding | KeptFact) else ():
            if not (chosen or program) and change.author == PROGRAM:
                continue
            if isinstance(kept, KeptFinding):
                lines.append(Line(change, "finding", kept.id, finding=kept))
            elif isinstance(kept, KeptFact):
                lines.append(Line(change, "fact", kept.id, fact=kept))
    # Sorting keeps the order of those of one moment; turned round at the end, the later of them comes first.
    lines.sort(key=lambda line: line.change.at)
    return History(file.name, file.title, tuple(reversed(lines)))
