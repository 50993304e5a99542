"""Papers brought in: the original kept, and each page as soon as it is read, so that a long one goes on from there."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import TYPE_CHECKING

from shutline.car.errors import Problem, UserError
from shutline.car.kept_papers import KeptPage, KeptPaper
from shutline.car.recordings import Kind
from shutline.usecases.add import called_as
from shutline.usecases.look import find_car
from shutline.usecases.papers_telling import tell_again
from shutline.usecases.progress import Step, Stop, Tell, silent
from shutline.usecases.settings import author as present_author

if TYPE_CHECKING:
    from shutline.capture.paper_files import PageDrawn, PaperFile
    from shutline.store import Store

_COPYING, _READING = "copying", "pages"


@dataclass(frozen=True, slots=True)
class PaperCame:
    """What came of one paper.

    `paper` is its id, empty where it could not be taken; then `error` says why. `new` is False where the car had it.
    `waiting` counts what was read off it and waits for a person.
    """

    name: str
    paper: str = ""
    new: bool = False
    pages: int = 0
    pages_read: int = 0
    waiting: int = 0
    problems: tuple[Problem, ...] = ()
    error: Problem | None = None


@dataclass(frozen=True, slots=True)
class PapersCame:
    """What came of bringing papers in, in the order they were given."""

    car: str
    papers: tuple[PaperCame, ...]


def enter_papers(
    store: Store,
    name: str,
    files: Sequence[Path],
    *,
    password: str = "",
    link: bool = False,
    arrived: Mapping[Path, str] | None = None,
    author: str | None = None,
    tell: Tell = silent,
    stop: Stop | None = None,
) -> PapersCame:
    """Bring papers into a car file and read them; one that cannot be taken does not stop the others.

    Parameters
    ----------
    store : Store
        Where the car is kept.
    name : str
        Its name, or a beginning of it that no other has.
    files : sequence of Path
        PDFs and pictures.
    password : str
        Of those that are under one; it is kept nowhere.
    link : bool
        Leave the originals where they are and keep the way to them.
    arrived : mapping of Path to str, optional
        Files that were sent and lie in the store's folder, with the names they were sent under.
    author : str, optional
        Who brings them; the name the user is logged in with when left out.
    tell, stop
        As for `add`.

    Raises
    ------
    NotFoundError, UserError
        No car begins so, or several do.
    BrokenWorldError
        The disk or the store failed.
    StoppedError
        `stop` was set; what is read is kept, and the same call goes on.
    """
    car = store.find_car("-".join(name.split())).name
    stop, by = stop or Stop(), author or present_author()
    named = {path: (arrived or {}).get(path, path.name) for path in files}
    refused: dict[Path, Problem] = {}
    taken: dict[Path, tuple[KeptPaper, bool]] = {}
    # All are kept before the first is read: one that is stopped loses none of the others.
    for path, called in named.items():
        try:
            taken[path] = _take_in(
                store, car, path, called, password=password, link=link, ours=path in (arrived or {}), by=by, tell=tell
            )
        except UserError as error:
            refused[path] = called_as(error.problem, path, called)
    came = []
    for path, called in named.items():
        if path in refused:
            came.append(PaperCame(called, error=refused[path]))
            continue
        paper, new = taken[path]
        try:
            problems = _read(store, car, paper, path, password=password, tell=tell, stop=stop)
        except UserError as error:
            came.append(PaperCame(called, paper=paper.id, error=called_as(error.problem, path, called)))
        else:
            came.append(_came(store, car, paper, called, new=new, problems=problems))
    return PapersCame(car, tuple(came))


def read_on(
    store: Store,
    name: str,
    *,
    password: str = "",
    again: bool = False,
    tell: Tell = silent,
    stop: Stop | None = None,
) -> PapersCame:
    """Go on with the papers of a car that were not read to their end, and tell anew what was read of each.

    Parameters
    ----------
    store, name, password, tell, stop
        As for `enter_papers`.
    again : bool
        Tell also of the papers that were told of before: after the words that papers are told by have changed. What a
        person decided stays.

    Raises
    ------
    NotFoundError, UserError, StoppedError
        As for `enter_papers`.
    """
    from shutline.capture.originals import original_path

    car = find_car(store, name)
    stop = stop or Stop()
    came = []
    for paper in car.papers:
        called, sha256 = paper.original.name, paper.original.sha256
        told_before = store.told_pages(paper.id) == paper.pages
        if paper.pages_read == paper.pages and told_before and not again:
            continue
        path = store.linked_path(sha256) or original_path(store.originals, sha256)
        try:
            problems = _read(store, car.name, paper, path, password=password, tell=tell, stop=stop)
        except UserError as error:
            came.append(PaperCame(called, paper=paper.id, error=called_as(error.problem, path, called)))
        else:
            came.append(_came(store, car.name, paper, called, new=False, problems=problems))
    return PapersCame(car.name, tuple(came))


def _take_in(
    store: Store,
    car: str,
    path: Path,
    called: str,
    *,
    password: str,
    link: bool,
    ours: bool,
    by: str,
    tell: Tell,
) -> tuple[KeptPaper, bool]:
    """Keep a paper that can be opened; give it, and whether it is new."""
    from shutline.capture.originals import take_in
    from shutline.capture.paper_files import open_paper

    with open_paper(path, password=password) as opened:
        original = take_in(
            path,
            store.originals,
            link=link,
            ours=ours,
            kind=Kind.PAPER,
            on_progress=lambda done: tell(Step(called, _COPYING, done)),
        )
        original = replace(original, name=called) if ours else original
        linked = path.resolve() if link else None
        return store.add_paper(car, original, form=opened.form, pages=opened.pages, author=by, linked_path=linked)


def _read(
    store: Store, car: str, paper: KeptPaper, path: Path, *, password: str, tell: Tell, stop: Stop
) -> tuple[Problem, ...]:
    from shutline.capture.paper_files import open_paper

    if paper.pages_read == paper.pages:
        tell_again(store, car, paper.id)
        return ()
    with open_paper(path, password=password) as opened:
        return _read_pages(store, car, paper, opened, tell=tell, stop=stop)


def _read_pages(
    store: Store, car: str, paper: KeptPaper, opened: PaperFile, *, tell: Tell, stop: Stop
) -> tuple[Problem, ...]:
    """Read the pages that were not read yet, keep each as soon as it is, and tell what the words of all of them say."""
    name = paper.original.name
    done = {page.number for page in store.paper_pages(paper.id)}
    problems = []
    try:
        for number in range(1, opened.pages + 1):
            if number in done:
                continue
            stop.heed(name)
            tell(Step(name, _READING, (number - 1) / opened.pages, f"page {number} of {opened.pages}"))
            drawn = opened.draw(number)
            if drawn is None:
                problems.append(_damaged(name, number))
            store.put_page(paper.id, _page(store, number, drawn))
    finally:
        # Of one that was stopped, what was read of it is told.
        tell_again(store, car, paper.id)
    tell(Step(name, _READING, 1.0))
    return tuple(problems)


def _page(store: Store, number: int, drawn: PageDrawn | None) -> KeptPage:
    if drawn is None:
        return KeptPage(number, 0, 0, 0, "", by_sight=False, lines=())
    picture, lines, turned = drawn.picture, drawn.lines, drawn.turned
    if not lines:
        from shutline.gauge.pages import read_page

        read, picture = read_page(picture, number=number)
        lines, turned = read.lines, read.turned
    high, wide = picture.shape[:2]
    return KeptPage(number, turned, wide, high, _kept_picture(store, picture), by_sight=not drawn.lines, lines=lines)


def _kept_picture(store: Store, picture: object) -> str:
    """Keep the picture of a page among the derived files; give its SHA-256."""
    import cv2
    import numpy as np

    from shutline.capture.limits import limits
    from shutline.capture.originals import write_once

    pixels = np.asarray(picture, np.uint8)[..., ::-1]
    done, packed = cv2.imencode(".jpg", pixels, (cv2.IMWRITE_JPEG_QUALITY, limits().papers.jpeg_quality))
    if not done:
        raise ValueError(f"a page of shape {pixels.shape} could not be packed as JPEG")
    return write_once(store.derived, packed.tobytes())


def _came(
    store: Store, car: str, paper: KeptPaper, called: str, *, new: bool, problems: tuple[Problem, ...]
) -> PaperCame:
    from shutline.car.papers import ReadState

    kept = next(one for one in store.papers(car) if one.original.sha256 == paper.original.sha256)
    waiting = sum(one.state is ReadState.OPEN and not one.withdrawn for one in kept.reads)
    return PaperCame(called, kept.id, new, kept.pages, kept.pages_read, waiting, problems)


def _damaged(name: str, number: int) -> Problem:
    return Problem(
        slug="paper-page-damaged",
        where=f"{name}, page {number}",
        found="it cannot be drawn",
        allowed="the other pages are read; the original is kept as it came",
        advice="Open it to see whether the page is whole, or scan it again.",
    )
