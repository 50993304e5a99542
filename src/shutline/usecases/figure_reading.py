"""Read figures off the pictures of a car, and off frames of its films near words that speak of one; each place once."""

from __future__ import annotations

import contextlib
import io
import os
from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass
from typing import TYPE_CHECKING

from shutline.car.errors import NotFoundError, Problem, UserError
from shutline.usecases.figure_looks import (
    Look,
    looks_at_pictures,
    looks_each_few_seconds,
    looks_near_words,
    looks_of,
    place_of,
)
from shutline.usecases.look import find_car
from shutline.usecases.progress import Step, Stop, Tell, silent
from shutline.usecases.stills import check_moment, which_film

if TYPE_CHECKING:
    from pathlib import Path

    from shutline.car.carfile import CarFile, Recording
    from shutline.car.figures import FigureKind
    from shutline.gauge.seen.figures import Read
    from shutline.gauge.seen.lettering import Picture as Pixels
    from shutline.store import Store

STAGE = "figures"
_LONGEST_PX = 4000
"""Pictures are unpacked no larger than this, pixels."""

_AT_ONCE = 24
"""So many frames of films are taken at once, and held until they are read."""


@dataclass(frozen=True, slots=True)
class FiguresRead:
    """What a reading gave: how many pictures and frames were looked at, what was found new, and what was unclear.

    `found` counts by kind. `refused` counts what may be a figure and was too unclear to put before anybody.
    """

    car: str
    looked_at: int
    found: dict[str, int]
    refused: int
    problems: tuple[Problem, ...] = ()


def read_figures_of(
    store: Store, name: str, *, sweep: bool = False, tell: Tell = silent, stop: Stop | None = None
) -> FiguresRead:
    """Read the figures off what was not read yet: all pictures, and frames near words that speak of a figure.

    Parameters
    ----------
    store : Store
        Where the car is kept.
    name : str
        Its name, or a beginning of it that no other has.
    sweep : bool
        Look also at a sharp frame each few seconds of its films, whatever is said: slower.

    Raises
    ------
    NotFoundError, UserError
        No car begins so, or several do.
    StoppedError
        `stop` was set; what was read is kept.
    """
    car = find_car(store, name)
    looks = looks_of(car)
    if sweep:
        looks += [look for film in car.recordings for look in looks_each_few_seconds(film)]
    return read_looks(store, car, looks, tell=tell, stop=stop or Stop())


def figures_key(car: CarFile, film: Recording) -> str:
    """Name all that the reading of a film depends on: the places that are looked at, and how."""
    return " ".join(look.key for look in looks_near_words(car, film))


def read_figures_in(
    store: Store, car: CarFile, film: Recording, *, tell: Tell = silent, stop: Stop | None = None
) -> FiguresRead:
    """Read the figures off the frames of one film near words that speak of one; errors as for `read_figures_of`."""
    return read_looks(store, car, list(looks_near_words(car, film)), tell=tell, stop=stop or Stop())


def read_figures_on_picture(
    store: Store, name: str, picture: str, *, tell: Tell = silent, stop: Stop | None = None
) -> FiguresRead:
    """Read the figures off one picture of a car, unless that was done; errors as for `read_figures_of`."""
    car = find_car(store, name)
    looks = [look for look in looks_at_pictures(car) if look.source == picture]
    return read_looks(store, car, looks, tell=tell, stop=stop or Stop())


def read_figures_at(
    store: Store,
    name: str,
    *,
    picture: str | None = None,
    at_s: float | None = None,
    recording: str | None = None,
    kind: FigureKind | None = None,
    tell: Tell = silent,
) -> FiguresRead:
    """Read one picture, or the frame at one moment of a film, for a kind of figure that a person says it shows.

    Parameters
    ----------
    store : Store
        Where the car is kept.
    name : str
        Its name, or a beginning of it that no other has.
    picture : str, optional
        Id of a picture of the car.
    at_s : float, optional
        Seconds from the start of the recording.
    recording : str, optional
        Its id; may be left out where the car has one only.
    kind : FigureKind, optional
        What it shows; whatever has a known form when left out.

    Raises
    ------
    NotFoundError
        No such car, picture or recording (slug ``figure-source-unknown``).
    UserError
        Neither picture nor moment was named, or there is no such moment.
    """
    car = find_car(store, name)
    wanted = frozenset() if kind is None else frozenset({kind})
    if picture is not None:
        found = next((one for one in car.pictures if one.id.startswith(picture) and picture), None)
        if found is None:
            raise NotFoundError(
                Problem(
                    slug="figure-source-unknown",
                    where=f"{car.name}, {picture[:60]!r}",
                    found="the car has no picture of that id",
                    allowed="the id of one of its pictures",
                    advice=f"See the ids with `shutline show {car.name} --json`.",
                )
            )
        look = Look(found.id, found.original.name, wanted, place_of(car, found), picture=found)
    elif at_s is not None:
        film = which_film(car, recording)
        check_moment(film, at_s)
        look = Look(film.id, film.original.name, wanted, film=film, stretch=(at_s, at_s))
    else:
        raise UserError(
            Problem(
                slug="figure-place",
                where=car.name,
                found="neither a picture nor a moment of a film",
                allowed="one of them",
                advice="Name a picture by its id, or a moment.",
            )
        )
    return read_looks(store, car, [look], tell=tell, stop=Stop())


def unread(store: Store, car: CarFile) -> int:
    """Count the places of a car that would be looked at and were not yet."""
    keys = {look.key for look in looks_of(car)}
    return len(keys - store.looked_at(list(keys)))


# Looking --------------------------------------------------------------------------------------------------------------


def read_looks(store: Store, car: CarFile, looks: Sequence[Look], *, tell: Tell, stop: Stop) -> FiguresRead:
    """Read those places of a car that were not read yet; on a stop what was read is kept."""
    done = store.looked_at([look.key for look in looks])
    left = list({look.key: look for look in looks if look.key not in done}.values())
    before = {figure.id for figure in store.figures(sources(car))}
    problems: list[Problem] = []
    looked = refused = ended = 0
    for first in range(0, len(left), _AT_ONCE):
        for look, came in _read_some(store, left[first : first + _AT_ONCE], problems, stop):
            tell(Step(look.name, STAGE, ended / len(left)))
            ended += 1
            if came is not None:
                looked += 1
                refused += _keep(store, look, came)
        stop.heed(car.name)
    if left:
        tell(Step(left[-1].name, STAGE, 1.0))
    found = Counter(figure.read.kind.value for figure in store.figures(sources(car)) if figure.id not in before)
    return FiguresRead(car.name, looked, dict(found), refused, tuple(dict.fromkeys(problems)))


def sources(car: CarFile) -> tuple[str, ...]:
    """Give the ids of all recordings and pictures of a car."""
    return (*(one.id for one in car.recordings), *(one.id for one in car.pictures))


@dataclass(frozen=True, slots=True)
class _Came:
    """What a look gave: the picture with its moment, where it has one, and what was read off it."""

    picture: Pixels
    at_s: float | None
    read: Read


def _read_some(
    store: Store, looks: Sequence[Look], problems: list[Problem], stop: Stop
) -> Iterator[tuple[Look, _Came | None]]:
    """Read some places, one on each processor at a time; None where there is nothing to look at."""
    try:
        from shutline.gauge.seen.figures import read_figures
    except ImportError as error:
        problems.append(_not_here(looks[0].name, error))
        return
    frames = _frames(store, looks, problems, stop)

    def read(look: Look) -> tuple[_Came | None, list[Problem]]:
        told: list[Problem] = []
        if stop.asked():
            return None, told
        seen = _pixels(store, look, frames, told)
        return (None if seen is None else _Came(*seen, read_figures(seen[0], look.wanted))), told

    with ThreadPoolExecutor(min(os.cpu_count() or 1, len(looks)), thread_name_prefix="figures") as pool:
        for look, (came, told) in zip(looks, pool.map(read, looks), strict=True):
            problems.extend(told)
            yield look, came


def _keep(store: Store, look: Look, came: _Came) -> int:
    """Keep what a look gave; give how much of it was too unclear to be offered."""
    crops = [(one, _crop(store, came.picture, one.box)) for one in came.read.figures]
    refused = len(came.read.refused)
    store.put_figures(look.source, crops, key=look.key, at_s=came.at_s, refused=refused, place=look.place)
    return refused


Frame = tuple[bytes, float]
"""A frame of a film as JPEG, and its moment in seconds."""


def _frames(store: Store, looks: Sequence[Look], problems: list[Problem], stop: Stop) -> dict[str, Frame]:
    """Take the sharpest steady frame of each stretch, or the one at a moment; all of one film in one go."""
    from shutline.capture.one_frame import frame_at
    from shutline.capture.stills import Moment, choose_stills

    found: dict[str, Frame] = {}
    stretches: dict[str, list[Look]] = {}
    for look in looks:
        if look.film is None or look.still is not None:
            continue
        if look.stretch[0] < look.stretch[1]:
            stretches.setdefault(look.film.original.sha256, []).append(look)
        elif (one := frame_at(_path(store, look.film.original.sha256), look.stretch[0])) is not None:
            found[look.key] = (one.jpeg, one.at_s)
    for sha256, some in stretches.items():
        moments = [Moment(*look.stretch) for look in some]
        chosen, told = choose_stills(_path(store, sha256), moments, should_stop=stop.asked)
        problems.extend(told)
        found |= {look.key: (one.jpeg, one.at_s) for look, one in zip(some, chosen, strict=True) if one is not None}
    return found


def _pixels(
    store: Store, look: Look, frames: Mapping[str, Frame], problems: list[Problem]
) -> tuple[Pixels, float | None] | None:
    from shutline.capture.originals import original_path
    from shutline.capture.pictures import unpack

    if look.picture is not None:
        try:
            with _path(store, look.picture.original.sha256).open("rb") as file:
                picture = unpack(file, longest_side_px=_LONGEST_PX)
        except OSError:
            picture = None
        if picture is None:
            problems.append(_unreadable(look.name))
            return None
        return picture, None
    frame = frames.get(look.key)
    if look.still is not None:
        with contextlib.suppress(OSError):
            frame = original_path(store.derived, look.still.sha256).read_bytes(), look.still.at_s
    unpacked = None if frame is None else unpack(io.BytesIO(frame[0]))
    return None if frame is None or unpacked is None else (unpacked, frame[1])


def _path(store: Store, sha256: str) -> Path:
    from shutline.capture.originals import original_path

    return store.linked_path(sha256) or original_path(store.originals, sha256)


def _crop(store: Store, picture: Pixels, box: tuple[float, float, float, float]) -> str:
    """Keep the piece of picture around a figure among the derived files; give its SHA-256."""
    import cv2

    from shutline.capture.originals import write_once
    from shutline.gauge.seen.settings import reading

    settings = reading().crop
    high, wide = picture.shape[:2]
    margin = (box[3] - box[1]) * high * settings.margin_heights
    left, right = max(0, round(box[0] * wide - margin)), min(wide, round(box[2] * wide + margin))
    top, low = max(0, round(box[1] * high - margin)), min(high, round(box[3] * high + margin))
    piece = picture[top : max(low, top + 1), left : max(right, left + 1), ::-1]
    scale = min(1.0, settings.longest_side_px / max(piece.shape[:2]))
    if scale < 1.0:
        piece = cv2.resize(piece, None, fx=scale, fy=scale, interpolation=cv2.INTER_AREA)  # type: ignore[assignment]
    done, packed = cv2.imencode(".jpg", piece, (cv2.IMWRITE_JPEG_QUALITY, int(settings.jpeg_quality)))
    if not done:
        raise ValueError(f"a piece of shape {piece.shape} could not be packed as JPEG")
    return write_once(store.derived, packed.tobytes())


def _unreadable(name: str) -> Problem:
    return Problem(
        slug="figure-picture-unreadable",
        where=name,
        found="the picture cannot be unpacked",
        allowed="a picture that is whole, no larger than is unpacked",
        advice="Nothing was read off it; copy it from the camera again.",
    )


def _not_here(name: str, error: ImportError) -> Problem:
    return Problem(
        slug="figures-not-read",
        where=name,
        found=f"the reader of lettering is not there ({error.name or error})",
        allowed="figures typed by hand",
        advice="Install Shutline with all it needs, on a system that it is made for.",
    )
