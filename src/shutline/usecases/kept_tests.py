"""Test histories: a file brought in, its records kept with the car, and said to be this car or another."""

from __future__ import annotations

import json
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Literal

from shutline.car.errors import BadInputError, NotFoundError, Problem
from shutline.car.figures import FigureState
from shutline.car.findings import State
from shutline.car.kept_tests import RecordState
from shutline.usecases.look import find_car
from shutline.usecases.settings import author as present_author

if TYPE_CHECKING:
    from collections.abc import Sequence

    from shutline.car.carfile import CarFile
    from shutline.car.kept_tests import KeptTests
    from shutline.history import MotRecord
    from shutline.store import Store

RecordVerb = Literal["same", "other", "open"]
MOST_BYTES = 20_000_000
"""The longest file that is taken, bytes."""
_MOST_CARS = 20
SAID = {
    RecordState.SAME: "it is this car",
    RecordState.OTHER: "it is another car",
    RecordState.OPEN: "nobody has said whose it is",
}


@dataclass(frozen=True, slots=True)
class RecordLine:
    """A kept record: whose it is, how many tests it has, and whether it counts for this car.

    `why` says in words why it counts or is kept apart.
    """

    id: str
    mark: str
    make: str
    model: str
    tests: int
    name: str
    kept_at: str
    kept_by: str
    state: RecordState
    counts: bool
    why: str
    version: int


@dataclass(frozen=True, slots=True)
class RecordsCame:
    """What came in with a file: its records, how many were new, and what could not be read of it."""

    car: str
    records: tuple[RecordLine, ...]
    new: int
    problems: tuple[Problem, ...]


def enter_tests(store: Store, name: str, file: Path, *, author: str | None = None) -> RecordsCame:
    """Keep the records of a file of test histories; those that came in before are left as they are.

    Raises
    ------
    NotFoundError
        No such car, or no such file (slug ``no-such-file``).
    BadInputError
        Slug ``mot-history``: the file gives nothing.
    """
    car = find_car(store, name)
    try:
        with file.open("rb") as opened:
            data = opened.read(MOST_BYTES + 1)
    except OSError as error:
        raise NotFoundError(
            Problem(
                slug="no-such-file",
                where=str(file),
                found=f"it cannot be read ({error.strerror})",
                allowed="a file of test histories (JSON)",
                advice="Give the path to one.",
            )
        ) from error
    return keep_tests(store, car.name, data, called=file.name, author=author)


def keep_tests(store: Store, name: str, data: bytes, *, called: str, author: str | None = None) -> RecordsCame:
    """Keep the records of a file whose bytes are at hand; as `enter_tests`.

    A record that carries a mark of this car counts at once; one of another mark is kept apart until a person has said
    that it is this car.
    """
    from shutline.history import read_mot_history

    car = find_car(store, name)
    if len(data) > MOST_BYTES:
        raise _refused(called, f"more than {MOST_BYTES:,} bytes", f"at most {MOST_BYTES:,} bytes")
    read = read_mot_history(data, name=called)
    if len(read) > _MOST_CARS:
        raise _refused(called, f"{len(read)} cars", f"at most {_MOST_CARS} cars in a file")
    raw = json.loads(data.decode("utf-8-sig"))
    listed = raw if isinstance(raw, list) else [raw]
    plain = [one for one in listed if isinstance(one, dict) and isinstance(one.get("registration"), str)]
    pairs = [(record.mark, one) for record, one in zip(read, plain, strict=True)]
    made = store.add_tests(car.name, pairs, name=called, author=author or present_author())
    marks = own_marks(car)
    lines = tuple(record_line(kept, marks) for kept, _ in made)
    problems = tuple(problem for record in read for problem in record.problems)
    return RecordsCame(car.name, lines, sum(new for _, new in made), problems)


def decide_tests(
    store: Store, name: str, ref: str, verb: RecordVerb, *, version: int | None = None, author: str | None = None
) -> RecordLine:
    """Say of a record that it is this car, that it is another, or let it be open again.

    Parameters
    ----------
    store : Store
        Where the car is kept.
    name : str
        Its name, or a beginning of it that no other has.
    ref : str
        The id of the record, or a beginning of it that no other has.
    verb : RecordVerb
        What is said.
    version : int, optional
        The version of the record that the person had before them; whatever is kept now when left out.
    author : str, optional
        Who says so.

    Raises
    ------
    NotFoundError
        No such car, or it has no such record (slug ``tests-unknown``).
    StaleError
        Somebody said something of it meanwhile.
    """
    car = find_car(store, name)
    fitting = [one.id for one in car.tests if ref and one.id.startswith(ref)]
    whole = fitting[0] if len(fitting) == 1 else ref
    who = author or present_author()
    kept = store.decide_tests(car.name, whole, RecordState(verb), author=who, expected_version=version)
    return record_line(kept, own_marks(car))


def own_marks(car: CarFile) -> frozenset[str]:
    """Give the registration marks of a car, without spaces: those that stand, else those that were heard."""
    facts = [
        kept.fact
        for kept in car.facts
        if kept.fact.name == "registration_mark" and kept.fact.state is not State.STRUCK and not kept.withdrawn
    ]
    standing = [fact for fact in facts if fact.state is State.STANDS] or facts
    marks = [str(fact.value) for fact in standing]
    marks += [
        str(one.value)
        for one in car.figures
        if one.read.kind.value == "registration_mark" and one.state is FigureState.TAKEN
    ]
    return frozenset(plain_mark(one) for one in marks)


def plain_mark(text: str) -> str:
    """Give a mark without spaces and in capitals."""
    return "".join(text.split()).upper()


def counts(kept: KeptTests, marks: frozenset[str]) -> bool:
    """Tell whether a record counts for a car with some marks."""
    return kept.state is RecordState.SAME or (kept.state is RecordState.OPEN and kept.mark in marks)


def records_of(kept: Sequence[KeptTests]) -> tuple[MotRecord, ...]:
    """Read kept records again."""
    from shutline.history import read_mot_history

    return tuple(record for one in kept for record in read_mot_history(json.dumps(one.record).encode(), name=one.name))


def record_line(kept: KeptTests, marks: frozenset[str]) -> RecordLine:
    """Put a kept record into a line."""
    (record,) = records_of([kept])
    if kept.state is RecordState.SAME:
        why = f"{kept.decided_by} said that {SAID[kept.state]}"
    elif kept.state is RecordState.OTHER:
        why = f"{kept.decided_by} said that {SAID[kept.state]}; it is kept apart"
    elif kept.mark in marks:
        why = "it carries the mark of this car"
    elif marks:
        why = f"it is of {kept.mark}, and this car carries {', '.join(sorted(marks))}: kept apart until it is decided"
    else:
        why = f"it is of {kept.mark}, and this car's mark is not known: kept apart until it is decided"
    return RecordLine(
        id=kept.id,
        mark=kept.mark,
        make=record.make,
        model=record.model,
        tests=len(record.tests),
        name=kept.name,
        kept_at=kept.kept_at,
        kept_by=kept.kept_by,
        state=kept.state,
        counts=counts(kept, marks),
        why=why,
        version=kept.version,
    )


def _refused(where: str, found: str, allowed: str) -> BadInputError:
    return BadInputError(Problem("mot-history", where, found, allowed, "Bring the file of this car alone."))
