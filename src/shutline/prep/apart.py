"""A choice taken apart: tasks that share nothing are weighed by themselves, and what pays in each is put together."""

from __future__ import annotations

import time
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, replace

import numpy as np

from shutline.prep.programme import Programme

FEW = 12
"""Of so many tasks every set is tried."""


@dataclass(frozen=True, slots=True)
class Had:
    """A set: the money that is reckoned with and the gain, in pence, and how far back it stands among equal gains."""

    money: int
    gain: int
    rank: int
    chosen: frozenset[str]


Line = tuple[Had, ...]
"""Sets in order of money, each gaining more than the one before, and nothing gains more for less."""


def apart(programme: Programme) -> tuple[Programme, ...]:
    """Give the same as programmes, without draws, that share no finding, set-up or need."""
    group = {id_: {id_} for id_ in programme.by_id}
    by_job: dict[str, list[str]] = {}
    for id_, task in programme.by_id.items():
        by_job.setdefault(task.job.id, []).append(id_)
    needed = ((id_, *others) for id_, others in programme.needs.items())
    for several in (*programme.cures.values(), *(by_job[job] for job in programme.setups), *needed):
        whole = set().union(*(group[one] for one in several))
        group.update(dict.fromkeys(whole, whole))
    return tuple(
        replace(
            programme,
            tasks=tuple(programme.by_id[id_] for id_ in sorted(ids)),
            needs={id_: others for id_, others in programme.needs.items() if id_ in ids},
            musts=programme.musts & ids,
            refused=programme.refused & ids,
            draws=None,
        )
        for ids in {id(ids): ids for ids in group.values()}.values()
    )


def whole_line(
    programme: Programme,
    parts: Sequence[Programme],
    search: Callable[[Programme], Line | None],
    *,
    until: float,
) -> Line | None:
    """Give the line of a programme that is held to nothing but money.

    Parameters
    ----------
    programme : Programme
    parts : sequence of Programme
        As `apart` gives them.
    search : callable
        Gives the line of a programme of more than `FEW` tasks; None where it was stopped.
    until : float
        When to stop, by the monotonic clock.

    Returns
    -------
    tuple of Had
        Empty where the musts cannot be done; None where it was stopped.
    """
    ranks = {id_: len(programme.columns) + at for id_, at in programme.columns.items()}
    line: Line = (Had(0, 0, 0, frozenset()),)
    for part in parts:
        own = every_line(part, ranks) if len(part.columns) <= FEW else search(part)
        if own is None or time.monotonic() > until:
            return None
        line = _together(line, tuple(replace(one, rank=sum(ranks[id_] for id_ in one.chosen)) for one in own))
    return line


def every_line(programme: Programme, ranks: dict[str, int]) -> Line:
    """Give the line of a few tasks by trying every set of them."""
    count = len(programme.columns)
    tried = (np.arange(2**count)[:, None] >> np.arange(count)) & 1
    jobs = [
        [programme.columns[id_] for id_, t in programme.by_id.items() if t.job.id == job] for job in programme.setups
    ]
    cured = [[programme.columns[one] for one in programme.cures[finding]] for finding in programme.shared]
    at = np.hstack([tried, *(tried[:, own].any(axis=1, keepdims=True) for own in (*jobs, *cured))]).astype(float)
    low, high = programme.bounds
    fits = (at >= low).all(axis=1) & (at <= high).all(axis=1)
    for row, most in programme.rules:
        fits &= at[:, list(row)] @ np.array(list(row.values())) <= most + 1e-9
    at = at[fits]
    reckoned = np.zeros(programme.size)
    for column, value in programme.counted("money").items():
        reckoned[column] = value
    ids, places = np.array(list(programme.columns), dtype=object), np.array([ranks[id_] for id_ in programme.columns])
    return rising(
        Had(round(money), round(gain), int(rank), frozenset(ids[one > 0]))
        for money, gain, rank, one in zip(
            at @ reckoned, at @ programme.gains, at[:, :count] @ places, at[:, :count], strict=True
        )
    )


def rising(sets: Iterable[Had]) -> Line:
    """Leave out what gains no more than something for less money; of equals the fewer and earlier tasks stay."""
    found: list[Had] = []
    for one in sorted(sets, key=lambda one: (one.money, -one.gain, one.rank)):
        if not found or one.gain > found[-1].gain:
            found.append(one)
    return tuple(found)


def _together(first: Sequence[Had], second: Sequence[Had]) -> Line:
    """Put two lines together that have no task in common (Nemhauser and Ullmann 1969, from memory)."""
    pairs = sorted(
        (one.money + other.money, -one.gain - other.gain, one.rank + other.rank, at, and_at)
        for at, one in enumerate(first)
        for and_at, other in enumerate(second)
    )
    found: list[Had] = []
    for money, loss, rank, at, and_at in pairs:
        if not found or -loss > found[-1].gain:
            found.append(Had(money, -loss, rank, first[at].chosen | second[and_at].chosen))
    return tuple(found)
