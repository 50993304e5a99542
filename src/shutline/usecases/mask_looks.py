"""Look for registration marks, chassis plates and faces in what goes out, before it does; each place once."""

from __future__ import annotations

import io
import os
from collections.abc import Iterator, Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass, replace
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING

from shutline.car.errors import NotFoundError, Problem
from shutline.car.masks import BoxAt, KeptMask, Mask, MaskKind, MaskLook
from shutline.car.recordings import Kind
from shutline.usecases.look import find_car
from shutline.usecases.mask_policy import mask_policy
from shutline.usecases.progress import Step, Stop, Tell, silent

if TYPE_CHECKING:
    from shutline.car.carfile import CarFile, Recording
    from shutline.gauge.masks.film import TimedPicture
    from shutline.gauge.masks.found import Found
    from shutline.store import Store

SOUGHT = (MaskKind.MARK, MaskKind.CHASSIS, MaskKind.FACE)
"""What the program looks for."""

_STAGE = "masks"
_LONGEST_PX = 2000
"""Pictures are looked at no larger than this, pixels."""
_ALIKE = 0.5
"""A find that is so alike to a mask that is there is not proposed again."""
_CHUNK_S = 20.0
_NEARLY_S = 0.02


@dataclass(frozen=True, slots=True)
class Shot:
    """One picture that may go out: `source` is the id of a picture, or of a recording whose frame at `at_s` it is.

    `sha256` names the file of a still, None for a picture that came in by itself; `name` is what a person knows it by.
    """

    source: str
    at_s: float
    sha256: str | None
    name: str
    width: int
    height: int


@dataclass(frozen=True, slots=True)
class Looked:
    """What came of a look: how many pictures and seconds of film, what was found new by kind, and what went wrong."""

    car: str
    pictures: int
    film_s: float
    found: dict[str, int]
    problems: tuple[Problem, ...] = ()


def shots(car: CarFile) -> tuple[Shot, ...]:
    """Give the stills of findings that go out, each once, in the order of the film, then the pictures by themselves."""
    stills: dict[tuple[str, float], Shot] = {}
    names = {recording.id: recording.original.name for recording in car.recordings}
    for kept in car.going_out():
        for still in kept.stills:
            source = next((f.source for f in kept.finding.footings if f.source in names and f.start_s is not None), "")
            if source:
                shot = Shot(source, still.at_s, still.sha256, names[source], still.width, still.height)
                stills.setdefault((source, still.at_s), shot)
    order = list(names)
    in_order = sorted(stills.values(), key=lambda shot: (order.index(shot.source), shot.at_s))
    pictures = (Shot(one.id, 0.0, None, one.original.name, one.width, one.height) for one in car.pictures)
    return (*in_order, *pictures)


def sources_of(car: CarFile) -> tuple[str, ...]:
    """Give the ids of all recordings and pictures of a car."""
    return (*(one.id for one in car.recordings), *(one.id for one in car.pictures))


def look_for_masks(
    store: Store,
    name: str,
    *,
    films: bool = False,
    tell: Tell = silent,
    stop: Stop | None = None,
) -> Looked:
    """Look through the pictures of a car for what is to be covered, and propose masks; each is looked at once.

    Parameters
    ----------
    store : Store
        Where the car is kept.
    name : str
        Its name, or a beginning of it that no other has.
    films : bool
        Look through the films too, whole: slow, and needed only before a copy of a film goes out.

    Raises
    ------
    NotFoundError, UserError
        No car begins so, or several do.
    StoppedError
        `stop` was set; what was looked at is kept.
    """
    stop = stop or Stop()
    car = find_car(store, name)
    before = {kept.id for kept in store.masks(sources_of(car))}
    problems: list[Problem] = []
    done = looked_shots(store, car)
    left = [shot for shot in shots(car) if (shot.source, shot.at_s) not in done]
    looked = 0
    for number, (shot, found_in) in enumerate(_found_in_each(store, car, left, problems, stop)):
        tell(Step(shot.name, _STAGE, number / len(left)))
        if found_in is not None:
            _keep_found(store, shot, found_in)
            looked += 1
    stop.heed(car.name)
    if left:
        tell(Step(car.name, _STAGE, 1.0))
    film_s = 0.0
    if films:
        for recording in car.recordings:
            film_s += look_in_film(store, recording, problems=problems, tell=tell, stop=stop)
    found = dict.fromkeys((kind.value for kind in SOUGHT), 0)
    for kept in store.masks(sources_of(car)):
        if kept.id not in before:
            found[kept.mask.kind.value] = found.get(kept.mask.kind.value, 0) + 1
    return Looked(car.name, looked, film_s, found, tuple(dict.fromkeys(problems)))


def look_at_shot(store: Store, car: CarFile, shot: Shot, problems: list[Problem]) -> bool:
    """Look at one picture unless it was looked at; False where it cannot be, and why is told in `problems`."""
    if (shot.source, shot.at_s) in looked_shots(store, car):
        return True
    found = _found_in(store, car, shot, problems)
    if found is None:
        return False
    _keep_found(store, shot, found)
    return True


def _found_in_each(
    store: Store, car: CarFile, left: Sequence[Shot], problems: list[Problem], stop: Stop
) -> Iterator[tuple[Shot, tuple[Found, ...] | None]]:
    """Look at pictures, one on each processor at a time; after a stop at none any more."""
    if not left:
        return

    def find(shot: Shot) -> tuple[Found, ...] | None:
        return None if stop.asked() else _found_in(store, car, shot, problems)

    with ThreadPoolExecutor(min(os.cpu_count() or 1, len(left)), thread_name_prefix="masks") as pool:
        yield from zip(left, pool.map(find, left), strict=True)


def _found_in(store: Store, car: CarFile, shot: Shot, problems: list[Problem]) -> tuple[Found, ...] | None:
    from shutline.capture.pictures import unpack

    data = bytes_of(store, car, shot)
    picture = None if data is None else unpack(io.BytesIO(data), longest_side_px=_LONGEST_PX)
    if picture is None:
        return None
    try:
        from shutline.gauge.masks.find import find_in_picture
    except ImportError as error:
        problems.append(_not_here(car.name, error))
        return None
    return find_in_picture(picture)


def _keep_found(store: Store, shot: Shot, found: Sequence[Found]) -> None:
    from shutline.gauge.masks.find import finder

    masks = [Mask(shot.source, one.kind, (BoxAt(shot.at_s, one.box),), sureness=one.sureness) for one in found]
    _keep(store, MaskLook(shot.source, shot.at_s, shot.at_s, finder(), 1, {}), masks)


def look_in_film(
    store: Store,
    recording: Recording,
    *,
    start_s: float = 0.0,
    end_s: float | None = None,
    problems: list[Problem],
    tell: Tell = silent,
    stop: Stop | None = None,
) -> float:
    """Look through a stretch of a film unless it was looked through; give how long it was, seconds.

    Parameters
    ----------
    store : Store
        Where it is kept.
    recording : Recording
        Nothing is done with one that is no film.
    start_s, end_s : float
        The stretch, seconds; to its end when left out.
    problems : list of Problem
        What goes wrong is told here.
    """
    stop = stop or Stop()
    length_s = recording.probe.length_s
    if recording.original.kind is not Kind.FILM:
        return 0.0
    end_s = min(end_s if end_s is not None else float("inf"), length_s if length_s is not None else 24 * 3600.0)
    if film_looked_at(store, recording.id, start_s, end_s) or end_s <= start_s:
        return 0.0
    try:
        from shutline.gauge.masks.film import find_in_film
        from shutline.gauge.masks.find import finder

        path = original_of(store, recording)

        def on_look(at_s: float) -> None:
            stop.heed(recording.original.name)
            tell(Step(recording.original.name, _STAGE, min(1.0, (at_s - start_s) / (end_s - start_s))))

        ways, looks = find_in_film(_frames(path, start_s, end_s), on_look=on_look)
        name = finder()
    except ImportError as error:
        problems.append(_not_here(recording.original.name, error))
        return 0.0
    masks = [Mask(recording.id, one.kind, one.way, sureness=one.sureness) for one in ways]
    _keep(store, MaskLook(recording.id, start_s, end_s, name, looks, {}), masks)
    tell(Step(recording.original.name, _STAGE, 1.0))
    return end_s - start_s


def film_looked_at(store: Store, recording: str, start_s: float, end_s: float) -> bool:
    """Tell whether a stretch of a film was looked through, in one look or in several that join."""
    from shutline.gauge.masks.find import finder

    name, reached_s = finder(), start_s
    stretches = sorted(
        (look.start_s, look.end_s)
        for look in store.mask_looks([recording])
        if look.finder == name and look.end_s > look.start_s
    )
    for begins_s, ends_s in stretches:
        if begins_s <= reached_s + _NEARLY_S:
            reached_s = max(reached_s, ends_s)
    return reached_s >= end_s - _NEARLY_S


def original_of(store: Store, recording: Recording) -> Path:
    """Give where the original of a recording lies."""
    from shutline.capture.originals import original_path

    sha256 = recording.original.sha256
    return store.linked_path(sha256) or original_path(store.originals, sha256)


def looked_shots(store: Store, car: CarFile) -> set[tuple[str, float]]:
    """Give the pictures and frames of a car that were looked at as the program looks now, by source and moment."""
    from shutline.gauge.masks.find import finder

    name = finder()
    return {
        (look.source, look.start_s)
        for look in store.mask_looks(sources_of(car))
        if look.finder == name and look.start_s == look.end_s
    }


def look_before_going_out(store: Store, name: str, *, tell: Tell = silent, stop: Stop | None = None) -> Looked | None:
    """Look through the pictures that go out, where the house has what the program finds covered; None where not."""
    if mask_policy().covers != "proposed":
        return None
    return look_for_masks(store, name, tell=tell, stop=stop)


def _keep(store: Store, look: MaskLook, masks: Sequence[Mask]) -> None:
    there = store.masks([look.source])
    found = {kind.value: sum(mask.kind is kind for mask in masks) for kind in SOUGHT}
    store.put_masks(replace(look, found=found), [mask for mask in masks if not _there(mask, there)])


def _there(mask: Mask, there: Sequence[KeptMask]) -> bool:
    """Tell whether a mask of the same kind, whatever its state, already lies where this one would, all its way."""
    for kept in there:
        boxes = [kept.mask.at(one.at_s) for one in mask.way]
        if kept.mask.kind is mask.kind and all(
            box is not None and box.likeness(one.box) >= _ALIKE for box, one in zip(boxes, mask.way, strict=True)
        ):
            return True
    return False


def bytes_of(store: Store, car: CarFile, shot: Shot) -> bytes | None:
    """Give the bytes of a picture as they are kept; None where they are gone or there is no frame."""
    from shutline.capture.originals import original_path

    recording = next((one for one in car.recordings if one.id == shot.source), None)
    if shot.sha256 is not None:
        path = original_path(store.derived, shot.sha256)
    elif recording is not None:
        # A frame that is kept nowhere.
        from shutline.capture.one_frame import frame_at

        taken = frame_at(original_of(store, recording), shot.at_s) if recording.original.kind is Kind.FILM else None
        return None if taken is None else taken.jpeg
    else:
        picture = next((one for one in car.pictures if one.id == shot.source), None)
        if picture is None:
            raise NotFoundError(
                Problem(
                    slug="mask-source-unknown",
                    where=f"{car.name}, {shot.source[:60]!r}",
                    found="the car has no picture of that id",
                    allowed="the id of one of its pictures",
                    advice="Show the car for the ids of its pictures.",
                )
            )
        path = store.linked_path(picture.original.sha256) or original_path(store.originals, picture.original.sha256)
    try:
        return path.read_bytes()
    except OSError:
        return None


def _frames(path: Path, start_s: float, end_s: float) -> Iterator[TimedPicture]:
    """Give the frames of a stretch of film, as close in time as masks are followed."""
    from shutline.capture.frames import open_film
    from shutline.capture.jpeg import light_upright, upright
    from shutline.gauge.masks.film import TimedPicture
    from shutline.gauge.masks.settings import finding

    settings = finding().film
    longest_px = max(settings.lettering_px, settings.faces_px)
    next_s = start_s
    with open_film(path) as film:
        if film is None:
            return
        begins_s = start_s
        while begins_s < end_s:
            ends_s = min(begins_s + _CHUNK_S, end_s)
            runs = film.runs(begins_s, ends_s)
            last_s: float | None = None
            for run in runs:
                for frame in film.decode(run, until_s=ends_s):
                    if frame.at_s < next_s - 1e-6 or frame.at_s > ends_s:
                        continue
                    next_s = max(next_s + settings.follow_s, frame.at_s + settings.follow_s / 2)
                    last_s = frame.at_s
                    image, shape = frame.image, film.pixel_shape
                    yield TimedPicture(
                        frame.at_s,
                        partial(upright, image, pixel_shape=shape, longest_side_px=longest_px),
                        partial(light_upright, image, shape),
                    )
            if last_s is None and not runs:
                return
            begins_s = ends_s


def _not_here(where: str, error: ImportError) -> Problem:
    return Problem(
        slug="masks-not-sought",
        where=where,
        found=f"what reads pictures is not installed on this machine ({error.name or 'a part of it'})",
        allowed="nothing was looked for; only what a person draws is covered",
        advice="Install the package again, or draw the masks yourself.",
    )
