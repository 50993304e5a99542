"""What changed of a car from one recording to another, and the statement of it for both parties to sign."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path
from typing import TYPE_CHECKING

from shutline.car.carfile import CarFile, Recording
from shutline.car.errors import Problem, UserError
from shutline.survey.changed import Changed, Outcome
from shutline.survey.changed import changed as compare
from shutline.usecases.look import find_car
from shutline.usecases.report import write_whole

if TYPE_CHECKING:
    from shutline.publish.bare import BarePicture
    from shutline.store import Store

FILE = "changed.pdf"


@dataclass(frozen=True, slots=True)
class ChangedShown:
    """What changed between two recordings, by their ids and names, and how many of each outcome."""

    car: str
    title: str
    first: str
    second: str
    first_name: str
    second_name: str
    counts: dict[str, int]
    found: tuple[Changed, ...]


@dataclass(frozen=True, slots=True)
class StatementMade:
    """Where the statement lies, its size in bytes, and what went wrong on the way."""

    shown: ChangedShown
    path: str
    byte_size: int
    problems: tuple[Problem, ...] = ()


def changed(store: Store, car: str, *, first: str, second: str) -> ChangedShown:
    """Tell what changed of a car from one recording to another; nothing is kept.

    Parameters
    ----------
    store : Store
        Where it is kept.
    car : str
        Its name, or a beginning of it that no other has.
    first, second : str
        The two recordings, the earlier first: their ids or beginnings of them, their file names, or their numbers in
        the order they came in, from 1.

    Raises
    ------
    NotFoundError
        No such car.
    UserError
        The car has no such recording, both are one, or one of them was not read to its end (slug
        ``changed-recordings``).
    """
    file = find_car(store, car)
    return _shown(file, *_both(file, first, second))


def changed_statement(
    store: Store, car: str, *, first: str, second: str, out: Path | None = None, made_at: datetime | None = None
) -> StatementMade:
    """Write the statement of what changed, as a PDF.

    Raises what `changed` raises, and further what stands below.

    Parameters
    ----------
    store, car, first, second
        As for `changed`.
    out : Path, optional
        Folder for it, made if it is not there; ``out/NAME`` in the present folder when left out.
    made_at : datetime, optional
        The moment it speaks of; now when left out. The same moment gives the same bytes.

    Raises
    ------
    BrokenWorldError
        The folder cannot be written to, or the typesetter fails.
    """
    from shutline.publish.changed import build_changed, changed_pdf
    from shutline.usecases.house import house

    file = find_car(store, car)
    before, after = _both(file, first, second)
    shown = _shown(file, before, after)
    problems: list[Problem] = []
    moment = (made_at or datetime.now(UTC)).astimezone(UTC).replace(microsecond=0)
    model = build_changed(
        file,
        shown.found,
        first=before,
        second=after,
        stills=_stills(store, file, shown, problems),
        made_at=moment.isoformat(),
        house=house().on_report(),
    )
    path = (out or Path("out") / file.name) / FILE
    written = write_whole(path, changed_pdf(model), "changed")
    return StatementMade(shown, written.path, written.byte_size, tuple(problems))


def _stills(store: Store, file: CarFile, shown: ChangedShown, problems: list[Problem]) -> dict[str, BarePicture]:
    """Make the stills ready to go out, through the one way out for pictures."""
    from shutline.publish.bare import BarePicture
    from shutline.usecases.published_pictures import pictures_out

    ready, _ = pictures_out(store, file, problems)
    wanted = {still.sha256 for one in shown.found for kept in (one.first, one.second) if kept for still in kept.stills}
    return {name: still for name, still in ready.items() if name in wanted and isinstance(still, BarePicture)}


def _shown(file: CarFile, before: Recording, after: Recording) -> ChangedShown:
    found = compare(file, first=before.id, second=after.id)
    counts = {outcome.value: sum(one.outcome is outcome for one in found) for outcome in Outcome}
    names = (before.original.name, after.original.name)
    return ChangedShown(file.name, file.title, before.id, after.id, *names, counts, found)


def _both(file: CarFile, first: str, second: str) -> tuple[Recording, Recording]:
    before, after = _recording(file, first), _recording(file, second)
    if before.id == after.id:
        raise _refused(file, "both are one recording")
    for one in (before, after):
        if not one.complete:
            raise _refused(file, f"{one.original.name} has not been read to its end")
    return before, after


def _recording(file: CarFile, text: str) -> Recording:
    if text.isascii() and text.isdigit() and 1 <= int(text) <= len(file.recordings):
        return file.recordings[int(text) - 1]
    named = [one for one in file.recordings if one.original.name == text]
    begins = [one for one in file.recordings if text and one.id.startswith(text)]
    fits = named or begins
    if len(fits) != 1:
        raise _refused(file, f"{text[:60]!r} names {len(fits) or 'no'} of its recordings")
    return fits[0]


def _refused(file: CarFile, found: str) -> UserError:
    names = ", ".join(f"{number} ({one.original.name})" for number, one in enumerate(file.recordings, start=1))
    return UserError(
        Problem(
            slug="changed-recordings",
            where=file.name,
            found=found,
            allowed=f"two of these: {names}" if names else "two recordings; it has none",
            advice="Name them by number, file name or id, the earlier first.",
        )
    )
