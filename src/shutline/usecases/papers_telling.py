"""What the words of kept papers tell: proposed after each reading, what of it is private, and whether it is ours."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import UTC, datetime
from typing import TYPE_CHECKING

from shutline.car.findings import State
from shutline.car.papers import PaperState, PaperTold, ReadKind, ReadState, Value
from shutline.usecases.house import house
from shutline.usecases.kept_tests import own_marks

if TYPE_CHECKING:
    from collections.abc import Sequence

    from shutline.car.carfile import CarFile
    from shutline.car.kept_papers import KeptPaper, KeptRead
    from shutline.car.papers import Page, Proposal
    from shutline.history.papers import PrivateStretch
    from shutline.store import Store


@dataclass(frozen=True, slots=True)
class Whose:
    """Whether a paper counts for its car, and why in words."""

    counts: bool
    why: str


def tell_again(store: Store, car: str, paper: str) -> None:
    """Propose what the pages of a paper tell that were read so far; what people decided stays."""
    from shutline.history.paper_facts import days_beside, told_lines
    from shutline.history.papers import Known, tell_paper

    file = store.car_file(car)
    pages = [told_lines(page.page()) for page in store.paper_pages(paper)]
    known = Known(
        today=datetime.now(UTC).date(),
        marks=tuple(sorted(own_marks(file))),
        chassis=own_chassis(file),
        house=of_house(),
    )
    told = tell_paper(pages, known=known)
    reads = list(zip(told.proposals, days_beside(told.proposals), strict=True))
    store.put_reads(paper, told.kinds, reads, pages=len(pages))


def private_in(pages: Sequence[Page]) -> tuple[PrivateStretch, ...]:
    """Give every stretch of a paper that is kept from what goes out."""
    from shutline.history.papers import private_words

    return private_words(pages, house=of_house())


def of_house() -> tuple[str, ...]:
    """Give what the house says of itself, which is not private."""
    firm = house()
    return tuple(one for one in (firm.name, *firm.lines, firm.telephone) if one.strip())


def own_chassis(car: CarFile) -> tuple[str, ...]:
    """Give the chassis numbers of a car: those that stand, else those that were heard."""
    facts = [
        kept.fact
        for kept in car.facts
        if kept.fact.name == "chassis_number" and kept.fact.state is not State.STRUCK and not kept.withdrawn
    ]
    standing = [fact for fact in facts if fact.state is State.STANDS] or facts
    return tuple(dict.fromkeys(str(fact.value) for fact in standing))


def whose(car: CarFile, paper: KeptPaper) -> Whose:
    """Tell whether a paper counts for a car: as a person said, else unless it carries another car's mark or number."""
    from shutline.history.papers import of_another_car

    if paper.state is not PaperState.OPEN:
        by = next(one.author for one in reversed(paper.changes) if "state" in one.after)
        if paper.state is PaperState.SAME:
            return Whose(counts=True, why=f"{by} said that it is of this car")
        return Whose(counts=False, why=f"{by} said that it is of another car: it is kept apart")
    # What was taken off this paper says nothing about whose it is.
    given = {one.fact for one in paper.reads if one.fact is not None}
    others = replace(car, facts=tuple(kept for kept in car.facts if kept.id not in given))
    told = of_another_car({paper.id: as_told(paper)}, _all_marks(others, paper), own_chassis(others))
    if paper.id in told:
        return Whose(counts=False, why=f"{told[paper.id]} It is kept apart until somebody has said whose it is.")
    return Whose(counts=True, why="nothing on it is of another car")


def _all_marks(car: CarFile, but: KeptPaper) -> tuple[str, ...]:
    """Give the marks of a car, and the earlier ones that were taken off its other papers."""
    earlier = (
        one.value
        for paper in car.papers
        if paper.id != but.id and paper.state is not PaperState.OTHER
        for one in paper.reads
        if one.kind is ReadKind.MARK and one.state is ReadState.TAKEN
    )
    marks = own_marks(car)
    # An earlier mark alone does not tell what the car carries now.
    return tuple(sorted({*marks, *earlier})) if marks else ()


def as_told(paper: KeptPaper) -> PaperTold:
    """Give what a paper tells as it stands now: as people corrected it, and without what they struck."""
    kept = (one for one in paper.reads if not one.withdrawn and one.state is not ReadState.STRUCK)
    return PaperTold(paper.kinds, tuple(_as_it_stands(one) for one in kept))


def _as_it_stands(one: KeptRead) -> Proposal:
    values = (Value(one.value, one.unit, 1.0),) if one.state is ReadState.TAKEN else one.read.values
    return replace(one.read, kind=one.kind, role=one.role, values=values)
