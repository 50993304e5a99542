"""Share links: the buyer's page of a car under an address that nobody can guess, for as long as it is told to last."""

from __future__ import annotations

import hashlib
import json
import secrets
import shutil
from dataclasses import dataclass, replace
from datetime import UTC, date, datetime, timedelta
from pathlib import Path
from typing import TYPE_CHECKING

from shutline.car.errors import BrokenWorldError, NotFoundError, Problem, UserError
from shutline.car.going_out import Share
from shutline.usecases.buyer_choice import buyer_choice
from shutline.usecases.buyers_page import BuyersPageMade, make_buyers_page
from shutline.usecases.describe import describing_mark
from shutline.usecases.engine_report import engine_mark
from shutline.usecases.guides import guides_mark
from shutline.usecases.house import house
from shutline.usecases.look import find_car
from shutline.usecases.masks import masks_mark
from shutline.usecases.own_words import words_mark
from shutline.usecases.private import private_for, private_mark
from shutline.usecases.progress import Stop, Tell, silent
from shutline.usecases.settings import author as present_author
from shutline.usecases.written import cannot_write

if TYPE_CHECKING:
    from shutline.car.carfile import CarFile
    from shutline.store import Store

EDITION = 5
"""Raised whenever the same car file would give another page."""

_MARK = 16
_TRIES = 3
_KEPT = "made.json"


@dataclass(frozen=True, slots=True)
class SharedLink:
    """A link as it is shown to the firm: where in the workbench it leads, and whether it is open now."""

    share: Share
    path: str
    open: bool


@dataclass(frozen=True, slots=True)
class SharesShown:
    """The share links of a car, the newest first.

    `fresh` tells whether the page is made of the car file as it is now; until it is made anew, links show that it is
    being brought up to date. `page` is what came of the last that was made so.
    """

    car: str
    title: str
    links: tuple[SharedLink, ...]
    fresh: bool
    page: BuyersPageMade | None


def shares(store: Store, name: str) -> SharesShown:
    """Give the share links of a car.

    Raises
    ------
    NotFoundError, UserError
        No car begins so, or several do.
    """
    car = find_car(store, name)
    page = _made(_folder(store, car))
    links = tuple(SharedLink(one, path_of(one), is_open(one)) for one in store.shares(car.name))
    return SharesShown(car.name, car.title, links, page is not None, page)


def share(
    store: Store,
    name: str,
    *,
    until: str | None = None,
    author: str | None = None,
    tell: Tell = silent,
    stop: Stop | None = None,
) -> SharesShown:
    """Make a share link, and the page that it shows.

    Parameters
    ----------
    store : Store
        Where the car is kept.
    name : str
        Its name, or a beginning of it that no other has.
    until : str, optional
        The last day on which it shows something (ISO 8601, a day of UTC); it lasts until it is ended when left out.
    author : str, optional
        Who shares it; the name the user is logged in with when left out.
    tell, stop
        As for `add`.

    Raises
    ------
    NotFoundError, UserError, BrokenWorldError, StoppedError
        As for `make_buyers_page`; or `until` is no day to come (slug ``share-until``).
    """
    ends = None if until is None or not until.strip() else _end_of(until.strip())
    car = find_car(store, name)
    make_shared_page(store, car.name, tell=tell, stop=stop)
    store.add_share(car.name, author=author or present_author(), until=ends)
    return shares(store, car.name)


def end_share(store: Store, name: str, token: str, *, author: str | None = None) -> SharesShown:
    """End a link of a car at once, by its address or a beginning of it; without any, all that are open.

    Raises
    ------
    NotFoundError
        No such car, or it has no link that begins so (slug ``share-unknown``).
    """
    car = find_car(store, name)
    begins = token.rstrip("/").rpartition("/")[2]
    there = [one for one in store.shares(car.name) if one.token.startswith(begins)]
    if not there:
        raise NotFoundError(
            Problem(
                slug="share-unknown",
                where=car.name,
                found="no link of this car begins so" if begins else "it has no link",
                allowed="a link of its own, or the beginning of one",
                advice=f"List them: shutline share {car.name} --kept",
            )
        )
    for one in there:
        if one.ended_at is None:
            store.end_share(one.token, author=author or present_author())
    return shares(store, car.name)


def make_shared_page(store: Store, name: str, *, tell: Tell = silent, stop: Stop | None = None) -> BuyersPageMade:
    """Make the page that links of a car show, unless it is there as the car file is now; errors as for `share`."""
    from shutline.usecases.mask_looks import look_before_going_out

    # What is found is part of what the page is made from.
    look_before_going_out(store, name, tell=tell, stop=stop)
    car = find_car(store, name)
    there = _made(_folder(store, car))
    if there is not None:
        return there
    aside = store.folder / "outputs" / car.name / f".sharing-{secrets.token_hex(4)}"
    try:
        for _ in range(_TRIES):
            before = _mark(store, find_car(store, car.name), masks=False)
            made = make_buyers_page(store, car.name, out=aside / "page", tell=tell, stop=stop)
            # Films are looked through on the way, which may find more to cover; anything else makes the page old.
            now = find_car(store, car.name)
            if _mark(store, now, masks=False) == before:
                break
        else:
            raise _changing(car)
        (aside / _KEPT).write_text(json.dumps(_plain(made)) + "\n", encoding="utf-8")
        folder = _folder(store, now)
        shutil.rmtree(folder, ignore_errors=True)
        with cannot_write(folder):
            aside.rename(folder)
    finally:
        shutil.rmtree(aside, ignore_errors=True)
    for other in folder.parent.glob("shared-*"):
        if other != folder:
            shutil.rmtree(other, ignore_errors=True)
    return _made(folder) or made


def shared_file(store: Store, token: str, file: str) -> Path | None:
    """Give where a file of the page of a link lies; None where the page is not made of the car file as it is now.

    Raises
    ------
    NotFoundError
        There is no such link, it has ended, or its page has no such file: nobody is told which (slug
        ``share-unknown``).
    """
    link = store.share(token)
    if not is_open(link):
        raise _nothing()
    folder = _folder(store, store.car_file(link.car))
    if _made(folder) is None:
        return None
    page = (folder / "page").resolve()
    if "\0" in file:
        raise _nothing()
    path = (page / (file or "index.html")).resolve()
    if not path.is_relative_to(page) or not path.is_file():
        raise _nothing()
    return path


def shared_car(store: Store, token: str) -> str:
    """Give the car of a link that is open; raises NotFoundError as `shared_file` does."""
    link = store.share(token)
    if not is_open(link):
        raise _nothing()
    return link.car


def shared_moment(store: Store, car: str, recording: str, at_s: float) -> str:
    """Give the address within the workbench that shows a stranger a moment on the buyer's page.

    Parameters
    ----------
    store : Store
        Where the car is kept.
    car : str
        Its whole name.
    recording : str
        The id of the recording.
    at_s : float
        Seconds from its start.

    Returns
    -------
    str
        Empty where no link of the car is open, or its page has no film of this recording.
    """
    link = next((one for one in store.shares(car) if is_open(one)), None)
    if link is None:
        return ""
    # A page that has grown old is made anew before it is shown; its films keep their order.
    folders = sorted((store.folder / "outputs" / car).glob("shared-*"), key=lambda one: one.stat().st_mtime)
    page = _made(folders[-1]) if folders else None
    if page is None or recording not in page.shown:
        return ""
    return f"{path_of(link)}#film-{page.shown.index(recording) + 1}-at-{max(0.0, at_s - 1.0):.1f}"


def path_of(link: Share) -> str:
    """Give the address of a link within the workbench."""
    return f"/shared/{link.token}/"


def is_open(link: Share, *, now: datetime | None = None) -> bool:
    """Tell whether a link shows something."""
    if link.ended_at is not None:
        return False
    return link.until is None or (now or datetime.now(UTC)) < datetime.fromisoformat(link.until)


def _folder(store: Store, car: CarFile) -> Path:
    return store.folder / "outputs" / car.name / f"shared-{_mark(store, car)}"


def _mark(store: Store, car: CarFile, *, masks: bool = True) -> str:
    """Give a mark of all that the page is made from, or of all but what is covered."""
    import msgspec

    from shutline import remarks

    sources = (*(one.id for one in car.recordings), *(one.id for one in car.pictures))
    details = house()
    parts = (
        str(EDITION),
        # Who is to see it, and when it was sealed, are no part of the page.
        msgspec.json.encode(replace(car, problems=()), order="deterministic").decode("utf-8", "replace"),
        remarks.edition(),
        words_mark(),
        json.dumps([details.name, details.lines, details.telephone]),
        masks_mark(store, car) if masks else "",
        engine_mark(store, car),
        private_mark(private_for(store, car)),
        repr([(one.id, one.version) for one in store.figures(sources)]),
        guides_mark(),
        describing_mark(store, car),
        repr([one for one in store.questions(car.name) if one.on_page]),
        str(buyer_choice().silent),
    )
    return hashlib.sha256("\0".join(parts).encode("utf-8", "surrogatepass")).hexdigest()[:_MARK]


def _made(folder: Path) -> BuyersPageMade | None:
    try:
        told = json.loads((folder / _KEPT).read_text(encoding="utf-8"))
        told["problems"] = tuple(Problem(**one) for one in told["problems"])
        told["shown"] = tuple(told["shown"])
        return BuyersPageMade(**{**told, "folder": str(folder / "page")})
    except (OSError, ValueError, TypeError, KeyError):
        return None


def _plain(made: BuyersPageMade) -> object:
    import msgspec

    return msgspec.to_builtins(made)


def _changing(car: CarFile) -> BrokenWorldError:
    return BrokenWorldError(
        Problem(
            slug="share-changing",
            where=car.name,
            found=f"the car file was changed each of {_TRIES} times while the page was made",
            allowed="a page of the car file as it is",
            advice="Try again when nobody is at work on it.",
        )
    )


def _end_of(until: str) -> str:
    """Give the moment at which a day ends."""
    try:
        day = date.fromisoformat(until)
    except ValueError:
        day = None
    if day is None or day < datetime.now(UTC).date():
        raise UserError(
            Problem(
                slug="share-until",
                where="the last day of the link",
                found=repr(until[:40]),
                allowed="a day to come, as 2026-12-24",
                advice="Give such a day, or none: then it lasts until you end it.",
            )
        )
    return f"{(day + timedelta(days=1)).isoformat()}T00:00:00Z"


def _nothing() -> NotFoundError:
    return NotFoundError(
        Problem(
            slug="share-unknown",
            where="the link",
            found="there is no such link",
            allowed="a link as it was given",
            advice="Ask whoever gave it.",
        )
    )
