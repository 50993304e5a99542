"""The car file: all that is kept of one car, as one value."""

from __future__ import annotations

from dataclasses import dataclass

from shutline.car.engine import KeptEngineNote
from shutline.car.errors import Problem
from shutline.car.figures import Figure
from shutline.car.findings import Drive, Fact, Finding, State
from shutline.car.kept_papers import KeptPaper
from shutline.car.kept_tests import KeptTests
from shutline.car.notes import Note
from shutline.car.past import KeptPast
from shutline.car.prep_done import PutRight
from shutline.car.readings import KeptReading
from shutline.car.recordings import Original, Probe, Still
from shutline.car.second import SecondReading
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
    """One change of a finding, a fact or a car's details: when (ISO 8601, UTC), by whom, what was done.

    `before` and `after` hold the fields that changed and no others.
    """

    at: str
    author: str
    action: str
    before: dict[str, object]
    after: dict[str, object]


@dataclass(frozen=True, slots=True)
class KeptFinding:
    """A finding in the store: its id, the finding, its stills, and its history.

    The first of `changes` is how it came in; each further one raised `version` by one. `withdrawn` is True when the
    program, reading the same recording again, no longer drew it and nobody had looked at it. `put_right` tells that
    work has been done since that puts it right: it does not stand any more.
    """

    id: str
    finding: Finding
    stills: tuple[Still, ...] = ()
    version: int = 1
    changes: tuple[Change, ...] = ()
    withdrawn: bool = False
    put_right: PutRight | None = None


@dataclass(frozen=True, slots=True)
class KeptFact:
    """A fact in the store; the other fields as in `KeptFinding`."""

    id: str
    fact: Fact
    version: int = 1
    changes: tuple[Change, ...] = ()
    withdrawn: bool = False


@dataclass(frozen=True, slots=True)
class CarFile:
    """Everything kept of one car.

    `name` is how a person calls for it (letters, digits, hyphens); `title` how it is shown. `body` and `doors` choose
    the Plan; None until known. `changes` are those of the car's own details, oldest first. `second_readings` are data
    to compare with: no finding stands on them. `notes` were made at the car, in the order they came in. `figures` were
    read off its films and pictures, and `engine_notes` tell what was heard of its engine in a recording.
    `readings` are figures from instruments, struck ones too. `tests` are the test histories that came in, those kept
    apart too; `past` is what was entered of its keepers, countries and dates, struck entries too;
    `papers` are papers with what was read off them, those of another car too.
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
    version: int = 1
    changes: tuple[Change, ...] = ()
    second_readings: tuple[SecondReading, ...] = ()
    notes: tuple[Note, ...] = ()
    figures: tuple[Figure, ...] = ()
    engine_notes: tuple[KeptEngineNote, ...] = ()
    readings: tuple[KeptReading, ...] = ()
    tests: tuple[KeptTests, ...] = ()
    past: tuple[KeptPast, ...] = ()
    papers: tuple[KeptPaper, ...] = ()

    def going_out(self) -> tuple[KeptFinding, ...]:
        """Give what may be shown to a stranger as it is now: nothing struck, withdrawn or put right since."""
        return tuple(kept for kept in self.told() if kept.put_right is None)

    def put_right(self) -> tuple[KeptFinding, ...]:
        """Give what was found and has been put right since; what was struck or withdrawn is left out."""
        return tuple(kept for kept in self.told() if kept.put_right is not None)

    def told(self) -> tuple[KeptFinding, ...]:
        """Give all that was told, whether it still stands or was put right: nothing struck or withdrawn."""
        return tuple(kept for kept in self.findings if kept.finding.state is not State.STRUCK and not kept.withdrawn)


@dataclass(frozen=True, slots=True)
class CarSummary:
    """One line of a list of cars; the counts leave out what was withdrawn.

    Several values of one fact count once, as open while one of them is. `set_aside` is True for a car that the yard
    leaves out unless it is asked for.
    """

    name: str
    title: str
    drive: Drive
    created_at: str
    changed_at: str
    body: str | None = None
    doors: int | None = None
    recordings: int = 0
    pictures: int = 0
    findings_heard: int = 0
    findings_standing: int = 0
    findings_struck: int = 0
    version: int = 1
    facts_heard: int = 0
    facts_standing: int = 0
    set_aside: bool = False
