"""Steps set one after another on a line of slots: people, places and pools, and what follows what.

A schedule is made by serial generation: in some order of the steps each is set as early as it can be, given those that
are set already (Kolisch 1996, from memory). `packed` looks for the best order.
"""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from functools import cached_property
from itertools import accumulate

Cause = tuple[str, int | None]

AWAY = -1
"""The place of a car that is out of the house."""


@dataclass(frozen=True, slots=True)
class Step:
    """One stretch of work: `slots` of one of the people in `who`, or of plain time where that is empty.

    It goes on over hours in which its person does not work, and is broken off for nothing else. `car` is which car it
    is on, `bays` where that may be (`AWAY` for out of the house; empty: wherever the car stands), held for
    `held_before` slots before it and `held_after` after. `amounts` are taken of each pool meanwhile. It starts no
    earlier than `earliest`, and the whole ends no earlier than `tail` slots after it. `after` are steps before it, by
    their number, each with the slots that must lie between.
    """

    slots: int
    who: tuple[int, ...] = ()
    car: int | None = None
    bays: tuple[int, ...] = ()
    held_before: int = 0
    held_after: int = 0
    amounts: tuple[int, ...] = ()
    earliest: int = 0
    tail: int = 0
    after: Mapping[int, int] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class Set:
    """Where a step is set: from `start` to before `end`, by `person` from their working slot `rank` on, in `bay`.

    `held` is from when to before when it holds its place. `cause` tells what it waited for: a kind and the number of
    the step, if there is one.
    """

    start: int
    end: int
    person: int | None
    rank: int
    bay: int | None
    held: tuple[int, int]
    cause: Cause


@dataclass(frozen=True)
class Crew:
    """The working slots of each person, rising, and how much there is of each pool; nobody works from `horizon` on."""

    working: tuple[tuple[int, ...], ...]
    horizon: int
    pools: tuple[int, ...] = ()

    @cached_property
    def worked(self) -> tuple[tuple[int, ...], ...]:
        """Give for each person how many working slots lie before each slot."""
        return tuple(_counted(slots, self.horizon) for slots in self.working)

    def opened(self, who: frozenset[int]) -> tuple[int, ...]:
        """Give how many slots in which any of some people works lie before each slot."""
        if who not in self._opened:
            self._opened[who] = _counted({slot for one in who for slot in self.working[one]}, self.horizon)
        return self._opened[who]

    def mirrored(self, span: int) -> Crew:
        """Give the same people told from a moment back, `span`."""
        if span not in self._mirrored:
            working = tuple(
                tuple(span - 1 - slot for slot in reversed(slots[: bisect_left(slots, span)])) for slots in self.working
            )
            self._mirrored[span] = Crew(working, span, self.pools)
        return self._mirrored[span]

    @cached_property
    def _opened(self) -> dict[frozenset[int], tuple[int, ...]]:
        return {}

    @cached_property
    def _mirrored(self) -> dict[int, Crew]:
        return {}

    def end_of(self, who: Sequence[int], start: int, slots: int) -> int | None:
        """Give the earliest end of work begun at `start` or later by the quickest of some people; None for never."""
        if not slots or not who:
            return start + slots if start + slots <= self.horizon else None
        ends = []
        for person in who:
            last = self.worked[person][min(start, self.horizon)] + slots - 1
            if last < len(self.working[person]):
                ends.append(self.working[person][last] + 1)
        return min(ends, default=None)


def _counted(slots: Iterable[int], horizon: int) -> tuple[int, ...]:
    """Give how many of some slots lie before each slot up to the horizon."""
    marked = bytearray(horizon)
    for slot in slots:
        if slot < horizon:
            marked[slot] = 1
    return (0, *accumulate(marked))


@dataclass(frozen=True, slots=True)
class _Narrow:
    """Steps that take `slots` of something together, of which there have been `counts` before each slot.

    Plain time where that is None. The whole ends no earlier than `rest` after they have had it.
    """

    steps: tuple[int, ...]
    counts: tuple[int, ...] | None
    slots: int
    rest: int


class TooLongError(Exception):
    """The steps do not fit before the horizon."""


@dataclass(frozen=True)
class Work:
    """Steps and who and what there is for them."""

    steps: tuple[Step, ...]
    crew: Crew

    @cached_property
    def following(self) -> tuple[dict[int, int], ...]:
        """Give what comes after each step, with the slots between."""
        found: tuple[dict[int, int], ...] = tuple({} for _ in self.steps)
        for at, step in enumerate(self.steps):
            for before, lag in step.after.items():
                found[before][at] = lag
        return found

    @cached_property
    def ordered(self) -> tuple[int, ...]:
        """Give the steps so that none comes before what it is after."""
        from graphlib import TopologicalSorter

        return tuple(TopologicalSorter({at: sorted(step.after) for at, step in enumerate(self.steps)}).static_order())

    @cached_property
    def tails(self) -> tuple[int, ...]:
        """Give the longest way from the start of each step to the end of the whole, in plain slots."""
        found = [0] * len(self.steps)
        for at in reversed(self.ordered):
            step = self.steps[at]
            beyond = [lag + found[other] for other, lag in self.following[at].items()]
            found[at] = step.slots + max([step.tail, *beyond])
        return tuple(found)

    def span(self, placed: Mapping[int, Set]) -> int:
        """Give when the whole ends."""
        return max((one.end + self.steps[at].tail for at, one in placed.items()), default=0)

    def generate(self, order: Sequence[int]) -> dict[int, Set]:
        """Set each step, in an order that may be changed only by what has to come first; raises TooLongError."""
        placed: dict[int, Set] = {}
        waiting = list(order)
        while waiting:
            at = next(one for one in waiting if all(before in placed for before in self.steps[one].after))
            waiting.remove(at)
            # Of equal ways one that waits for no person: it tells what else is in the way.
            placed[at] = min(
                self.ways(at, placed),
                key=lambda one: (one.end, one.start, one.cause[0] == "person", one.person or 0, one.bay or 0),
            )
        return placed

    def ways(self, at: int, placed: Mapping[int, Set]) -> list[Set]:
        """Give the earliest set of a step for each person and bay; raises TooLongError where there is none."""
        step = self.steps[at]
        base = step.earliest
        cause: Cause = ("parts", None) if base else ("", None)
        for before, lag in sorted(step.after.items()):
            if placed[before].end + lag > base:
                base, cause = placed[before].end + lag, ("cures" if lag else "after", before)
        busy: dict[int | None, list[tuple[int, int]]] = {person: [] for person in step.who}
        for other, one in placed.items():
            if one.person in busy:
                busy[one.person].append((one.rank, other))
        for ranks in busy.values():
            ranks.sort()
        found = [
            self._earliest(step, person, bay, placed, busy.get(person, []), start=base, cause=cause)
            for person in (step.who or (None,))
            for bay in (step.bays or (None,))
        ]
        sets = [one for one in found if one is not None]
        if not sets:
            raise TooLongError
        return sets

    def _earliest(
        self,
        step: Step,
        person: int | None,
        bay: int | None,
        placed: Mapping[int, Set],
        busy: Sequence[tuple[int, int]],
        *,
        start: int,
        cause: Cause,
    ) -> Set | None:
        """Give the earliest set for a person and a bay; `busy` are the ranks at which that person has other steps."""
        start = max(start, step.held_before)
        while True:
            rank = 0
            if person is not None:
                rank = self.crew.worked[person][min(start, self.crew.horizon)]
                for begin, other in busy:
                    if begin < rank + step.slots and begin + self.steps[other].slots > rank:
                        rank, cause = begin + self.steps[other].slots, ("person", other)
                if rank + max(step.slots, 1) > len(self.crew.working[person]):
                    return None
                start = max(start, self.crew.working[person][rank])
                end = self.crew.working[person][rank + step.slots - 1] + 1 if step.slots else start
            else:
                end = start + step.slots
            if end + step.held_after > self.crew.horizon + step.tail or end > self.crew.horizon:
                return None
            held = (start - step.held_before, end + step.held_after)
            hit = self._in_the_way(step, bay, (start, end), held, placed)
            if hit is None:
                return Set(start, end, person, rank, bay, held, cause)
            start, cause = hit

    def _in_the_way(
        self, step: Step, bay: int | None, work: tuple[int, int], held: tuple[int, int], placed: Mapping[int, Set]
    ) -> tuple[int, Cause] | None:
        """Give from when on to try again, and why; None where nothing is in the way."""
        if step.car is not None:
            for at, one in placed.items():
                other = self.steps[at]
                if other.car is None or one.held[0] >= held[1] or one.held[1] <= held[0]:
                    continue
                if other.car == step.car:
                    apart = one.bay != bay and (AWAY in (one.bay, bay) or None not in (one.bay, bay))
                else:
                    apart = one.bay == bay and bay not in (None, AWAY)
                if apart:
                    return one.held[1] + step.held_before, ("place", at)
        start, end = work
        for pool, amount in enumerate(step.amounts):
            if not amount:
                continue
            taking = [
                (one.start, one.end, self.steps[at].amounts[pool], at)
                for at, one in placed.items()
                if self.steps[at].amounts and self.steps[at].amounts[pool] and one.start < end and one.end > start
            ]
            for moment in sorted({start, *(begin for begin, _, _, _ in taking if begin > start)}):
                now = [(stop, at) for begin, stop, _, at in taking if begin <= moment < stop]
                if amount + sum(self.steps[at].amounts[pool] for _, at in now) > self.crew.pools[pool]:
                    stop, at = min(now)
                    return stop, ("pool", at)
        return None

    def bound(self, placed: Mapping[int, Set] | None = None) -> int:
        """Give what no schedule that goes on from `placed` can end before; the horizon where none can."""
        placed = placed or {}
        ends: dict[int, int] = {}
        starts: dict[int, int] = {}
        for at in self.ordered:
            step = self.steps[at]
            if at in placed:
                starts[at], ends[at] = placed[at].start, placed[at].end
                continue
            starts[at] = max([step.earliest, *(ends[before] + lag for before, lag in step.after.items())])
            end = self.crew.end_of(step.who, starts[at], step.slots)
            if end is None:
                return self.crew.horizon + 1
            ends[at] = end
        most = max((end + self.steps[at].tail for at, end in ends.items()), default=0)
        for one in self._narrow:
            first = min(self.crew.horizon, *(starts[at] for at in one.steps))
            end = first + one.slots
            if one.counts is not None:
                end = min(bisect_left(one.counts, one.counts[first] + one.slots, lo=first), self.crew.horizon)
            most = max(most, end + one.rest)
        return most

    @cached_property
    def _narrow(self) -> tuple[_Narrow, ...]:
        """Give what steps share: people who do all of some, a car that is in one bay after the other, pools."""
        found = []
        groups: dict[tuple[int, ...], list[int]] = {}
        for at, step in enumerate(self.steps):
            if step.who:
                groups.setdefault(step.who, []).append(at)
        for who, several in groups.items():
            counts = tuple(map(sum, zip(*(self.crew.worked[person] for person in who), strict=True)))
            found.append(self._shared(several, counts, sum(self.steps[at].slots for at in several)))
        for kinds in self.bay_times:
            several = [at for kind in kinds for at in kind]
            slots = sum(-(-sum(self.steps[at].slots for at in kind) // self.at_once(kind)) for kind in kinds)
            people = frozenset(person for at in several for person in self.steps[at].who)
            found.append(self._shared(several, self.crew.opened(people), slots))
        for pool, capacity in enumerate(self.crew.pools):
            several = [at for at, step in enumerate(self.steps) if step.amounts and step.amounts[pool]]
            taken = sum(self.steps[at].slots * self.steps[at].amounts[pool] for at in several)
            if several:
                found.append(self._shared(several, None, -(-taken // capacity)))
        return tuple(found)

    def _shared(self, several: Sequence[int], counts: tuple[int, ...] | None, slots: int) -> _Narrow:
        rest = min(self.tails[at] - self.steps[at].slots for at in several)
        return _Narrow(tuple(several), counts, slots, rest)

    @cached_property
    def bay_times(self) -> tuple[tuple[tuple[int, ...], ...], ...]:
        """Give for each car the steps of people in bays, those together that may be in one bay."""
        found: dict[int, list[tuple[set[int], list[int]]]] = {}
        for at, step in enumerate(self.steps):
            if step.car is not None and step.bays and step.who:
                kinds = found.setdefault(step.car, [])
                met = [kind for kind in kinds if kind[0] & set(step.bays)]
                joined = (
                    set(step.bays).union(*(kind[0] for kind in met)),
                    [*(one for kind in met for one in kind[1]), at],
                )
                found[step.car] = [kind for kind in kinds if kind not in met] + [joined]
        return tuple(tuple(tuple(steps) for _, steps in kinds) for kinds in found.values())

    def at_once(self, several: Sequence[int]) -> int:
        """Give how many of some steps can go on at once, as people and pools have it."""
        people = len({person for at in several for person in self.steps[at].who})
        taken = [
            capacity
            for pool, capacity in enumerate(self.crew.pools)
            if all(self.steps[at].amounts and self.steps[at].amounts[pool] for at in several)
        ]
        return max(1, min([people, *taken]))

    def mirrored(self, span: int) -> Work:
        """Give the same work told from its end, `span`: what leans left in it leans right in ours."""
        steps = tuple(
            replace(
                step,
                earliest=step.tail,
                tail=step.earliest,
                held_before=step.held_after,
                held_after=step.held_before,
                after=self.following[at],
            )
            for at, step in enumerate(self.steps)
        )
        return Work(steps, self.crew.mirrored(span))

    def narrowed(self, placed: Mapping[int, Set]) -> Work:
        """Give the same work with each step kept to the person and bay that it was set to."""
        steps = []
        for at, step in enumerate(self.steps):
            one = placed[at]
            who = step.who if one.person is None else (one.person,)
            steps.append(replace(step, who=who, bays=step.bays if one.bay is None else (one.bay,)))
        return Work(tuple(steps), self.crew)

    def latest_starts(self, placed: Mapping[int, Set]) -> dict[int, int]:
        """Give the latest start of each step that keeps the end, its people and its bays, all after it as late too."""
        span = self.span(placed)
        kept = self.narrowed(placed)
        order = sorted(placed, key=lambda at: (-placed[at].end, -placed[at].start, at))
        leaning = kept.mirrored(span).generate(order)
        return {at: span - one.end for at, one in leaning.items()}
