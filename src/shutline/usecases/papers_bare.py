"""Papers without what is private, as reports write them down and strangers may know them."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from shutline.car.papers import PRIVATE, PaperState, ReadKind, ReadState
from shutline.usecases.paper_events import KINDS

if TYPE_CHECKING:
    from shutline.car.carfile import CarFile
    from shutline.car.kept_papers import KeptPaper


SIGNS = {ReadKind.MARK: "registration_mark", ReadKind.CHASSIS: "chassis_number"}
"""What is read off papers and is covered where the house has such facts covered."""


def bare_papers(car: CarFile) -> tuple[KeptPaper, ...]:
    """Give the papers of a car by number and kind, with what was taken off them that is not private.

    Neither the names of their files nor words off their pages are in them, and nobody's name. Those that a person said
    to be of another car are left out.
    """
    found = []
    for number, paper in enumerate(car.papers, 1):
        if paper.state is PaperState.OTHER:
            continue
        reads = tuple(
            replace(one, read=replace(one.read, words="", why="", values=()), changes=())
            for one in paper.reads
            if one.state is ReadState.TAKEN and one.kind not in PRIVATE and one.read.kind not in PRIVATE
        )
        original = replace(paper.original, name=f"{number} ({KINDS[paper.likely]})")
        found.append(replace(paper, original=original, reads=reads, changes=(), kept_by="", covers=()))
    return tuple(found)
