"""The shortest walk that does all jobs, some of them after others; a place is visited again only where it must be."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from heapq import heappop, heappush
from itertools import count


@dataclass(frozen=True, slots=True)
class Job:
    """Something to do at a station; `after` are the numbers of jobs that are done before."""

    station: int
    after: frozenset[int] = frozenset()


@dataclass(frozen=True, slots=True)
class Walk:
    """Stations in the order they are visited, each with the jobs done there in order, and what the walk costs."""

    visits: tuple[tuple[int, tuple[int, ...]], ...]
    cost: int


def shortest_walk(walk: Sequence[Sequence[int]], enter: Sequence[int], jobs: Sequence[Job], *, start: int) -> Walk:
    """Find the shortest walk, by a search that is sure of it.

    At each visit all jobs are done that can be, which never makes a walk longer. What is left costs at least entering
    each place that is left once, the shortest net of ways between them, stage by stage where all of some jobs come
    before all others, and the shortest way from each stage to the next; the search goes on with the walk that promises
    most (A*). Among walks of one length the choice is always the same.

    Parameters
    ----------
    walk : matrix of int
        Ways between stations: symmetric, none negative, and none longer than a way round by a third station.
    enter : sequence of int
        What entering each station costs, at every visit.
    jobs : sequence of Job
        What is to be done.
    start : int
        The station that one stands at first; being there is no visit, entering it counts like any other.

    Returns
    -------
    Walk
        `cost` is ways and entering together, in the unit of the arguments.

    Raises
    ------
    ValueError
        Jobs wait for each other.
    """
    search = _Search(walk, enter, jobs)
    number = count()
    begun = (0, start)
    least = {begun: 0}
    way: dict[tuple[int, int], tuple[tuple[int, int], int]] = {}
    waiting: list[tuple[int, int, tuple[int, ...], int, tuple[int, int]]] = [
        (search.at_least(0, start), 0, (), next(number), begun)
    ]
    closed: set[tuple[int, int]] = set()
    while waiting:
        _, _, path, _, state = heappop(waiting)
        if state in closed:
            continue
        closed.add(state)
        done, here = state
        if done == search.everything:
            return Walk(_visits(state, way, search), least[state])
        for there in search.stations:
            after = search.done_at(done, there)
            if after == done:
                continue
            cost = least[state] + walk[here][there] + enter[there]
            there_state = (after, there)
            if cost < least.get(there_state, cost + 1):
                least[there_state] = cost
                way[there_state] = (state, after & ~done)
                promise = cost + search.at_least(after, there)
                path_there = (*path, there)
                heappush(waiting, (promise, -after.bit_count(), path_there, next(number), there_state))
                closed.discard(there_state)
    raise ValueError("jobs wait for each other")


class _Search:
    """What the search looks up again and again."""

    def __init__(self, walk: Sequence[Sequence[int]], enter: Sequence[int], jobs: Sequence[Job]) -> None:
        self.walk = walk
        self.enter = enter
        self.jobs = jobs
        self.everything = (1 << len(jobs)) - 1
        self.stations = sorted({job.station for job in jobs})
        self._at = {one: [n for n, job in enumerate(jobs) if job.station == one] for one in self.stations}
        self._mask = {one: sum(1 << n for n in numbers) for one, numbers in self._at.items()}
        self._before = [sum(1 << n for n in job.after) for job in jobs]
        ancestors = _ancestors(self._before)
        self._together = {one: _together(numbers, ancestors, self._mask[one]) for one, numbers in self._at.items()}
        self._stages = _stages(ancestors)
        self._nets: dict[tuple[int, ...], int] = {}
        self._left: dict[int, tuple[int, tuple[int, ...]]] = {}

    def done_at(self, done: int, station: int) -> int:
        """Give what is done after a visit to a station: all jobs there whose time has come."""
        if self._mask[station] & ~done:
            for elsewhere, jobs in self._together[station]:
                if not elsewhere & ~done:
                    done |= jobs
        return done

    def order_at(self, done: int, new: int, station: int) -> tuple[int, ...]:
        """Give the new jobs of a visit in an order in which each comes after what it waits for."""
        order: list[int] = []
        while len(order) < new.bit_count():
            for number in self._at[station]:
                bit = 1 << number
                if new & bit and not done & bit and not self._before[number] & ~done:
                    done |= bit
                    order.append(number)
        return tuple(order)

    def at_least(self, done: int, here: int) -> int:
        """Give what is still to come at the least."""
        known = self._left.get(done)
        if known is None:
            known = self._left[done] = self._to_come(done)
        cost, first = known
        return cost + self._net((here, *(one for one in first if one != here))) if first else 0

    def _to_come(self, done: int) -> tuple[int, tuple[int, ...]]:
        """Give what is to come from anywhere, but for the net of the first stage that is left; and its stations."""
        cost = 0
        first: tuple[int, ...] = ()
        before: tuple[int, ...] = ()
        for stage in self._stages:
            rest = stage & ~done
            if not rest:
                continue
            left = tuple(one for one in self.stations if self._mask[one] & rest)
            cost += sum(self.enter[one] for one in left)
            if before:
                cost += min(self.walk[one][other] for one in before for other in left) + self._net(left)
                # The visit that ends one stage may begin the next, and is entered once.
                cost -= max((self.enter[one] for one in left if one in before), default=0)
            first, before = first or left, left
        return cost, first

    def _net(self, stations: tuple[int, ...]) -> int:
        """Give the length of the shortest net that joins some stations (Prim)."""
        known = self._nets.get(stations)
        if known is None:
            known = 0
            far = {one: self.walk[stations[0]][one] for one in stations[1:]}
            while far:
                near = min(far, key=lambda one: far[one])
                known += far.pop(near)
                far = {one: min(metres, self.walk[near][one]) for one, metres in far.items()}
            self._nets[stations] = known
        return known


def _ancestors(before: Sequence[int]) -> list[int]:
    """Give for each job all that come before it, near and far, as a set of bits."""
    ancestors = list(before)
    for _ in before:
        known = list(ancestors)
        for number, bits in enumerate(known):
            for other, above in enumerate(known):
                if bits >> other & 1:
                    ancestors[number] |= above
        if known == ancestors:
            break
    return ancestors


def _together(numbers: Sequence[int], ancestors: Sequence[int], here: int) -> list[tuple[int, int]]:
    """Put the jobs of a station together that wait for the same elsewhere: they are always done at one visit.

    Gives sets of bits: what they wait for, and the jobs. Those that wait for themselves are never done.
    """
    found: dict[int, int] = {}
    for number in numbers:
        if not ancestors[number] >> number & 1:
            elsewhere = ancestors[number] & ~here
            found[elsewhere] = found.get(elsewhere, 0) | 1 << number
    return list(found.items())


def _stages(ancestors: Sequence[int]) -> list[int]:
    """Part jobs into stages, all of one before all of the next: the fewest jobs first, each stage as a set of bits."""
    stages = []
    first = 0
    everything = (1 << len(ancestors)) - 1
    for number in sorted(range(len(ancestors)), key=lambda number: ancestors[number].bit_count()):
        bits = ancestors[number] & ~first
        rest = everything & ~ancestors[number]
        # A cut lies below a job whose ancestors all come before whatever is no ancestor of it.
        if bits and all(not ancestors[number] & ~ancestors[one] for one in range(len(ancestors)) if rest >> one & 1):
            stages.append(bits)
            first |= bits
    return [*stages, everything & ~first]


def _visits(
    state: tuple[int, int], way: dict[tuple[int, int], tuple[tuple[int, int], int]], search: _Search
) -> tuple[tuple[int, tuple[int, ...]], ...]:
    visits: list[tuple[int, tuple[int, ...]]] = []
    while state in way:
        before, new = way[state]
        visits.append((state[1], search.order_at(before[0], new, state[1])))
        state = before
    return tuple(reversed(visits))
