"""Choose for each moment of a film the sharpest steady frame near its words, without decoding the whole film."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path

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
        done = 0
        for group in _groups(searches):
            if should_stop is not None and should_stop():
                raise StoppedError(where)
            _search_group(film, group)
            for search in group:
                search.keep(film)
            done += len(group)
            if on_progress is not None:
                on_progress(done / len(searches))
        problems = _problems(where, searches, film.failed_packets)
    return tuple(search.still for search in searches), problems


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
        self.best_run: frames.KeyRun | None = None
        self.still: ChosenStill | None = None

    @property
    def middle_s(self) -> float:
        return (max(self.start_s, self.moment.start_s) + min(self.end_s, max(self.moment.end_s, self.start_s))) / 2

    @property
    def satisfied(self) -> bool:
        return self.best is not None and self.best[1].steadiness >= limits().stills.steady_enough

    def offer(self, seen: measure.FrameMeasure, frame: frames.Frame, run: frames.KeyRun) -> None:
        if not self.start_s <= seen.at_s <= self.end_s:
            return
        worth = worth_of(seen, self.moment)
        if self.best is None or worth > self.best[0]:
            self.best = (worth, seen, frame)
            self.best_run = run

    def keep(self, film: frames.Film) -> None:
        """Make the JPEG, and let the frame go."""
        if self.best is None:
            return
        _, seen, frame = self.best
        jpeg, width, height = to_jpeg(frame.image, pixel_shape=film.pixel_shape)
        self.still = ChosenStill(jpeg, width, height, seen.at_s, seen.sharpness, seen.steadiness)
        self.best = None
        self.best_run = None


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
    for run, wanting in _runs_to_refine(runs, [search for search in group if not search.satisfied]):
        _offer_all(film, run, wanting, refine=True)


def _key_runs(runs: list[frames.KeyRun], group: list[_Search]) -> list[frames.KeyRun]:
    chosen: dict[float, frames.KeyRun] = {}
    for search in group:
        within = [run for run in runs if search.start_s <= run.key_s <= search.end_s]
        within.sort(key=lambda run: (abs(run.key_s - search.middle_s), run.key_s))
        chosen |= {run.key_s: run for run in within[: limits().stills.keys_per_moment]}
    return [chosen[key_s] for key_s in sorted(chosen)]


def _runs_to_refine(runs: list[frames.KeyRun], wanting: list[_Search]) -> Iterator[tuple[frames.KeyRun, list[_Search]]]:
    """For each moment take the run of its best frame so far, or the one its words lie in; each run is decoded once."""
    by_run: dict[float, tuple[frames.KeyRun, list[_Search]]] = {}
    for search in wanting:
        before = [run for run in runs if run.key_s <= max(search.middle_s, search.start_s)]
        run = search.best_run or (before[-1] if before else (runs[0] if runs else None))
        if run is not None:
            by_run.setdefault(run.key_s, (run, []))[1].append(search)
    for key_s in sorted(by_run):
        yield by_run[key_s]


def _offer_all(
    film: frames.Film,
    run: frames.KeyRun,
    searches: list[_Search],
    *,
    count: int | None = None,
    refine: bool = False,
) -> None:
    settings = limits().stills
    until_s = max(search.end_s for search in searches)
    from_s = min(search.start_s for search in searches) - 2 / 15
    measured = 0
    earlier: tuple[frames.Frame, measure.Grey, measure.Grey, float | None] | None = None
    for frame in film.decode(run, count=count, until_s=until_s):
        if frame.at_s < from_s:
            continue
        large, small = measure.greys(frame.image)
        moved = None
        if earlier is not None:
            gap_s = frame.at_s - earlier[0].at_s
            moved = measure.steadiness(measure.speed_widths(earlier[2], small), gap_s)
            _offer(earlier, moved, searches, run)
        earlier = (frame, large, small, moved)
        measured += 1
        if refine and measured >= settings.frames_refined:
            break
    if earlier is not None:
        _offer(earlier, None, searches, run)


def _offer(
    held: tuple[frames.Frame, measure.Grey, measure.Grey, float | None],
    after: float | None,
    searches: list[_Search],
    run: frames.KeyRun,
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
        search.offer(seen, frame, run)


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
