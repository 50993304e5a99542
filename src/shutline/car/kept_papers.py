"""Papers as they are kept with a car: their pages, what was read off them, and what people said of it."""

from __future__ import annotations

from dataclasses import dataclass

from shutline.car.changes import Change
from shutline.car.papers import Box, Line, Page, PaperKind, PaperState, Proposal, ReadKind, ReadState
from shutline.car.recordings import Original


@dataclass(frozen=True, slots=True)
class KeptPage:
    """A page as it was read.

    `width` and `height` are pixels of its picture, upright; `picture` is the SHA-256 of that among the derived files.
    Both are 0 and it is empty where the page is damaged. `by_sight` is True where the words were read off the picture,
    False where they stand in the file itself.
    """

    number: int
    turned: int
    width: int
    height: int
    picture: str
    by_sight: bool
    lines: tuple[Line, ...]

    def page(self) -> Page:
        """Give it as those who tell what words mean take it."""
        return Page(self.number, self.lines, self.turned)


@dataclass(frozen=True, slots=True)
class Cover:
    """A stretch of a page that a person said is private: it is black in what goes out."""

    page: int
    box: Box


@dataclass(frozen=True, slots=True)
class KeptRead:
    """Something read off a paper, as it was proposed, and what stands of it now.

    `kind`, `role`, `value` and `unit` are those that were read, or what a person put in their place; `day` is the day
    it is of (``YYYY-MM-DD``, ``YYYY-MM``, ``YYYY``), empty where nobody knows; of a date it is the date. `fact` is the
    id of the fact that it gave. `withdrawn` is True where a later reading no longer tells it and nobody had decided.
    """

    id: str
    read: Proposal
    kind: ReadKind
    role: str
    value: str
    unit: str
    day: str
    state: ReadState
    fact: str | None = None
    withdrawn: bool = False
    version: int = 1
    changes: tuple[Change, ...] = ()


@dataclass(frozen=True, slots=True)
class PaperSaid:
    """What people said of a paper; fields as in `KeptPaper`."""

    id: str
    kind: PaperKind | None
    state: PaperState
    covers: tuple[Cover, ...]
    out_mark: str
    version: int = 1
    changes: tuple[Change, ...] = ()


@dataclass(frozen=True, slots=True)
class KeptPaper:
    """A paper of a car.

    `form` is ``pdf`` or ``picture``; `pages` how many it has, `pages_read` how many were read. `kinds` are those that
    its words tell, likeliest first with their chances; `kind` is what a person said, None while nobody has. `out_mark`
    is empty for a paper that goes to no stranger, else it names what a person looked at when they let it go.
    """

    id: str
    original: Original
    form: str
    pages: int
    pages_read: int
    kinds: tuple[tuple[PaperKind, float], ...]
    kind: PaperKind | None
    state: PaperState
    covers: tuple[Cover, ...]
    out_mark: str
    reads: tuple[KeptRead, ...]
    kept_at: str
    kept_by: str
    version: int = 1
    changes: tuple[Change, ...] = ()

    @property
    def likely(self) -> PaperKind:
        """What it is: as a person said, else the likeliest, else another paper."""
        return self.kind or (self.kinds[0][0] if self.kinds else PaperKind.OTHER)
