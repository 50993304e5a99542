"""Choose for each moment of a film the sharpest steady frame near its words, without decoding the whole film."""

from __future__ import annotations

import bisect
import contextlib
import os
import threading
from collections import Counter, deque
from collections.abc import Callable, Iterator, Sequence
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path
from queue import Empty, SimpleQueue

from shutline.capture import files, frames, measure, still_problems
from shutline.capture.alike import fingerprint
from shutline.capture.limits import limits
from shutline.capture.still_search import ChosenStill, Moment, Search, choose_apart, worth_of
from shutline.car.errors import Problem, StoppedError

__all__ = ["ChosenStill", "Moment", "choose_stills", "worth_of"]


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
        In any order; they may overlap. Of moments of one part no still is a near copy of the one before it, where
        another good frame is at hand.
    on_progress : callable, optional
        Told the share of moments that is done, 0 to 1.
    should_stop : callable, optional
        Asked between groups of moments; True ends the work with `StoppedError`.

    Returns
    -------
    tuple of ChosenStill or None
        One for each moment, in the order given; None where no frame could be had.
    tuple of Problem
        `no-picture-track`, `picture-too-large`, `no-still` for the moments without one, `picture-gap`, `still-dark`,
        `still-blown-out`, `interlaced`.

    Raises
    ------
    BadInputError
        The file is no recording (see `media.opened`).
    """
    where = files.shown_name(path)
    with frames.open_film(path) as film:
        if film is None:
            return (None,) * len(moments), (still_problems.no_picture(where),) if moments else ()
        if film.size[0] * film.size[1] > limits().film.max_megapixels * 1e6:
            return (None,) * len(moments), (still_problems.too_large(where, film.size),)
        times = Counter(moment.part for moment in moments if moment.part is not None)
        searches = [
            Search(moment, film.length_s, shared=moment.part is not None and times[moment.part] > 1)
            for moment in moments
        ]
        groups = list(_groups(searches, film.keys_s()))
    met = _search_all(path, groups, len(searches), on_progress, should_stop)
    choose_apart(searches)
    return tuple(search.still for search in searches), _problems(where, searches, met)


def _search_all(
    path: Path,
    groups: list[list[Search]],
    moments: int,
    on_progress: Callable[[float], None] | None,
    should_stop: Callable[[], bool] | None,
) -> frames.Met:
    """Search the groups on all processors, each with a decoder of its own; give what was met.

    A short run of frames keeps one processor busy and no more, so that whole groups are shared out instead.
    """
    processors = os.cpu_count() or 1
    workers = max(1, min(processors, limits().stills.most_workers, len(groups) // 2))
    ended = threading.Event()
    waiting = deque(groups)

    def work(pool_told: SimpleQueue[int]) -> frames.Met:
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
            return frames.Met() if film is None else film.met

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
            return frames.Met.of_all(future.result() for future in futures)
        finally:
            ended.set()


def _groups(searches: list[Search], keys_s: Sequence[float]) -> Iterator[list[Search]]:
    """Put moments together whose stretches of film touch or nearly so, or hang on one far key frame."""
    settings = limits().stills
    group: list[Search] = []
    end_s = 0.0
    for search in sorted(searches, key=lambda one: one.start_s):
        near = group and search.start_s <= end_s + settings.join_gap_s
        short = group and search.end_s - group[0].start_s <= settings.longest_group_s
        # A film with few key frames would otherwise be decoded from the same one again and again.
        far = group and search.start_s - _key_before(keys_s, search.start_s) > settings.longest_group_s
        hangs = far and _key_before(keys_s, search.start_s) <= group[0].start_s
        if (near and short) or (hangs and len(group) < settings.most_in_group):
            group.append(search)
            end_s = max(end_s, search.end_s)
            continue
        if group:
            yield group
        group, end_s = [search], search.end_s
    if group:
        yield group


def _key_before(keys_s: Sequence[float], at_s: float) -> float:
    """Give the last key frame not later than a moment; the moment itself where the film tells none."""
    at = bisect.bisect_right(keys_s, at_s)
    return keys_s[at - 1] if at else at_s


def _search_group(film: frames.Film, group: list[Search]) -> None:
    """Look at the key frames first, and further only for moments whose best is not steady enough."""
    runs = film.runs(group[0].start_s, max(search.end_s for search in group))
    for run in _key_runs(runs, group):
        _offer_all(film, run, group, count=limits().stills.frames_at_key)
    tried: set[float] = set()
    while wanting := _next_to_refine(runs, [search for search in group if not search.satisfied], tried):
        run, searches = wanting
        tried.add(run.key_s)
        _offer_all(film, run, searches)


def _key_runs(runs: list[frames.KeyRun], group: list[Search]) -> list[frames.KeyRun]:
    chosen: dict[float, frames.KeyRun] = {}
    for search in group:
        within = [run for run in runs if search.start_s <= run.key_s <= search.end_s]
        within.sort(key=lambda run: (abs(run.key_s - search.middle_s), run.key_s))
        chosen |= {run.key_s: run for run in within[: limits().stills.keys_per_moment]}
    return [chosen[key_s] for key_s in sorted(chosen)]


def _next_to_refine(
    runs: list[frames.KeyRun], wanting: list[Search], tried: set[float]
) -> tuple[frames.KeyRun, list[Search]] | None:
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


def _overlap(run: frames.KeyRun, search: Search) -> bool:
    return run.key_s <= search.end_s and run.end_s >= search.start_s


def _offer_all(
    film: frames.Film,
    run: frames.KeyRun,
    searches: list[Search],
    *,
    count: int | None = None,
) -> None:
    until_s = max(search.end_s for search in searches)
    from_s = min(search.start_s for search in searches) - 2 / 15
    earlier: tuple[frames.Frame, measure.Grey, measure.Grey, float | None] | None = None
    for frame in film.decode(run, count=count, until_s=until_s):
        if frame.at_s < from_s or not any(one.start_s - 0.2 <= frame.at_s <= one.end_s + 0.2 for one in searches):
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
    searches: list[Search],
) -> None:
    frame, large, small, before = held
    # A frame is no steadier than the worse of its two sides; one that stands alone is not known to be steady.
    known = [value for value in (before, after) if value is not None]
    seen = measure.FrameMeasure(
        at_s=frame.at_s,
        sharpness=measure.sharpness(large),
        steadiness=min(known) if known else limits().stills.steady_enough / 2,
        exposed=measure.exposed_share(large),
        lightness=measure.lightness(small),
    )
    print_ = fingerprint(small)
    for search in searches:
        search.offer(seen, print_, frame)


def _problems(where: str, searches: list[Search], met: frames.Met) -> tuple[Problem, ...]:
    settings = limits().stills
    without = [search.moment.start_s for search in searches if search.still is None]
    poor = [search for search in searches if search.still is not None and search.still.exposure < settings.poor_below]
    middle = sum(settings.exposed_levels) / 2
    dark = [one.moment.start_s for one in poor if one.still is not None and one.still.lightness < middle]
    bright = [one.moment.start_s for one in poor if one.still is not None and one.still.lightness >= middle]
    return (
        *((still_problems.missing(where, without),) if without else ()),
        *((still_problems.dark(where, dark),) if dark else ()),
        *((still_problems.blown_out(where, bright),) if bright else ()),
        *((still_problems.interlaced(where),) if met.interlaced else ()),
        *((still_problems.damaged(where, met.failed_packets),) if met.failed_packets else ()),
    )
