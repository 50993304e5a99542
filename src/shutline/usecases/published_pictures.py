"""The one way out for pictures and films: what a stranger may see of them, and nothing that they tell beside it.

Whatever shows a picture of a car to somebody else (report, contact sheet, clip, copy of a film) takes it from here.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from shutline.car.errors import NotFoundError, Problem

if TYPE_CHECKING:
    from shutline.car.carfile import CarFile, KeptFinding, Picture, Recording
    from shutline.publish.bare import BarePicture, Cover, Pixels, Tells
    from shutline.store import Store

LONGEST_SIDE_PX = 1600
QUALITY = 85


@dataclass(frozen=True, slots=True)
class Shown:
    """Where a picture that goes out comes from.

    `source` is the id of a recording or a picture of the car, `at_s` the moment in a recording, and `sha256` names the
    bytes of the still or the picture as they are kept; None for a frame that is kept nowhere.
    """

    source: str
    at_s: float | None = None
    sha256: str | None = None


FilmCover = Callable[["Pixels", float], "Pixels"]
"""Gives a frame, upright in sRGB, with some of it covered; the second is its moment, seconds."""


def cover_of(store: Store, car: CarFile, shown: Shown) -> Cover | None:
    """Give what covers a picture before it goes out; None where nothing is to be covered."""
    from shutline.usecases.masks import picture_covering

    return picture_covering(store, car, shown.source, at_s=shown.at_s or 0.0, sha256=shown.sha256)


def film_cover(
    store: Store, car: CarFile, recording: Recording, *, start_s: float = 0.0, end_s: float | None = None
) -> FilmCover | None:
    """Give what covers the frames of a film, or of a stretch of it; None where they may be copied as they are."""
    from shutline.usecases.masks import film_covering

    return film_covering(store, car, recording, start_s=start_s, end_s=end_s)


def pictures_out(
    store: Store, car: CarFile, problems: list[Problem], *, findings: Sequence[KeptFinding] | None = None
) -> tuple[dict[str, BarePicture | bytes], dict[str, BarePicture]]:
    """Make the pictures of a report ready to go out: stills by their SHA-256, pictures taken by hand by their id.

    Those of `findings`, or of all that goes out. One that cannot be had is left out, and told in `problems`.
    """
    from shutline.capture.originals import original_path
    from shutline.publish.report.pictures import LONGEST_SIDE_PX, QUALITY

    stills: dict[str, BarePicture | bytes] = {}
    shown_with = car.going_out() if findings is None else findings
    for kept in shown_with:
        said = next((footing.source for footing in kept.finding.footings if footing.start_s is not None), "")
        for still in kept.stills:
            if still.sha256 in stills:
                continue
            try:
                data = original_path(store.derived, still.sha256).read_bytes()
            except OSError:
                problems.append(_still_missing(car, still.sha256))
                continue
            shown = Shown(said, still.at_s, still.sha256)
            made = out_still(store, car, shown, data, longest_side_px=LONGEST_SIDE_PX, quality=QUALITY)
            # Of one that is no picture the report says so.
            stills[still.sha256] = data if made is None else made
    pictures: dict[str, BarePicture] = {}
    sources = {footing.source for kept in shown_with for footing in kept.finding.footings}
    for picture in (picture for picture in car.pictures if picture.id in sources):
        try:
            pictures[picture.id] = out_picture(store, car, picture, longest_side_px=LONGEST_SIDE_PX, quality=QUALITY)
        except NotFoundError as error:
            problems.append(error.problem)
    return stills, pictures


def _still_missing(car: CarFile, sha256: str) -> Problem:
    return Problem(
        slug="still-missing",
        where=f"{car.name}, still {sha256[:12]}",
        found="its file is gone from the store's folder",
        allowed="the report is made without it",
        advice="Put the folder back from a copy.",
    )


def out_still(
    store: Store,
    car: CarFile,
    shown: Shown,
    data: bytes,
    *,
    longest_side_px: int = LONGEST_SIDE_PX,
    quality: int = QUALITY,
) -> BarePicture | None:
    """Make the bytes of a still, or of a frame taken just now, ready to go out; None where they are no picture."""
    from shutline.publish.bare import bare_picture

    cover = cover_of(store, car, shown)
    return bare_picture(data, longest_side_px=longest_side_px, quality=quality, cover=cover)


def out_picture(
    store: Store,
    car: CarFile,
    picture: Picture,
    *,
    longest_side_px: int = LONGEST_SIDE_PX,
    quality: int = QUALITY,
    tells: Tells | None = None,
) -> BarePicture:
    """Make a picture of a car ready to go out.

    Parameters
    ----------
    store : Store
        Where its original is kept.
    car : CarFile
        The car it is of.
    picture : Picture
        One of the car's.
    longest_side_px, quality : int
        Of the JPEG that goes out.
    tells : Tells, optional
        What it may tell of place, device and time; nothing when left out.

    Raises
    ------
    NotFoundError
        Its original is gone, or can no longer be read (slug ``picture-gone``).
    """
    from shutline.capture.originals import original_path
    from shutline.publish.bare import bare_picture

    sha256 = picture.original.sha256
    path = store.linked_path(sha256) or original_path(store.originals, sha256)
    try:
        data = path.read_bytes()
    except OSError as trouble:
        raise _gone(picture, "its original is gone from where it was kept") from trouble
    made = bare_picture(
        data,
        longest_side_px=longest_side_px,
        quality=quality,
        cover=cover_of(store, car, Shown(picture.id, sha256=sha256)),
        tells=tells,
        private=store.private_details(sha256) if tells else None,
        taken_at=picture.taken_at,
    )
    if made is None:
        raise _gone(picture, "its original can no longer be read as a picture")
    return made


def _gone(picture: Picture, found: str) -> NotFoundError:
    return NotFoundError(
        Problem(
            slug="picture-gone",
            where=picture.original.name,
            found=found,
            allowed="pictures whose originals are where they were",
            advice="If it was linked or moved, put it back where it was.",
        )
    )
