"""What preparation is made of: ranges, jobs as the tables have them, and the tasks they make of one car's findings."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Range:
    """A low, a likely and a high value, in that order: the low and high are the ends, not quantiles."""

    low: float
    likely: float
    high: float


NOUGHT = Range(0.0, 0.0, 0.0)


@dataclass(frozen=True, slots=True)
class Labour:
    """Hours of one trade: `each` for each task, `setup` once for all tasks of the job on one car.

    `before` is what `each` was before hours that were taken moved it: what is learnt is always learnt from that.
    """

    trade: str
    each: Range
    setup: Range = NOUGHT
    before: Range | None = None

    @property
    def start(self) -> Range:
        """What the table says of itself, no hours taken counted."""
        return self.each if self.before is None else self.before


@dataclass(frozen=True, slots=True)
class Cure:
    """What a job cures: parts of the vocabulary (empty: any), conditions, and degrees of severity (empty: all)."""

    parts: tuple[str, ...]
    conditions: tuple[str, ...]
    severities: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Worse:
    """The chance that more is found when a task is opened, and by how much its hours and materials then grow."""

    chance: float
    factor: Range


@dataclass(frozen=True, slots=True)
class Job:
    """One piece of preparation, as a row of the table has it.

    `whole` says that one task cures all such findings of the car. `after` names jobs that come first where both are
    done. `waits` is how many hours something dries or cures before what follows; the bay is free meanwhile unless
    `holds_bay`. Money is in the house's currency without value added tax. `cautions` name rows of the cautions.
    `source` says where hours and ranges are from. `remedy` is what it does, as a remark calls it (clean, polish,
    repaint, repair, replace, adjust, treat), so that a wish finds its job. `supplier` is whom the house buys it from.
    """

    id: str
    name: str
    cures: tuple[Cure, ...]
    labour: tuple[Labour, ...]
    materials: Range
    outside: Range
    whole: bool
    after: tuple[str, ...]
    waits: float
    holds_bay: bool
    bay: str
    worse: Worse | None
    cause: str
    """Tasks with the same cause are found worse together; empty where each stands alone."""
    cautions: tuple[str, ...]
    source: str
    remedy: str = ""
    supplier: str = ""


@dataclass(frozen=True, slots=True)
class Task:
    """A job on one car, with the findings that it cures.

    `must` says why it has to be done (safety, roadworthiness, promised), or is empty; `wished` holds the presenter's
    own words where they asked for it. `heard_only` says that no finding of it stands yet. `count` is how many places
    it is done at (both doors: 2): each place takes the hours, materials and outside work once, the set-up stays one.
    """

    id: str
    job: Job
    findings: tuple[str, ...]
    must: str
    wished: str
    heard_only: bool
    count: int = 1
