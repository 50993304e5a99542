"""Find marks, chassis numbers and faces in a film: looked for in a frame now and then, followed in between."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from concurrent.futures import Future, ThreadPoolExecutor
from dataclasses import dataclass
from itertools import pairwise
from typing import Any

import numpy as np
import numpy.typing as npt

from shutline.car.masks import Box, BoxAt, MaskKind
from shutline.gauge.masks.find import find_in_picture, smaller
from shutline.gauge.masks.found import Found, Picture
from shutline.gauge.masks.settings import FilmFinding, finding

Grey = npt.NDArray[np.uint8]
"""Shape (height, width), uint8: what movement is followed in."""

_FLOW_WINDOW = (15, 15)
_BACK_PX = 1.0
"""A point is followed where following it back again ends within so many pixels of where it began."""
_DECIMALS = 4
_AROUND = 0.8
"""Points are taken from so far around a box too, shares of its shorter side: what is near it mostly moves with it."""
_CORNER = 0.05
"""A point is taken when it is at least so much of a corner as the best one: less is noise."""


@dataclass(frozen=True, slots=True)
class TimedPicture:
    """A frame: seconds from the start of the recording, what gives the picture, and what gives its light.

    `picture` gives (height, width, 3), uint8, RGB, upright; `light`, told a longest side, (height, width), uint8, no
    larger than that. Few frames are looked at, and all of them followed in, so that each is made when it is wanted.
    """

    at_s: float
    picture: Callable[[], Picture]
    light: Callable[[int], Grey]

    @staticmethod
    def of(at_s: float, picture: Picture) -> TimedPicture:
        """Give the frame of a picture that is there already."""
        return TimedPicture(at_s, lambda: picture, lambda longest_px: _grey(picture, longest_px))


@dataclass(frozen=True, slots=True)
class FoundWay:
    """Something found in a film: its way in the order of time, and the greatest sureness of the looks that found it."""

    kind: MaskKind
    way: tuple[BoxAt, ...]
    sureness: float


@dataclass(slots=True)
class _Track:
    kind: MaskKind
    boxes: dict[float, Box]
    sureness: float
    last: Box
    """Where it was at the last look, or was followed to."""
    missed: int = 0


class _Stretch:
    """The frames since the last look, that of the look first; how light they are is made when it is first wanted."""

    def __init__(self) -> None:
        self.times: list[float] = []
        self._lights: list[Callable[[int], Grey]] = []
        self._greys: dict[int, Grey] = {}

    def add(self, frame: TimedPicture) -> None:
        self.times.append(frame.at_s)
        self._lights.append(frame.light)

    def greys(self, longest_px: int) -> list[Grey]:
        for number, light in enumerate(self._lights):
            if number not in self._greys:
                self._greys[number] = light(longest_px)
        return [self._greys[number] for number in range(len(self._lights))]

    def last(self) -> _Stretch:
        """Give the stretch that begins with the last frame of this one."""
        after = _Stretch()
        after.times, after._lights = self.times[-1:], self._lights[-1:]
        return after


def find_in_film(
    frames: Iterable[TimedPicture],
    *,
    look: Callable[[Picture], tuple[Found, ...]] | None = None,
    on_look: Callable[[float], None] | None = None,
) -> tuple[tuple[FoundWay, ...], int]:
    """Find what may be to be covered over a stretch of film.

    Parameters
    ----------
    frames : iterable of TimedPicture
        In the order of time, about as close as ``follow_s`` of `finding.toml`; one in ``every_s`` is looked at.
    look : callable, optional
        What finds in one picture; `find_in_picture` when left out. It is asked in the order of time, in another thread.
    on_look : callable, optional
        Told the time of each look, seconds; it may raise to end the work.

    Returns
    -------
    tuple of FoundWay
        In the order of their starts. Each reaches ``carry_s`` at most past the looks that found it.
    int
        How many frames were looked at.
    """
    settings = finding().film
    look = look or _look
    done: list[_Track] = []
    open_: list[_Track] = []
    stretch, looks, next_look = _Stretch(), 0, 0.0
    last: TimedPicture | None = None
    under_way: tuple[Future[tuple[Found, ...]], _Stretch] | None = None

    def settle() -> None:
        """Tie what the look under way finds to what was followed up to it."""
        nonlocal open_, under_way
        if under_way is not None:
            found, there = under_way
            open_ = _looked(there, found.result(), open_, done, settings)
            under_way = None

    # While one frame is looked at the next ones are decoded.
    with ThreadPoolExecutor(1, thread_name_prefix="masks-film") as pool:
        for frame in frames:
            stretch.add(frame)
            last = frame
            if looks and frame.at_s < next_look:
                continue
            settle()
            under_way = pool.submit(look, frame.picture()), stretch
            looks += 1
            next_look = frame.at_s + settings.every_s
            stretch = stretch.last()
            if on_look is not None:
                on_look(frame.at_s)
        settle()
        if last is not None and len(stretch.times) > 1:
            # The very end is looked at too, so that what comes in last is found.
            under_way = pool.submit(look, last.picture()), stretch
            looks += 1
            settle()
    return tuple(
        sorted(map(_way, [*done, *open_]), key=lambda way: (way.way[0].at_s, way.kind, way.way[0].box.edges))
    ), looks


def _look(picture: Picture) -> tuple[Found, ...]:
    settings = finding().film
    return find_in_picture(picture, lettering_px=settings.lettering_px, faces_px=settings.faces_px)


def _looked(
    stretch: _Stretch, found: tuple[Found, ...], open_: list[_Track], done: list[_Track], settings: FilmFinding
) -> list[_Track]:
    """Tie what a look found to what was followed up to it; give the tracks that go on."""
    times, here = stretch.times, stretch.times[-1]
    # Where there is nothing to follow the frames are not made.
    greys = stretch.greys(settings.follow_px) if open_ or found else []
    for track in open_:
        boxes = followed(greys, track.last, settings)
        for at, box in zip(times, boxes, strict=True):
            track.boxes[at] = track.boxes[at].joined(box) if at in track.boxes else box
        track.last = boxes[-1]
        track.missed += 1
    going: list[_Track] = []
    for one in sorted(found, key=lambda each: -each.sureness):
        back = followed(greys[::-1], one.box, settings)[::-1]
        start = back[0]
        known = _like(one, open_, settings.alike) or _like_start(one.kind, start, times[0], done, settings.alike)
        for tracks in (open_, done):
            if any(known is track for track in tracks):
                tracks[:] = [track for track in tracks if track is not known]
        track = known or _Track(one.kind, {}, one.sureness, one.box)
        for at, box in zip(times, back, strict=True):
            if here - at <= settings.carry_s + 1e-6:
                track.boxes[at] = track.boxes[at].joined(box) if at in track.boxes else box
        track.boxes[here] = one.box
        track.last, track.missed, track.sureness = one.box, 0, max(track.sureness, one.sureness)
        going.append(track)
    # What was not found again was carried up to here, and ends.
    done += open_
    return going


def _like(one: Found, tracks: list[_Track], least: float) -> _Track | None:
    alike = [(track.last.likeness(one.box), number) for number, track in enumerate(tracks) if track.kind is one.kind]
    best = max(alike, default=(0.0, -1))
    return tracks[best[1]] if best[0] >= least else None


def _like_start(kind: MaskKind, start: Box, at_s: float, done: list[_Track], least: float) -> _Track | None:
    """Give the track that was carried to where this one is followed back to: one look missed it."""
    for track in done:
        if (
            track.kind is kind
            and track.boxes.keys()
            and max(track.boxes) == at_s
            and track.last.likeness(start) >= least
        ):
            return track
    return None


def followed(greys: list[Grey], box: Box, settings: FilmFinding) -> list[Box]:
    """Follow a box through pictures, the first of which it stands in.

    Parameters
    ----------
    greys : list of ndarray
        Pictures of one size, (height, width), uint8.
    box : Box
        Where it stands in the first.

    Returns
    -------
    list of Box
        One for each picture. Where too few points are found again it stays where it was last.
    """
    import cv2

    boxes = [box]
    for before, after in pairwise(greys):
        high, wide = before.shape
        left, top, right, bottom = boxes[-1].grown(_AROUND, aspect=wide / high).pixels(wide, high)
        points = cv2.goodFeaturesToTrack(before[top:bottom, left:right], settings.points, _CORNER, 3)
        if points is None or len(points) < 4:
            boxes.append(boxes[-1])
            continue
        points = points + np.array((left, top), np.float32)
        # The library's own types ask for what it makes itself.
        flow: Any = cv2.calcOpticalFlowPyrLK
        there, found, _ = flow(before, after, points, None, winSize=_FLOW_WINDOW, maxLevel=3)
        back, found_back, _ = flow(after, before, there, None, winSize=_FLOW_WINDOW, maxLevel=3)
        close = np.linalg.norm((back - points).reshape(-1, 2), axis=1) < _BACK_PX
        good = (found.ravel() == 1) & (found_back.ravel() == 1) & close
        if good.mean() < settings.least_found or good.sum() < 4:
            boxes.append(boxes[-1])
            continue
        boxes.append(_carried(boxes[-1], points.reshape(-1, 2)[good], there.reshape(-1, 2)[good], wide, high))
    return boxes


def _carried(box: Box, before: npt.NDArray[np.float32], after: npt.NDArray[np.float32], wide: int, high: int) -> Box:
    """Move and scale a box as most of its points moved."""
    middle_before, middle_after = np.median(before, axis=0), np.median(after, axis=0)
    spread = np.median(np.linalg.norm(before - middle_before, axis=1))
    scale = 1.0 if spread < 2 else float(np.median(np.linalg.norm(after - middle_after, axis=1)) / spread)
    scale = min(max(scale, 0.8), 1.25)
    size = np.array((wide, high), float)
    corners = np.array(box.edges).reshape(2, 2) * size
    moved = (corners - middle_before) * scale + middle_after
    edges = np.clip(moved / size, 0.0, 1.0)
    (left, top), (right, bottom) = edges.tolist()
    if right - left < 1 / wide or bottom - top < 1 / high:
        return box
    return Box(left, top, right, bottom)


def _grey(picture: Picture, longest_px: int) -> Grey:
    import cv2

    return np.asarray(cv2.cvtColor(smaller(picture, longest_px), cv2.COLOR_RGB2GRAY), np.uint8)


def _way(track: _Track) -> FoundWay:
    way = tuple(BoxAt(round(at, 3), _rounded(box)) for at, box in sorted(track.boxes.items()))
    return FoundWay(track.kind, way, track.sureness)


def _rounded(box: Box) -> Box:
    """Round outwards, so that a mask is no smaller than what was found."""
    step = 10**_DECIMALS
    left, top = (np.floor(edge * step) / step for edge in (box.left, box.top))
    right, bottom = (np.ceil(edge * step) / step for edge in (box.right, box.bottom))
    return Box(float(left), float(top), min(1.0, float(right)), min(1.0, float(bottom)))
