"""The starter before a run: when it first turns, how often it is tried, when the engine fires, how fast it turns."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from shutline.gauge.engine.features import Array, Features, smooth
from shutline.gauge.engine.running import Span, spoken_over
from shutline.gauge.engine.settings import StartSettings

STEP_S = 0.025
_WIDE_S = 0.05


@dataclass(frozen=True, slots=True)
class Levels:
    """How loud each band is: `decibels`, shape (bands, steps), a step each `STEP_S`; `spoken` where somebody speaks."""

    decibels: Array
    spoken: NDArray[np.bool_]

    def loud(self) -> Array:
        """Give the mean over the bands."""
        return np.asarray(self.decibels.mean(axis=0))


@dataclass(frozen=True, slots=True)
class Start:
    """A start; seconds from the start of the sound.

    `turns` are the stretches on the starter, the last ending where the engine fires. `beat_hz` is the rate of the
    compressions, `beats` how many of them were heard, `alike` how like each other. `why` is the id of a reason where
    there is no start to tell of.
    """

    turns: tuple[Span, ...] = ()
    fires_s: float | None = None
    beat_hz: float | None = None
    beats: float = 0.0
    alike: float = 0.0
    why: str | None = field(default=None)


def levels(heard: Features, speech: Sequence[Span]) -> Levels:
    """Give how loud each band is along time."""
    step, wide = round(STEP_S * heard.rate_hz), round(_WIDE_S * heard.rate_hz)
    count = heard.power.shape[1] // step
    rows = [10 * np.log10(smooth(row, wide)[: count * step : step] + 1e-11) for row in heard.power]
    times = np.arange(count) * STEP_S
    return Levels(np.stack(rows), spoken_over(times, speech, width_s=4 * STEP_S, share=0.25))


def find_start(heard: Features, known: Levels, *, runs_from_s: float, per_rpm: float, tuning: StartSettings) -> Start:
    """Look back from where an engine runs for the starter that set it going.

    Parameters
    ----------
    heard, known
        The sound, and how loud it is.
    runs_from_s : float
        When it was first heard to run, seconds from the start of the sound.
    per_rpm : float
        Beats a second at one turn a minute.
    tuning : StartSettings
        What counts as a starter.
    """
    loud = known.loud()
    end = min(len(loud), round((runs_from_s + 0.6) / STEP_S))
    begin = max(0, round((runs_from_s - tuning.look_back_s) / STEP_S))
    quiet = loud[begin:end][~known.spoken[begin:end]]
    if len(quiet) < 1.0 / STEP_S:
        return Start(why="no-quiet-before")
    floor = float(np.percentile(quiet, 15)) + tuning.above_db
    pieces = _pieces((loud > floor) & ~known.spoken, known.spoken, begin, end, pause=round(tuning.pause_s / STEP_S))
    last = next((piece for piece in reversed(pieces) if piece[0] * STEP_S < runs_from_s), None)
    why = _why_hidden(known, last, begin, runs_from_s)
    if why is not None or last is None:
        return Start(why=why)
    fires = _change(known.decibels[:, last[0] : end], last[0], least=round(0.25 / STEP_S))
    if fires is None or not _is_starter(known, last[0], fires, floor, tuning):
        return Start(why="no-starter")
    turn = (last[0] * STEP_S, fires * STEP_S)
    beat, beats, alike = _compressions(heard, turn, per_rpm=per_rpm, tuning=tuning)
    if alike < tuning.alike:
        if turn[1] - turn[0] < tuning.without_beats_s:
            return Start(why="no-starter")
        beat = None
    tone = _tone(known, slice(last[0], fires))
    earlier = tuple(
        (first * STEP_S, end * STEP_S)
        for first, end in pieces
        if end <= last[0]
        and (end - first) * STEP_S >= tuning.shortest_s
        and _apart(_tone(known, slice(first, end)), tone) <= tuning.same_db
    )
    return Start(turns=(*earlier, turn), fires_s=turn[1], beat_hz=beat, beats=beats, alike=alike)


def _why_hidden(known: Levels, last: tuple[int, int] | None, begin: int, runs_from_s: float) -> str | None:
    """Say why what is loud before a run cannot be told apart, as the id of a reason."""
    if last is None or last[1] * STEP_S < runs_from_s - 0.6:
        return "covered-start"
    if last[0] <= begin + 2:
        return "no-quiet-before"
    return "covered-start" if known.spoken[max(0, last[0] - 4) : last[0]].any() else None


def _is_starter(known: Levels, first: int, fires: int, floor: float, tuning: StartSettings) -> bool:
    """Tell whether what is before a moment is long and loud enough, and sounds otherwise than what is after it."""
    here, after = slice(first, fires), slice(fires, fires + round(1.0 / STEP_S))
    long = (fires - first) * STEP_S >= tuning.shortest_s
    loud = float(np.median(known.loud()[here])) >= floor
    return long and loud and _apart(_tone(known, after), _tone(known, here)) >= tuning.other_db


def _pieces(
    active: NDArray[np.bool_], spoken: NDArray[np.bool_], begin: int, end: int, *, pause: int
) -> list[tuple[int, int]]:
    """Join what is loud over short pauses, unless somebody speaks in them."""
    pieces: list[tuple[int, int]] = []
    edges = np.flatnonzero(np.diff(np.concatenate([[0], active[begin:end].astype(int), [0]])))
    for first, last in edges.reshape(-1, 2) + begin:
        if pieces and first - pieces[-1][1] <= pause and not spoken[pieces[-1][1] : first].any():
            pieces[-1] = (pieces[-1][0], int(last))
        else:
            pieces.append((int(first), int(last)))
    return pieces


def _change(decibels: Array, offset: int, *, least: int) -> int | None:
    """Give the step at which the bands change most: two even levels before and after leave the least unexplained."""
    count = decibels.shape[1]
    if count < 2 * least + 1:
        return None
    sums = np.cumsum(decibels, axis=1)
    at = np.arange(least, count - least)
    before = sums[:, at - 1] / at
    after = (sums[:, -1:] - sums[:, at - 1]) / (count - at)
    gain = ((before - after) ** 2).sum(axis=0) * at * (count - at)
    return offset + int(at[gain.argmax()])


def _apart(one: Array, other: Array) -> float:
    """Give how far two tones are apart, dB, over the bands."""
    return float(np.sqrt(np.mean((one - other) ** 2)))


def _tone(known: Levels, here: slice) -> Array:
    return np.asarray(np.median(known.decibels[:, here], axis=1))


def _compressions(
    heard: Features, turn: Span, *, per_rpm: float, tuning: StartSettings
) -> tuple[float | None, float, float]:
    """Give the rate at which the starter's noise swells and sinks, how many beats that is, and how alike they are."""
    rate = heard.rate_hz
    first, last = round((turn[0] + 0.1) * rate), round((turn[1] - 0.03) * rate)
    if last - first < rate // 4:
        return None, 0.0, 0.0
    swell = np.zeros(last - first)
    time = np.arange(last - first)
    for row in heard.power[1:]:
        log = np.log(smooth(row, round(0.02 * rate))[first:last] + 1e-12)
        swell += log - np.polyval(np.polyfit(time, log, 1), time)
    low, high = tuning.cranking_rpm
    shortest, longest = int(rate / (high * per_rpm)), int(rate / (low * per_rpm))
    longest = min(longest, int(len(swell) / tuning.beats * 1.05))
    if longest <= shortest + 2:
        return None, 0.0, 0.0
    alike = _alike(swell)
    longest = min(longest, len(alike) - 1)
    lags = np.arange(shortest, longest + 1)
    worth = np.array([_worth(alike, int(lag)) for lag in lags])
    # Several beats are as alike as one: the shortest lag of those that are nearly the best.
    lag = _top(worth, int(np.flatnonzero(worth >= 0.8 * worth.max())[0])) + shortest
    # A longer comparison over several beats tells the rate more finely.
    times = max(1, min(4, int(len(swell) / lag / 2)))
    around = np.arange(max(1, int(times * lag * 0.94)), min(len(alike) - 1, int(times * lag * 1.06) + 2))
    fine = float(around[alike[around].argmax()]) / times
    return rate / fine, (turn[1] - turn[0]) * rate / fine, float(alike[max(1, round(fine))])


def _worth(alike: Array, lag: int) -> float:
    """Weigh a lag: how alike after whole multiples of it, less how alike half way between."""
    times = np.arange(1, max(1, min(4, (len(alike) - 1) // lag)) + 1)
    whole = alike[np.minimum(times * lag, len(alike) - 1)]
    between = alike[np.round((times - 0.5) * lag).astype(int)]
    return float(np.mean(whole - between))


def _top(values: Array, at: int) -> int:
    """Climb from a place to the top beside it."""
    while at + 1 < len(values) and values[at + 1] >= values[at]:
        at += 1
    return at


def _alike(values: Array) -> Array:
    """Give how alike the values are to themselves after each lag, 1 the same, up to three quarters of their length."""
    count = len(values)
    spectrum = np.fft.rfft(values, 2 * count)
    product = np.fft.irfft(np.abs(spectrum) ** 2)[: count * 3 // 4]
    total = np.concatenate([[0.0], np.cumsum(values**2)])
    lags = np.arange(len(product))
    size = np.sqrt(total[count - lags] * (total[count] - total[lags]))
    return np.asarray(product / np.maximum(size, 1e-12))
