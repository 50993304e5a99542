"""Choose for each moment of a film the sharpest steady frame near its words, without decoding the whole film."""

from __future__ import annotations

import contextlib
import math
import os
import threading
from collections import deque
from collections.abc import Callable, Iterator, Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass
from pathlib import Path
from queue import Empty, SimpleQueue

from shutline.capture import files, frames, measure
from shutline.capture.jpeg import to_jpeg
from shutline.capture.limits import limits
from shutline.car.errors import Problem, StoppedError


@dataclass(frozen=True, slots=True)
class Moment:
    """Words to find a still for, seconds from the start of the recording; ``start_s <= end_s``."""

    start_s: float
    end_s: float

    def __post_init__(self) -> None:
        """Refuse times that cannot be."""
        if not (math.isfinite(self.start_s) and math.isfinite(self.end_s) and self.start_s <= self.end_s):
            raise ValueError(f"moment from {self.start_s} to {self.end_s} s: a moment ends after it starts")


@dataclass(frozen=True, slots=True)
class ChosenStill:
    """A still as JPEG (sRGB, upright, no metadata), with the exact time of its frame and what it was chosen by."""

    jpeg: bytes
    width: int
    height: int
    at_s: float
    sharpness: float
    steadiness: float


def choose_stills(
    path: Path,
    moments: Sequence[Moment],
    *,
    on_progress: Callable[[float], None] | None = None,
    should_stop: Callable[[], bool] | None = None,
) -> tuple[tuple[ChosenStill | None, ...], tuple[Problem, ...]]:
    """Choose a still for each moment.

    Parameters
    ----------
    path : Path
        A film.
    moments : sequence of Moment
        In any order; they may overlap.
    on_progress : callable, optional
        Told the share of moments that is done, 0 to 1.
    should_stop : callable, optional
        Asked between groups of moments; True ends the work with `StoppedError`.

    Returns
    -------
    tuple of ChosenStill or None
        One for each moment, in the order given; None where no frame could be had.
    tuple of Problem
        `no-picture-track`, `picture-too-large`, `no-still` for the moments without one, `picture-gap`.

    Raises
    ------
    BadInputError
        The file is no recording (see `media.opened`).
    """
    where = files.shown_name(path)
    with frames.open_film(path) as film:
        if film is None:
            return (None,) * len(moments), (_no_picture(where),) if moments else ()
        if film.size[0] * film.size[1] > limits().film.max_megapixels * 1e6:
            return (None,) * len(moments), (_too_large(where, film.size),)
        searches = [_Search(moment, film.length_s) for moment in moments]
    failed_packets = _search_all(path, list(_groups(searches)), len(searches), on_progress, should_stop)
    return tuple(search.still for search in searches), _problems(where, searches, failed_packets)


def _search_all(
    path: Path,
    groups: list[list[_Search]],
    moments: int,
    on_progress: Callable[[float], None] | None,
    should_stop: Callable[[], bool] | None,
) -> int:
    """Search the groups on all processors, each with a decoder of its own; give the count of packets that failed.

    A short run of frames keeps one processor busy and no more, so that whole groups are shared out instead.
    """
    processors = os.cpu_count() or 1
    workers = max(1, min(processors, limits().stills.most_workers, len(groups) // 2))
    ended = threading.Event()
    waiting = deque(groups)

    def work(pool_told: SimpleQueue[int]) -> int:
        with frames.open_film(path, threads=max(1, processors // workers)) as film:
            while film is not None and not ended.is_set():
                try:
                    group = waiting.popleft()
                except IndexError:
                    break
                _search_group(film, group)
                for search in group:
                    search.keep(film)
                pool_told.put(len(group))
            return 0 if film is None else film.failed_packets

    told: SimpleQueue[int] = SimpleQueue()
    done = 0
    with ThreadPoolExecutor(workers, thread_name_prefix="stills") as pool:
        futures = [pool.submit(work, told) for _ in range(workers)]
        try:
            while not all(future.done() for future in futures) or not told.empty():
                if should_stop is not None and should_stop():
                    raise StoppedError(files.shown_name(path))
                with contextlib.suppress(Empty):
                    done += told.get(timeout=0.05)
                    if on_progress is not None:
                        on_progress(done / moments)
            return sum(future.result() for future in futures)
        finally:
            ended.set()


class _Search:
    """The best frame so far for one moment."""

    def __init__(self, moment: Moment, length_s: float | None) -> None:
        settings = limits().stills
        self.moment = moment
        start_s = max(0.0, moment.start_s - settings.before_s)
        end_s = max(start_s, min(moment.end_s + settings.after_s, start_s + settings.longest_s))
        if length_s is not None and end_s > length_s:
            # Words to the very end of the film are shown by its last frames.
            end_s = max(length_s, start_s)
        self.start_s, self.end_s = start_s, end_s
        self.best: tuple[float, measure.FrameMeasure, frames.Frame] | None = None
        self.still: ChosenStill | None = None

    @property
    def middle_s(self) -> float:
        return (max(self.start_s, self.moment.start_s) + min(self.end_s, max(self.moment.end_s, self.start_s))) / 2

    @property
    def satisfied(self) -> bool:
        return self.best is not None and self.best[1].steadiness >= limits().stills.steady_enough

    def offer(self, seen: measure.FrameMeasure, frame: frames.Frame) -> None:
        if not self.start_s <= seen.at_s <= self.end_s:
            return
        worth = worth_of(seen, self.moment)
        if self.best is None or worth > self.best[0]:
            self.best = (worth, seen, frame)

    def keep(self, film: frames.Film) -> None:
        """Make the JPEG, and let the frame go."""
        if self.best is None:
            return
        _, seen, frame = self.best
        jpeg, width, height = to_jpeg(frame.image, pixel_shape=film.pixel_shape)
        self.still = ChosenStill(jpeg, width, height, seen.at_s, seen.sharpness, seen.steadiness)
        self.best = None


def worth_of(seen: measure.FrameMeasure, moment: Moment) -> float:
    """Say how good a frame is for a moment: sharp, steady, exposed, and near the words.

    Returns
    -------
    float
        >= 0; comparable among the frames of one moment.
    """
    settings = limits().stills
    outside_s = max(moment.start_s - seen.at_s, seen.at_s - moment.end_s, 0.0)
    reach_s = settings.before_s if seen.at_s < moment.start_s else settings.after_s
    nearness = 1.0 - (1.0 - settings.edge_weight) * min(1.0, outside_s / reach_s)
    return seen.sharpness * seen.steadiness * (0.25 + 0.75 * seen.exposed) * nearness


def _groups(searches: list[_Search]) -> Iterator[list[_Search]]:
    """Put moments together whose stretches of film touch or nearly so."""
    settings = limits().stills
    group: list[_Search] = []
    end_s = 0.0
    for search in sorted(searches, key=lambda one: one.start_s):
        near = group and search.start_s <= end_s + settings.join_gap_s
        if near and search.end_s - group[0].start_s <= settings.longest_group_s:
            group.append(search)
            end_s = max(end_s, search.end_s)
            continue
        if group:
            yield group
        group, end_s = [search], search.end_s
    if group:
        yield group


def _search_group(film: frames.Film, group: list[_Search]) -> None:
    """Look at the key frames first, and further only for moments whose best is not steady enough."""
    runs = film.runs(group[0].start_s, max(search.end_s for search in group))
    for run in _key_runs(runs, group):
        _offer_all(film, run, group, count=limits().stills.frames_at_key)
    tried: set[float] = set()
    while wanting := _next_to_refine(runs, [search for search in group if not search.satisfied], tried):
        run, searches = wanting
        tried.add(run.key_s)
        _offer_all(film, run, searches)


def _key_runs(runs: list[frames.KeyRun], group: list[_Search]) -> list[frames.KeyRun]:
    chosen: dict[float, frames.KeyRun] = {}
    for search in group:
        within = [run for run in runs if search.start_s <= run.key_s <= search.end_s]
        within.sort(key=lambda run: (abs(run.key_s - search.middle_s), run.key_s))
        chosen |= {run.key_s: run for run in within[: limits().stills.keys_per_moment]}
    return [chosen[key_s] for key_s in sorted(chosen)]


def _next_to_refine(
    runs: list[frames.KeyRun], wanting: list[_Search], tried: set[float]
) -> tuple[frames.KeyRun, list[_Search]] | None:
    """Give the run not tried yet that is nearest to the middle of some moment's words, and all moments it may serve."""
    untried = [run for run in runs if run.key_s not in tried]
    pairs = [
        (max(run.key_s - search.middle_s, search.middle_s - run.end_s, 0.0), run.key_s)
        for run in untried
        for search in wanting
        if _overlap(run, search)
    ]
    if not pairs:
        return None
    key_s = min(pairs)[1]
    run = next(run for run in untried if run.key_s == key_s)
    return run, [search for search in wanting if _overlap(run, search)]


def _overlap(run: frames.KeyRun, search: _Search) -> bool:
    return run.key_s <= search.end_s and run.end_s >= search.start_s


def _offer_all(
    film: frames.Film,
    run: frames.KeyRun,
    searches: list[_Search],
    *,
    count: int | None = None,
) -> None:
    until_s = max(search.end_s for search in searches)
    from_s = min(search.start_s for search in searches) - 2 / 15
    earlier: tuple[frames.Frame, measure.Grey, measure.Grey, float | None] | None = None
    for frame in film.decode(run, count=count, until_s=until_s):
        if frame.at_s < from_s:
            continue
        large, small = measure.greys(frame.image)
        moved = None
        if earlier is not None:
            gap_s = frame.at_s - earlier[0].at_s
            moved = measure.steadiness(measure.speed_widths(earlier[2], small), gap_s)
            _offer(earlier, moved, searches)
        earlier = (frame, large, small, moved)
    if earlier is not None:
        _offer(earlier, None, searches)


def _offer(
    held: tuple[frames.Frame, measure.Grey, measure.Grey, float | None],
    after: float | None,
    searches: list[_Search],
) -> None:
    frame, large, _, before = held
    # A frame is no steadier than the worse of its two sides; one that stands alone is not known to be steady.
    known = [value for value in (before, after) if value is not None]
    seen = measure.FrameMeasure(
        at_s=frame.at_s,
        sharpness=measure.sharpness(large),
        steadiness=min(known) if known else limits().stills.steady_enough / 2,
        exposed=measure.exposed_share(large),
    )
    for search in searches:
        search.offer(seen, frame)


def _problems(where: str, searches: list[_Search], failed_packets: int) -> tuple[Problem, ...]:
    problems = []
    without = [search.moment.start_s for search in searches if search.still is None]
    if without:
        told = ", ".join(f"{at_s:.1f} s" for at_s in sorted(without)[:8])
        more = f" and {len(without) - 8} more" if len(without) > 8 else ""
        problems.append(
            Problem(
                slug="no-still",
                where=where,
                found=f"no frame could be read at {told}{more}",
                allowed="what was said there stands without a picture",
                advice="Look at the film there, or add a picture.",
            )
        )
    if failed_packets:
        problems.append(
            Problem(
                slug="picture-gap",
                where=where,
                found=f"{failed_packets} piece(s) of picture could not be decoded",
                allowed="frames that could be decoded are used; some may show damage",
                advice="Look at the stills before they go out; copy the film from the camera again.",
            )
        )
    return tuple(problems)


def _no_picture(where: str) -> Problem:
    return Problem(
        slug="no-picture-track",
        where=where,
        found="no picture track",
        allowed="what was said is read; no stills can be taken",
        advice="Add pictures, or film again with the picture on.",
    )


def _too_large(where: str, size: tuple[int, int]) -> Problem:
    return Problem(
        slug="picture-too-large",
        where=where,
        found=f"frames of {size[0]} x {size[1]} pixels",
        allowed=f"frames of at most {limits().film.max_megapixels:g} million pixels; no stills are taken",
        advice="Make the film smaller with the program it comes from.",
    )
