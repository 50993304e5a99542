"""Lay runs of samples along time: silence where some are missing, nothing twice, no impossible clock believed."""

from __future__ import annotations

from collections.abc import Iterator
from fractions import Fraction

import numpy as np
import numpy.typing as npt

from shutline.capture.limits import limits
from shutline.car.errors import Problem

Samples = npt.NDArray[np.float32]


class Timeline:
    """Samples at one rate from second 0 on, given out in blocks of one length.

    `promised_s` is the length that the file's header tells; None when it tells none. `lost_packets` counts what could
    not be decoded.
    """

    def __init__(self, *, rate_hz: int, block_samples: int, promised_s: float | None) -> None:
        self.rate_hz = rate_hz
        self.promised_s = promised_s
        self.lost_packets = 0
        self.run_start_s = Fraction(0)
        self._block = np.zeros(block_samples, np.float32)
        self._used = 0
        self._ready: list[Samples] = []
        self._given = 0
        self._begun = False
        self._skip = 0
        self._restarts = 0
        self._shift_s = 0.0
        self._gaps: list[tuple[float, float]] = []
        self._unbelieved = 0

    @property
    def end_samples(self) -> int:
        """How many samples there are so far."""
        return self._given + self._used

    def leaves(self, at_s: Fraction | None, expected_s: float) -> bool:
        """Tell whether a frame's own time leaves the running count so far that a new run must begin."""
        if not self._begun:
            return True
        if at_s is None:
            return False
        return abs(float(at_s) + self._shift_s - expected_s) > limits().sound.time_slack_s

    def start_run(self, at_s: float | None) -> None:
        """Begin a run of samples at its own time, seconds; None goes on where the last one ended."""
        here_s = self.end_samples / self.rate_hz
        wanted_s = here_s if at_s is None else at_s + self._shift_s
        settings = limits().sound
        if self._begun and wanted_s < here_s - settings.clock_restart_s:
            # The clock started anew, as in files joined end to end: go on without a gap.
            self._shift_s += here_s - wanted_s
            self._restarts += 1
            wanted_s = here_s
        latest_s = max(here_s, self.promised_s if self.promised_s is not None else here_s) + settings.past_end_s
        if wanted_s > min(latest_s, here_s + settings.longest_gap_s):
            self._shift_s += here_s - wanted_s
            self._unbelieved += 1
            wanted_s = here_s
        gap_samples = round(wanted_s * self.rate_hz) - self.end_samples
        if gap_samples > 0:
            if self._begun and gap_samples / self.rate_hz >= settings.told_gap_s:
                self._gaps.append((here_s, wanted_s))
            self._silence(gap_samples)
        self._skip = max(0, -gap_samples)
        self._begun = True
        self.run_start_s = Fraction(wanted_s)

    def add(self, samples: Samples) -> None:
        """Put samples at the end of the run, less those that stand before what is there already."""
        skipped = min(self._skip, len(samples))
        self._skip -= skipped
        rest = samples[skipped:]
        while len(rest):
            taken = min(len(rest), len(self._block) - self._used)
            self._block[self._used : self._used + taken] = rest[:taken]
            self._step(taken)
            rest = rest[taken:]

    def _silence(self, count: int) -> None:
        while count:
            taken = min(count, len(self._block) - self._used)
            self._block[self._used : self._used + taken] = 0
            self._step(taken)
            count -= taken

    def _step(self, taken: int) -> None:
        self._used += taken
        if self._used == len(self._block):
            self._ready.append(self._block)
            self._given += len(self._block)
            self._block = np.zeros(len(self._block), np.float32)
            self._used = 0

    def full_blocks(self) -> Iterator[Samples]:
        """Give the blocks that are full, once each."""
        while self._ready:
            yield self._ready.pop(0)

    def rest(self) -> Iterator[Samples]:
        """Give what is left at the end, if anything."""
        if self._used:
            block, self._used = self._block[: self._used], 0
            self._given += len(block)
            yield block

    def problems(self, where: str) -> tuple[Problem, ...]:
        """Say where sound is missing and which clock was not believed."""
        problems = []
        if self._gaps or self.lost_packets:
            told = ", ".join(f"{start:.1f} to {end:.1f} s" for start, end in self._gaps[:5])
            more = f" and {len(self._gaps) - 5} more" if len(self._gaps) > 5 else ""
            lost = f"{self.lost_packets} packet(s) could not be read" if self.lost_packets else ""
            silent = f"no sound from {told}{more}" if told else ""
            problems.append(
                Problem(
                    slug="sound-gap",
                    where=where,
                    found="; ".join(part for part in (silent, lost) if part),
                    allowed="there it is kept silent, and all other times stay true",
                    advice="Listen there before relying on what was not said; copy the file from the camera again.",
                )
            )
        if self._restarts or self._unbelieved:
            problems.append(
                Problem(
                    slug="sound-clock",
                    where=where,
                    found=f"the track's clock jumped {self._restarts + self._unbelieved} time(s) to where it cannot be",
                    allowed="the sound is joined without a gap there; times after it may be off",
                    advice="Check the moments of findings against the film.",
                )
            )
        return tuple(problems)
