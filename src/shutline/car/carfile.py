"""The car file: all that is kept of one car, as one value."""

from __future__ import annotations

from dataclasses import dataclass

from shutline.car.errors import Problem
from shutline.car.findings import Drive, Fact, Finding, State
from shutline.car.recordings import Original, Probe, Still
from shutline.car.speech import Stretch


@dataclass(frozen=True, slots=True)
class Recording:
    """One recording of the car with what was heard in it.

    `id` is unique in the store. `complete` is False while a stage is still to be done.
    """

    id: str
    original: Original
    probe: Probe
    stretches: tuple[Stretch, ...] = ()
    complete: bool = False


@dataclass(frozen=True, slots=True)
class Picture:
    """A picture that came in by itself, not tied to a moment of a film."""

    id: str
    original: Original
    width: int
    height: int
    taken_at: str | None = None


@dataclass(frozen=True, slots=True)
class Change:
    """One change of a finding or fact: when (ISO 8601, UTC), by whom, what was done, and what stood before."""

    at: str
    author: str
    action: str
    before: dict[str, object]
    after: dict[str, object]


@dataclass(frozen=True, slots=True)
class KeptFinding:
    """A finding in the store: its id, its number on the Plan, the finding, its stills, and how often it was changed."""

    id: str
    finding: Finding
    stills: tuple[Still, ...] = ()
    version: int = 1
    changes: tuple[Change, ...] = ()


@dataclass(frozen=True, slots=True)
class KeptFact:
    """A fact in the store."""

    id: str
    fact: Fact
    version: int = 1
    changes: tuple[Change, ...] = ()


@dataclass(frozen=True, slots=True)
class CarFile:
    """Everything kept of one car.

    `name` is how a person calls for it (letters, digits, hyphens); `title` how it is shown. `body` and `doors` choose
    the Plan; None until known.
    """

    name: str
    title: str
    drive: Drive
    created_at: str
    body: str | None = None
    doors: int | None = None
    recordings: tuple[Recording, ...] = ()
    pictures: tuple[Picture, ...] = ()
    findings: tuple[KeptFinding, ...] = ()
    facts: tuple[KeptFact, ...] = ()
    problems: tuple[Problem, ...] = ()

    def going_out(self) -> tuple[KeptFinding, ...]:
        """Give the findings that may be shown to a stranger: all that nobody has struck."""
        return tuple(kept for kept in self.findings if kept.finding.state is not State.STRUCK)
