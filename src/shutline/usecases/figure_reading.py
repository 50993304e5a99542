"""Read figures off the pictures of a car, and off frames of its films near words that speak of one; each place once."""

from __future__ import annotations

import hashlib
import io
from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass
from typing import TYPE_CHECKING

from shutline.car.errors import NotFoundError, Problem, UserError
from shutline.car.figures import FigureKind
from shutline.car.findings import Position, Side
from shutline.car.recordings import Kind
from shutline.usecases.look import find_car
from shutline.usecases.progress import Step, Stop, Tell, silent
from shutline.usecases.spoken import words_of
from shutline.usecases.stills import check_moment, which_film

if TYPE_CHECKING:
    from pathlib import Path

    from shutline.capture.stills import Moment
    from shutline.car.carfile import CarFile, Picture, Recording
    from shutline.gauge.seen.figures import Read
    from shutline.gauge.seen.lettering import Picture as Pixels
    from shutline.store import Store

EDITION = "figures-1"
"""Changes when the same picture would be read otherwise: then all are read anew, and what people decided stays."""

STAGE = "figures"
_LONGEST_PX = 4000
"""Pictures are unpacked no larger than this, pixels."""

_SHOWN_AT: dict[str, frozenset[FigureKind]] = {
    "instruments": frozenset({FigureKind.ODOMETER}),
    "dash": frozenset({FigureKind.ODOMETER}),
    "chassis_plate": frozenset({FigureKind.CHASSIS}),
    "number_plate": frozenset({FigureKind.MARK}),
    "tyre": frozenset({FigureKind.TYRE_SIZE, FigureKind.TYRE_DATE}),
}
"""What a picture that was taken at a part is likely to show."""

Place = tuple[str | None, Side | None, Position | None]
NOWHERE: Place = (None, None, None)


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


@dataclass(frozen=True, slots=True)
class _Look:
    """A place to look at: a picture, or the best frame of a stretch of film."""

    source: str
    name: str
    wanted: frozenset[FigureKind]
    place: Place = NOWHERE
    picture: Picture | None = None
    film: Recording | None = None
    stretch: tuple[float, float] = (0.0, 0.0)

    @property
    def key(self) -> str:
        """Names all that the look depends on."""
        stretch = "" if self.film is None else f"{self.stretch[0]:.2f}-{self.stretch[1]:.2f}"
        parts = (EDITION, self.source, stretch, *sorted(self.wanted))
        return hashlib.sha256("\x1f".join(parts).encode()).hexdigest()[:32]


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
    looks = [*_pictures(car), *(look for film in car.recordings for look in _near_words(car, film))]
    if sweep:
        looks += [look for film in car.recordings for look in _sweep(film)]
    return _read(store, car, looks, tell=tell, stop=stop or Stop())


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
        look = _Look(found.id, found.original.name, wanted, _place_of(car, found), picture=found)
    elif at_s is not None:
        film = which_film(car, recording)
        check_moment(film, at_s)
        look = _Look(film.id, film.original.name, wanted, film=film, stretch=(at_s, at_s))
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
    return _read(store, car, [look], tell=tell, stop=Stop())


def unread(store: Store, car: CarFile) -> int:
    """Count the places of a car that would be looked at and were not yet."""
    looks = [*_pictures(car), *(look for film in car.recordings for look in _near_words(car, film))]
    keys = {look.key for look in looks}
    return len(keys - store.looked_at(list(keys)))


# Where to look --------------------------------------------------------------------------------------------------------


def _pictures(car: CarFile) -> Iterator[_Look]:
    for picture in car.pictures:
        place = _place_of(car, picture)
        wanted = _SHOWN_AT.get(place[0] or "", frozenset())
        yield _Look(picture.id, picture.original.name, wanted, place, picture=picture)


def _place_of(car: CarFile, picture: Picture) -> Place:
    note = next((note for note in car.notes if note.source == picture.id), None)
    return NOWHERE if note is None else (note.part, note.side, note.position)


def _near_words(car: CarFile, film: Recording) -> Iterator[_Look]:
    """Give the first moments of each kind that the words speak of, as many as the length of the film allows."""
    from shutline.gauge.seen.settings import reading
    from shutline.gauge.seen.spoken import cues

    if film.original.kind is not Kind.FILM:
        return
    settings = reading().film
    given: Counter[FigureKind] = Counter()
    merged: dict[tuple[float, float], set[FigureKind]] = {}
    for cue in cues(words_of(film)):
        stretch = (max(0.0, cue.start_s - settings.before_s), cue.end_s + settings.after_s)
        near = next((other for other in merged if other[0] <= stretch[0] <= other[1]), None)
        if near is not None:
            merged[near].add(cue.kind)
        elif given[cue.kind] < settings.moments_a_kind:
            given[cue.kind] += 1
            merged[stretch] = {cue.kind}
    for stretch, kinds in list(merged.items())[: settings.most_frames(film.probe.length_s)]:
        wanted = frozenset(kinds)
        yield _Look(film.id, film.original.name, wanted, _said_place(car, film, stretch), film=film, stretch=stretch)


def _said_place(car: CarFile, film: Recording, stretch: tuple[float, float]) -> Place:
    """Give the wheel that the words were about, where a finding of a tyre was said in a stretch."""
    for kept in car.going_out():
        for footing in kept.finding.footings:
            said = footing.source == film.id and footing.start_s is not None
            if said and kept.finding.part == "tyre" and stretch[0] <= (footing.start_s or 0.0) <= stretch[1]:
                return "tyre", kept.finding.side, kept.finding.position
    return NOWHERE


def _sweep(film: Recording) -> Iterator[_Look]:
    from shutline.gauge.seen.settings import reading

    every_s = reading().film.sweep_every_s
    if film.original.kind is not Kind.FILM or not film.probe.length_s:
        return
    for number in range(int(film.probe.length_s // every_s) + 1):
        start_s = number * every_s
        end_s = min(start_s + every_s, film.probe.length_s)
        yield _Look(film.id, film.original.name, frozenset(), film=film, stretch=(start_s, end_s))


# Looking --------------------------------------------------------------------------------------------------------------


def _read(store: Store, car: CarFile, looks: list[_Look], *, tell: Tell, stop: Stop) -> FiguresRead:
    done = store.looked_at([look.key for look in looks])
    left = list({look.key: look for look in looks if look.key not in done}.values())
    before = {figure.id for figure in store.figures(sources(car))}
    problems: list[Problem] = []
    looked = refused = 0
    for number, look in enumerate(left):
        stop.heed(look.name)
        tell(Step(look.name, STAGE, number / len(left)))
        came = _look_at(store, look, problems)
        looked += came is not None
        refused += came or 0
    if left:
        tell(Step(left[-1].name, STAGE, 1.0))
    found = Counter(figure.read.kind.value for figure in store.figures(sources(car)) if figure.id not in before)
    return FiguresRead(car.name, looked, dict(found), refused, tuple(dict.fromkeys(problems)))


def sources(car: CarFile) -> tuple[str, ...]:
    """Give the ids of all recordings and pictures of a car."""
    return (*(one.id for one in car.recordings), *(one.id for one in car.pictures))


def _look_at(store: Store, look: _Look, problems: list[Problem]) -> int | None:
    """Read one place and keep what it gave; give how much was refused, None where there was nothing to look at."""
    try:
        from shutline.gauge.seen.figures import read_figures
    except ImportError as error:
        problems.append(_not_here(look.name, error))
        return None
    seen = _pixels(store, look, problems)
    if seen is None:
        return None
    picture, at_s = seen
    read: Read = read_figures(picture, look.wanted)
    crops = [(one, _crop(store, picture, one.box)) for one in read.figures]
    store.put_figures(look.source, crops, key=look.key, at_s=at_s, refused=len(read.refused), place=look.place)
    return len(read.refused)


def _pixels(store: Store, look: _Look, problems: list[Problem]) -> tuple[Pixels, float | None] | None:
    from shutline.capture.originals import original_path
    from shutline.capture.pictures import unpack

    if look.picture is not None:
        sha256 = look.picture.original.sha256
        path = store.linked_path(sha256) or original_path(store.originals, sha256)
        try:
            with path.open("rb") as file:
                picture = unpack(file, longest_side_px=_LONGEST_PX)
        except OSError:
            picture = None
        if picture is None:
            problems.append(_unreadable(look.name))
            return None
        return picture, None
    if look.film is None:
        return None
    sha256 = look.film.original.sha256
    taken = _frame(store.linked_path(sha256) or original_path(store.originals, sha256), look.stretch, problems)
    if taken is None:
        return None
    unpacked = unpack(io.BytesIO(taken[0]))
    return None if unpacked is None else (unpacked, taken[1])


def _frame(path: Path, stretch: tuple[float, float], problems: list[Problem]) -> tuple[bytes, float] | None:
    """Take the sharpest steady frame of a stretch, or the one that stands at a moment."""
    from shutline.capture.one_frame import frame_at
    from shutline.capture.stills import Moment, choose_stills

    if stretch[0] == stretch[1]:
        one = frame_at(path, stretch[0])
        return None if one is None else (one.jpeg, one.at_s)
    moment: Moment = Moment(*stretch)
    (chosen,), told = choose_stills(path, [moment])
    problems.extend(told)
    return None if chosen is None else (chosen.jpeg, chosen.at_s)


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
