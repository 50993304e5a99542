"""The search for one still: the frames offered to it, weighed, and those kept that differ from one another."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from shutline.capture import frames, measure
from shutline.capture.alike import distance_bits
from shutline.capture.jpeg import to_jpeg
from shutline.capture.limits import limits

if TYPE_CHECKING:
    from collections.abc import Sequence


@dataclass(frozen=True, slots=True)
class Moment:
    """Words to find a still for, seconds from the start of the recording; ``start_s <= end_s``.

    `part` is what they are about, in any words: the stills of one part are kept from being near copies.
    """

    start_s: float
    end_s: float
    part: str | None = None

    def __post_init__(self) -> None:
        """Refuse times that cannot be."""
        if not (math.isfinite(self.start_s) and math.isfinite(self.end_s) and self.start_s <= self.end_s):
            raise ValueError(f"moment from {self.start_s} to {self.end_s} s: a moment ends after it starts")


@dataclass(frozen=True, slots=True)
class ChosenStill:
    """A still as JPEG (sRGB, upright, no metadata), with the exact time of its frame and what it was chosen by.

    `exposure` is 1 where nothing is too dark or blown out, towards 0 where all is; `lightness` the mean grey level.
    `copy_bits` says in how many of 64 bits it differs from the still before of the same part; None for the first.
    """

    jpeg: bytes
    width: int
    height: int
    at_s: float
    sharpness: float
    steadiness: float
    exposure: float = 1.0
    lightness: float = 128.0
    copy_bits: int | None = None


@dataclass(frozen=True, slots=True)
class _Candidate:
    worth: float
    seen: measure.FrameMeasure
    print: int
    frame: frames.Frame


class Search:
    """The best frames so far for one moment, the best first, none a near copy of a better one."""

    def __init__(self, moment: Moment, length_s: float | None, *, shared: bool = False) -> None:
        settings = limits().stills
        self.moment = moment
        start_s = max(0.0, moment.start_s - settings.before_s)
        end_s = max(start_s, min(moment.end_s + settings.after_s, start_s + settings.longest_s))
        if length_s is not None and end_s > length_s:
            # Words to the very end of the film are shown by its last frames.
            end_s = max(length_s, start_s)
        self.start_s, self.end_s = start_s, end_s
        self._shared = shared
        self._candidates: list[_Candidate] = []
        self._stills: list[tuple[int, ChosenStill]] = []
        self.still: ChosenStill | None = None
        self.print = 0

    @property
    def middle_s(self) -> float:
        """The middle of the words, within the stretch that is looked at."""
        return (max(self.start_s, self.moment.start_s) + min(self.end_s, max(self.moment.end_s, self.start_s))) / 2

    @property
    def satisfied(self) -> bool:
        """True when the best frame is steady and well lit, and no further one need be looked at."""
        settings = limits().stills
        if not self._candidates:
            return False
        best = self._candidates[0].seen
        return best.steadiness >= settings.steady_enough and best.exposure >= settings.poor_below

    def offer(self, seen: measure.FrameMeasure, print_: int, frame: frames.Frame) -> None:
        """Weigh a frame against those there are."""
        if not self.start_s <= seen.at_s <= self.end_s:
            return
        settings = limits().stills
        new = _Candidate(worth_of(seen, self.moment), seen, print_, frame)
        if not self._shared:
            if not self._candidates or new.worth > self._candidates[0].worth:
                self._candidates = [new]
            return
        alike = [one for one in self._candidates if distance_bits(one.print, print_) < settings.copy_below_bits]
        if any(one.worth >= new.worth for one in alike):
            return
        kept = [one for one in self._candidates if one not in alike]
        self._candidates = sorted([*kept, new], key=lambda one: -one.worth)[: settings.most_choices]

    def keep(self, film: frames.Film) -> None:
        """Make the JPEGs, and let the frames go."""
        settings = limits().stills
        for one in self._candidates:
            if self._stills and one.worth < settings.choice_share * self._candidates[0].worth:
                break
            seen = one.seen
            jpeg, width, height = to_jpeg(one.frame.image, pixel_shape=film.pixel_shape)
            still = ChosenStill(
                jpeg,
                width,
                height,
                seen.at_s,
                seen.sharpness,
                seen.steadiness,
                exposure=seen.exposure,
                lightness=seen.lightness,
            )
            self._stills.append((one.print, still))
        self._candidates = []
        if self._stills:
            self.print, self.still = self._stills[0]

    def choose_apart(self, last: Search) -> None:
        """Choose a frame that is no near copy of the still before of the same part, if there is a good one.

        Where there is none, the still before shows this moment too if it is near it and no worse: one picture for
        both is better than two alike.
        """
        if last.still is None or self.still is None:
            return
        settings = limits().stills
        same_words = (self.moment.start_s, self.moment.end_s) == (last.moment.start_s, last.moment.end_s)
        if not same_words:
            for print_, still in self._stills:
                bits = distance_bits(print_, last.print)
                if bits >= settings.copy_below_bits:
                    self.print, self.still = print_, replace(still, copy_bits=bits)
                    return
        near = self.start_s - settings.copy_within_s <= last.still.at_s <= self.end_s
        if same_words or (near and _looks(last.still) >= settings.choice_share * _looks(self.still)):
            self.print, self.still = last.print, replace(last.still, copy_bits=0)
        else:
            self.still = replace(self.still, copy_bits=distance_bits(self.print, last.print))


def _looks(still: ChosenStill) -> float:
    return still.sharpness * still.steadiness * still.exposure


def choose_apart(searches: Sequence[Search]) -> None:
    """Keep the stills of each part from being near copies of the one before, in the order of the film."""
    last: dict[str, Search] = {}
    for search in sorted(searches, key=lambda one: (one.moment.start_s, one.moment.end_s)):
        part = search.moment.part
        if part is None or search.still is None:
            continue
        if part in last:
            search.choose_apart(last[part])
        last[part] = search


def worth_of(seen: measure.FrameMeasure, moment: Moment) -> float:
    """Say how good a frame is for a moment: sharp, steady, well lit, and near the words.

    Returns
    -------
    float
        >= 0; comparable among the frames of one moment.
    """
    settings = limits().stills
    outside_s = max(moment.start_s - seen.at_s, seen.at_s - moment.end_s, 0.0)
    reach_s = settings.before_s if seen.at_s < moment.start_s else settings.after_s
    nearness = 1.0 - (1.0 - settings.edge_weight) * min(1.0, outside_s / reach_s)
    # Light that is good enough is not weighed: white paint and a dark cellar are as they are.
    light = 0.1 + 0.9 * min(1.0, seen.exposure / settings.exposed_enough)
    return seen.sharpness * seen.steadiness * light * nearness
