"""Papers on their way out: what of their pages is black, who looked at them, and what is told of them in reports."""

from __future__ import annotations

import hashlib
from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from shutline.car.errors import NotFoundError, Problem, UserError
from shutline.car.kept_papers import Cover, KeptPage, KeptPaper
from shutline.car.papers import PRIVATE, Box
from shutline.usecases.look import find_car
from shutline.usecases.papers import one_paper
from shutline.usecases.papers_bare import SIGNS
from shutline.usecases.papers_telling import private_in, whose
from shutline.usecases.private import facts_left_out, private_for
from shutline.usecases.settings import author as present_author

if TYPE_CHECKING:
    from shutline.car.carfile import CarFile
    from shutline.publish.bare import BarePicture
    from shutline.publish.private import Private
    from shutline.store import Store

LONGEST_SIDE_PX, QUALITY = 1600, 80
"""Of a page as it goes out."""
_ROOM = 0.25
"""A stretch is black so many of its heights further than it was found: letters reach below a line."""


@dataclass(frozen=True, slots=True)
class PageOut:
    """A page as it would go out: the boxes that are black, and whether its words were read off the picture.

    `width` and `height` are pixels of the picture it is kept as, out of which it goes no larger.
    """

    number: int
    width: int
    height: int
    by_sight: bool
    boxes: tuple[Box, ...]


@dataclass(frozen=True, slots=True)
class PaperOut:
    """A paper as it would go out.

    `mark` names exactly what is shown; a person who lets it go out gives it back, so that nothing goes out that nobody
    has looked at. `out` tells that this was done for what is shown now, `stale` that it was done for something else.
    """

    car: str
    title: str
    paper: str
    name: str
    mark: str
    out: bool
    stale: bool
    pages: tuple[PageOut, ...]
    version: int


def paper_out(store: Store, name: str, id_: str) -> PaperOut:
    """Give a paper as it would go out.

    Raises
    ------
    NotFoundError, UserError
        No such car or paper.
    """
    car = find_car(store, name)
    paper = one_paper(car, id_)
    pages = _black(store, car, paper)
    mark = _mark(pages)
    return PaperOut(
        car=car.name,
        title=car.title,
        paper=paper.id,
        name=paper.original.name,
        mark=mark,
        out=paper.out_mark == mark,
        stale=bool(paper.out_mark) and paper.out_mark != mark,
        pages=tuple(PageOut(page.number, page.width, page.height, page.by_sight, boxes) for page, boxes in pages),
        version=paper.version,
    )


def let_out(
    store: Store, name: str, id_: str, *, mark: str, version: int | None = None, author: str | None = None
) -> PaperOut:
    """Let a paper go out as a person has just looked at it.

    Parameters
    ----------
    store, name, id_ : Store, str, str
        Where, which car, which paper.
    mark : str
        That of what was looked at (`PaperOut.mark`), or a beginning of it of eight signs at least.
    version : int, optional
        The version the person had before them; whatever is kept now when left out.
    author : str, optional
        Who looked; the name the user is logged in with when left out.

    Raises
    ------
    NotFoundError, UserError
        No such car or paper; it is kept apart or not read to its end, or it shows something else than what was looked
        at (slug ``paper-not-looked``).
    StaleError
        Somebody changed it meanwhile.
    """
    car = find_car(store, name)
    paper = one_paper(car, id_)
    told = whose(car, paper)
    now = paper_out(store, car.name, paper.id)
    if not told.counts:
        raise _not_looked(paper, told.why)
    if paper.pages_read < paper.pages:
        raise _not_looked(paper, f"{paper.pages_read} of its {paper.pages} pages were read")
    if len(mark) < _LEAST_MARK or not now.mark.startswith(mark.lower()):
        raise _not_looked(paper, "it does not show what was looked at")
    store.change_paper(
        car.name,
        paper.id,
        action="looked at and let out",
        author=author or present_author(),
        expected_version=version,
        out_mark=now.mark,
    )
    return paper_out(store, car.name, paper.id)


def hold_back(store: Store, name: str, id_: str, *, version: int | None = None, author: str | None = None) -> PaperOut:
    """Keep a paper from going out; errors as for `paper_out`, and StaleError."""
    car = find_car(store, name)
    paper = one_paper(car, id_)
    store.change_paper(
        car.name,
        paper.id,
        action="held back",
        author=author or present_author(),
        expected_version=version,
        out_mark="",
    )
    return paper_out(store, car.name, paper.id)


def cover_more(
    store: Store,
    name: str,
    id_: str,
    covers: Sequence[Cover],
    *,
    version: int | None = None,
    author: str | None = None,
) -> PaperOut:
    """Let these stretches be those that a person has black beside what was found; it is to be looked at anew then.

    Parameters
    ----------
    covers : sequence of Cover
        All of them, those that were there too.

    Raises
    ------
    NotFoundError, UserError, StaleError
        As for `let_out`; a stretch lies outside of its page, or there is no such page (slug ``paper-value``).
    """
    car = find_car(store, name)
    paper = one_paper(car, id_)
    for cover in covers:
        box = cover.box
        edges = (box.left, box.top, box.left + box.width, box.top + box.height)
        inside = all(0 <= edge <= 1 for edge in edges) and box.width > 0 and box.height > 0
        if not inside or not 1 <= cover.page <= paper.pages:
            raise UserError(
                Problem(
                    slug="paper-value",
                    where=f"{paper.original.name}, page {cover.page}",
                    found=f"a stretch from {edges[0]:g}, {edges[1]:g} to {edges[2]:g}, {edges[3]:g}",
                    allowed=f"a page from 1 to {paper.pages}, and shares of its width and height from 0 to 1",
                    advice="Draw it within the page; nothing was changed.",
                )
            )
    store.change_paper(
        car.name,
        paper.id,
        action="covered otherwise",
        author=author or present_author(),
        expected_version=version,
        covers=tuple(covers),
    )
    return paper_out(store, car.name, paper.id)


def page_out(store: Store, name: str, id_: str, number: int) -> BarePicture:
    """Give the picture of a page as it would go out: private stretches are black in its very pixels.

    Raises
    ------
    NotFoundError
        No such car, paper or page (slug ``paper-page-unknown``), or its picture is gone.
    """
    car = find_car(store, name)
    paper = one_paper(car, id_)
    for page, boxes in _black(store, car, paper):
        if page.number == number and (made := _picture(store, page, boxes)) is not None:
            return made
    raise NotFoundError(
        Problem(
            slug="paper-page-unknown",
            where=f"{paper.original.name}, page {number}",
            found="there is no picture of that page",
            allowed=f"a page from 1 to {paper.pages} that was read and is whole",
            advice="Read the paper to its end first.",
        )
    )


def pictures_let_out(store: Store, car: CarFile, paper: KeptPaper) -> tuple[tuple[int, BarePicture], ...]:
    """Give the pages of a paper that goes out, with their numbers; none unless a person looked at what they show."""
    if not paper.out_mark or not whose(car, paper).counts:
        return ()
    pages = _black(store, car, paper)
    if _mark(pages) != paper.out_mark:
        return ()
    made = ((page.number, _picture(store, page, boxes)) for page, boxes in pages)
    return tuple((number, picture) for number, picture in made if picture is not None)


# What is black --------------------------------------------------------------------------------------------------------

_LEAST_MARK = 8


def _black(store: Store, car: CarFile, paper: KeptPaper) -> list[tuple[KeptPage, tuple[Box, ...]]]:
    """Give the pages of a paper with the boxes that are black in what goes out."""
    pages = store.paper_pages(paper.id)
    private = private_for(store, car)
    left_out = facts_left_out()
    found: dict[int, list[Box]] = {page.number: [] for page in pages}
    for stretch in private_in([page.page() for page in pages]):
        found.setdefault(stretch.page, []).append(stretch.box)
    for one in paper.reads:
        if one.kind in PRIVATE or one.read.kind in PRIVATE or SIGNS.get(one.kind, "") in left_out:
            found.setdefault(one.read.page, []).append(one.read.box)
    for cover in paper.covers:
        found.setdefault(cover.page, []).append(cover.box)
    black = []
    for page in pages:
        boxes = found[page.number]
        boxes += [line.box for line in page.lines if _is_black(line.words, line.score, private, by_sight=page.by_sight)]
        whole = [line.box for line in page.lines if any(_meet(line.box, box) for box in boxes)]
        black.append((page, tuple(sorted({_wider(box) for box in (*boxes, *whole)}, key=_corner))))
    return black


def _is_black(words: str, score: float, private: Private, *, by_sight: bool) -> bool:
    from shutline.history.paper_facts import least_sure

    # What nobody can be sure to have read may be anything.
    return (by_sight and score < least_sure()) or private.text(words) != words


def _meet(line: Box, box: Box) -> bool:
    """Tell whether a line has a part in a box: then all of it is black, for nobody knows where its letters begin."""
    wide = min(line.left + line.width, box.left + box.width) - max(line.left, box.left)
    high = min(line.top + line.height, box.top + box.height) - max(line.top, box.top)
    return wide > 0 and high > 0.3 * min(line.height, box.height)


def _wider(box: Box) -> Box:
    room = _ROOM * box.height
    left, top = max(0.0, box.left - room), max(0.0, box.top - room)
    right, low = min(1.0, box.left + box.width + room), min(1.0, box.top + box.height + room)
    return Box(round(left, 5), round(top, 5), round(right - left, 5), round(low - top, 5))


def _corner(box: Box) -> tuple[float, float, float, float]:
    return box.top, box.left, box.height, box.width


def _mark(pages: Sequence[tuple[KeptPage, tuple[Box, ...]]]) -> str:
    """Name exactly what pages show: their pictures, and what is black in them."""
    told = [(page.number, page.picture, [_corner(box) for box in boxes]) for page, boxes in pages]
    return hashlib.sha256(repr(told).encode()).hexdigest()


def _picture(store: Store, page: KeptPage, boxes: Sequence[Box]) -> BarePicture | None:
    from shutline.capture.originals import original_path
    from shutline.car.masks import Box as Place
    from shutline.gauge.masks.cover import covered
    from shutline.publish.bare import bare_picture

    if not page.picture:
        return None
    try:
        data = original_path(store.derived, page.picture).read_bytes()
    except OSError:
        return None
    places = [
        Place(box.left, box.top, min(1.0, box.left + box.width), min(1.0, box.top + box.height))
        for box in boxes
        if box.width > 0 and box.height > 0
    ]
    return bare_picture(
        data,
        longest_side_px=LONGEST_SIDE_PX,
        quality=QUALITY,
        cover=lambda pixels: covered(pixels, places, colour=(0, 0, 0)),
    )


def _not_looked(paper: KeptPaper, found: str) -> UserError:
    return UserError(
        Problem(
            slug="paper-not-looked",
            where=paper.original.name,
            found=found,
            allowed="a paper of this car, read to its end, that somebody has just looked at as it would go out",
            advice="Look at each page as it would go out, cover what is private, and let it out then.",
        )
    )
