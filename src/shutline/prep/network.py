"""The critical path: when each activity can start and must, where only their order binds."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from shutline.prep.packing import Crew, Step, Work


@dataclass(frozen=True, slots=True)
class Timing:
    """Earliest and latest start and finish, in the unit of the durations; critical where there is no slack."""

    early_start: int
    early_finish: int
    late_start: int
    late_finish: int

    @property
    def slack(self) -> int:
        """How much later it may start."""
        return self.late_start - self.early_start


def critical_path(durations: Mapping[str, int], after: Mapping[str, Mapping[str, int]]) -> dict[str, Timing]:
    """Work out the critical path of activities.

    Parameters
    ----------
    durations : mapping of str to int
    after : mapping of str to mapping of str to int
        For an activity those that come before it, each with what has to lie between.

    Raises
    ------
    CycleError
        Activities come before each other in a ring.

    Examples
    --------
    >>> found = critical_path({"weld": 3, "paint": 2, "trim": 1}, {"paint": {"weld": 1}})
    >>> [name for name, timing in found.items() if not timing.slack], found["trim"].late_start
    (['weld', 'paint'], 5)
    """
    number = {name: at for at, name in enumerate(durations)}
    steps = tuple(
        Step(slots, after={number[one]: lag for one, lag in after.get(name, {}).items()})
        for name, slots in durations.items()
    )
    horizon = sum(durations.values()) + sum(lag for before in after.values() for lag in before.values())
    work = Work(steps, Crew((), horizon))
    placed = work.generate(work.ordered)
    late = work.latest_starts(placed)
    return {
        name: Timing(placed[at].start, placed[at].end, late[at], late[at] + durations[name])
        for name, at in number.items()
    }
