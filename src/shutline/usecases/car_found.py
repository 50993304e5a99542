"""What was found on a car, worded for its page: all of it, or, where it is much, a run of it at a time."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from shutline.car.carfile import CarFile, KeptFinding, Picture
from shutline.car.findings import State
from shutline.car.recordings import Still
from shutline.publish.report.entries import in_walking_order, otherwise_of, recording_numbers, sections
from shutline.publish.report.model import Entry
from shutline.publish.report.pictures import Album

if TYPE_CHECKING:
    from shutline.store import Store

WHOLE = 200
"""So many findings are shown in one go; of more, `AT_ONCE` at a time."""
AT_ONCE = 100


@dataclass(frozen=True, slots=True)
class FoundLine:
    """One finding as the page shows it.

    `entry` has its words and its number, that of the report; 0 for one that was struck. `start_s` and `end_s` are
    seconds in the recording of number `recording`, None where it stands on none. `pictures` are those it stands on.
    """

    entry: Entry
    state: State
    stills: tuple[Still, ...]
    recording: int | None = None
    start_s: float | None = None
    end_s: float | None = None
    why: tuple[str, ...] = ()
    pictures: tuple[Picture, ...] = ()


@dataclass(frozen=True, slots=True)
class FoundPlace:
    """All that was found at one place."""

    name: str
    found: tuple[FoundLine, ...]


@dataclass(frozen=True, slots=True)
class FoundGroup:
    """One stretch of the walk."""

    title: str
    places: tuple[FoundPlace, ...]


@dataclass(frozen=True, slots=True)
class FoundRun:
    """A run of what was found: of `count` findings those numbered `first` to `last`; 1 to 0 where there is none.

    `changed_at` tells as which state of the car they are numbered; `number` is the recording that is shown.
    """

    name: str
    changed_at: str
    number: int
    count: int
    first: int
    last: int
    groups: tuple[FoundGroup, ...]


def ordered_findings(car: CarFile) -> list[KeptFinding]:
    """Give the findings that are not struck in the order of their numbers."""
    return in_walking_order(car.going_out())


def runs(count: int) -> tuple[tuple[int, int], ...]:
    """Cut findings into runs: the first and the last number of each.

    >>> runs(150), runs(250)
    (((1, 150),), ((1, 100), (101, 200), (201, 250)))
    """
    if count <= WHOLE:
        return ((1, count),)
    return tuple((first, min(first + AT_ONCE - 1, count)) for first in range(1, count + 1, AT_ONCE))


def run_at(count: int, number: int) -> tuple[int, int]:
    """Give the run that a number lies in; the last one for a number beyond it."""
    return next((run for run in runs(count) if number <= run[1]), runs(count)[-1])


def spoken_at(kept: KeptFinding, numbers: Mapping[str, int]) -> tuple[int | None, float | None, float | None]:
    """Tell in which recording a finding was spoken of first, by number, and from when to when, seconds."""
    spoken = [
        (numbers[footing.source], footing.start_s, footing.end_s)
        for footing in kept.finding.footings
        if footing.start_s is not None and footing.source in numbers
    ]
    # Nearly all stand on one remark.
    return spoken[0] if len(spoken) == 1 else min(spoken, key=lambda one: one[:2], default=(None, None, None))


def view_found(store: Store, name: str, *, first: int = 1, recording: int = 1) -> FoundRun:
    """Give the run of findings that a number lies in.

    Parameters
    ----------
    store : Store
        Where they are kept.
    name : str
        The car's whole name.
    first : int
        A number of the run.
    recording : int
        Which recording is shown.

    Raises
    ------
    NotFoundError
        There is no such car.
    """
    outline = store.car_outline(name)
    ordered = ordered_findings(outline.car)
    run = run_at(len(ordered), first)
    return FoundRun(
        outline.car.name,
        outline.changed_at,
        recording,
        len(ordered),
        *run,
        worded(store, outline.car, ordered, run),
    )


def worded(store: Store, car: CarFile, ordered: Sequence[KeptFinding], run: tuple[int, int]) -> tuple[FoundGroup, ...]:
    """Word one run of the findings, with their stills.

    Parameters
    ----------
    store : Store
        Where the stills are known.
    car : CarFile
    ordered : sequence of KeptFinding
        All that are not struck, as `ordered_findings` gives them.
    run : (first, last)
        Numbers, from 1.
    """
    shown = {one.id: one for one in ordered[run[0] - 1 : run[1]]}
    numbers = recording_numbers(car)
    pictures = {picture.id: picture for picture in car.pictures}
    stills = store.stills_shown(list(shown))
    return tuple(
        FoundGroup(
            section.title,
            tuple(
                FoundPlace(
                    place.name,
                    tuple(
                        _line(entry, shown[entry.id], numbers, pictures, stills.get(entry.id, ()))
                        for entry in place.entries
                    ),
                )
                for place in section.places
            ),
        )
        for section in sections(
            list(shown.values()),
            album=Album({}),
            recordings=numbers,
            otherwise=otherwise_of(car),
            first=run[0],
        )
    )


def struck_lines(store: Store, car: CarFile) -> tuple[FoundLine, ...]:
    """Word what a person has struck."""
    rejected = [one for one in car.findings if one.finding.state is State.STRUCK and not one.withdrawn]
    kept = {one.id: one for one in rejected}
    numbers = recording_numbers(car)
    pictures = {picture.id: picture for picture in car.pictures}
    stills = store.stills_shown(list(kept))
    # The report has no words for what goes out nowhere: they are worded as they were heard.
    heard = [replace(one, finding=replace(one.finding, state=State.HEARD)) for one in rejected]
    found = sections(heard, album=Album({}), recordings=numbers)
    entries = [entry for section in found for place in section.places for entry in place.entries]
    return tuple(
        _line(replace(entry, number=0), kept[entry.id], numbers, pictures, stills.get(entry.id, ()))
        for entry in entries
    )


def _line(
    entry: Entry,
    kept: KeptFinding,
    numbers: Mapping[str, int],
    pictures: Mapping[str, Picture],
    stills: tuple[Still, ...],
) -> FoundLine:
    finding = kept.finding
    recording, start_s, end_s = spoken_at(kept, numbers)
    shown = tuple(pictures[footing.source] for footing in finding.footings if footing.source in pictures)
    return FoundLine(entry, finding.state, stills, recording, start_s, end_s, finding.why, shown)
