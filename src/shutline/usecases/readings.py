"""Readings of instruments: entered, read out of a table, heard in the words; and what people make of them."""

from __future__ import annotations

import hashlib
import os
import secrets
from collections import Counter
from dataclasses import dataclass, replace
from functools import lru_cache
from pathlib import Path
from typing import TYPE_CHECKING, Literal

from shutline.car.errors import BadInputError, NotFoundError, Problem, UserError
from shutline.car.places import Visit
from shutline.usecases.look import find_car
from shutline.usecases.read import walk_of
from shutline.usecases.settings import author as present_author
from shutline.usecases.settings import settings_file

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from shutline.car.carfile import CarFile, Recording
    from shutline.car.findings import Drive
    from shutline.car.notes import Note
    from shutline.car.readings import KeptReading, Reading
    from shutline.gauge.readings import Instrument, Keyed
    from shutline.store import Store

ReadingVerb = Literal["stand", "strike", "amend", "again"]

INSTRUMENTS_VARIABLE = "SHUTLINE_INSTRUMENTS"
"""Environment variable that names another file of one's own instruments."""
_MOST_BYTES = 50_000_000


@dataclass(frozen=True, slots=True)
class CarReadings:
    """The readings of a car: those that wait first, then those that stand, then those struck; each in order of time."""

    car: str
    title: str
    readings: tuple[KeptReading, ...]


@dataclass(frozen=True, slots=True)
class ReadingDecided:
    """What stands now of a reading that was decided about or entered."""

    car: str
    reading: KeptReading


@dataclass(frozen=True, slots=True)
class ReadingsCame:
    """What came in: the readings that were new, how many were known, and what could not be taken."""

    car: str
    new: tuple[KeptReading, ...]
    known: int
    problems: tuple[Problem, ...] = ()


def car_readings(store: Store, name: str) -> CarReadings:
    """Give the readings of a car.

    Raises
    ------
    NotFoundError, UserError
        No car begins so, or several do.
    """
    from shutline.car.findings import State

    car = find_car(store, name)
    order = list(State)
    return CarReadings(car.name, car.title, tuple(sorted(car.readings, key=lambda one: order.index(one.state))))


def enter_reading(
    store: Store, name: str, keyed: Keyed, *, token: str | None = None, author: str | None = None
) -> ReadingDecided:
    """Keep a reading that a person keyed in; it stands at once.

    Parameters
    ----------
    store : Store
        Where it is kept.
    name : str
        The car's name, or a beginning of it that no other has.
    keyed : Keyed
        What was keyed in.
    token : str, optional
        What makes it once, for a page that may send it twice.
    author : str, optional
        Who entered it; the name the user is logged in with when left out.

    Raises
    ------
    NotFoundError
        No such car.
    UserError
        Slug ``reading-refused``: it is none that such an instrument can show, or something is not in the lists.
    """
    from shutline.gauge.readings import reading_of

    car = find_car(store, name)
    reading = reading_of(keyed, own=own_instruments())
    (kept,) = store.add_readings(
        car.name, [(f"keyed {token or secrets.token_hex(16)}", reading)], author=author or present_author()
    )
    return ReadingDecided(car.name, kept)


def enter_table(
    store: Store, name: str, file: Path, *, usual: Keyed | None = None, author: str | None = None
) -> ReadingsCame:
    """Keep the readings of a table; rows that came in before, out of this or another file, are left as they are.

    Parameters
    ----------
    store : Store
        Where they are kept.
    name : str
        The car's name, or a beginning of it that no other has.
    file : Path
        CSV; see `shutline.gauge.readings.read_table`.
    usual : Keyed, optional
        What a row is taken to say where it says nothing.
    author : str, optional
        Who entered them.

    Raises
    ------
    NotFoundError
        No such car, or no such file (slug ``no-such-file``).
    BadInputError
        Slug ``readings-table``: the file gives nothing.
    """
    car = find_car(store, name)
    try:
        with file.open("rb") as opened:
            data = opened.read(_MOST_BYTES + 1)
    except OSError as error:
        slug = "no-such-file" if isinstance(error, FileNotFoundError) else "not-readable"
        found = error.strerror or "it cannot be read"
        raise NotFoundError(Problem(slug, str(file), found, "a file of readings", "Look at the name.")) from None
    return keep_table(store, car.name, data, called=file.name, usual=usual, author=author)


def keep_table(
    store: Store, name: str, data: bytes, *, called: str, usual: Keyed | None = None, author: str | None = None
) -> ReadingsCame:
    """Keep the readings of a table that is at hand as bytes; as `enter_table`."""
    from shutline.gauge.readings import read_table

    if len(data) > _MOST_BYTES:
        found = f"more than {_MOST_BYTES:,} bytes"
        raise BadInputError(Problem("readings-table", called, found, "no more", "Part the file."))
    car = find_car(store, name)
    table = read_table(data, name=called, usual=usual, own=own_instruments())
    source = hashlib.sha256(data).hexdigest()
    times: Counter[str] = Counter()
    sent = []
    for _, reading in table.readings:
        # The same row twice is two readings; the same file twice is not.
        mark = repr(replace(reading, source=""))
        times[mark] += 1
        token = hashlib.sha256(f"{mark} {times[mark]}".encode()).hexdigest()
        sent.append((f"row {token}", replace(reading, source=source)))
    return _keep(store, car, sent, author=author or present_author(), problems=table.problems)


def hear_readings(store: Store, name: str) -> ReadingsCame:
    """Find the runs of figures in the words of a car's recordings; they wait for a person.

    What was found before is left as it is, whatever a person has made of it.

    Raises
    ------
    NotFoundError, UserError
        No car begins so, or several do.
    """
    car = find_car(store, name)
    sent = [
        one
        for recording in car.recordings
        for one in spoken_readings(recording, store.spoken_at(recording.id), drive=car.drive)
    ]
    return _keep(store, car, sent)


def spoken_readings(recording: Recording, at: Note | None, *, drive: Drive) -> list[tuple[str, Reading]]:
    """Give the figures that were called out in a recording, each with what makes it once.

    `at` is the note that the recording is, where it was made at one place; None for a walk.
    """
    from shutline.gauge.readings import spoken_runs

    if not recording.stretches:
        return []
    if at is None:
        walk: Sequence[Visit] = walk_of(recording.stretches, drive=drive)
    else:
        walk = (Visit(0.0, recording.stretches[-1].end_s, at.part, at.side, at.position),)
    runs = spoken_runs(recording.stretches, walk, recording=recording.id)
    return [
        (f"heard {recording.id} {one.quantity} {one.start_s or 0.0:.2f}", one) for run in runs for one in run.readings
    ]


def decide_reading(
    store: Store,
    name: str,
    id_: str,
    verb: ReadingVerb,
    *,
    keyed: Keyed | None = None,
    version: int | None = None,
    author: str | None = None,
) -> ReadingDecided:
    """Do what a person decided about a reading.

    Parameters
    ----------
    store : Store
        Where it is kept.
    name : str
        The car's name, or a beginning of it that no other has.
    id_ : str
        The reading's id, or a beginning of it that no other of this car has.
    verb : {'stand', 'strike', 'amend', 'again'}
        What is done.
    keyed : Keyed, optional
        With amend: what it is; what is left empty stays as it was.
    version : int, optional
        The version the person had before them.
    author : str, optional
        Who decided.

    Raises
    ------
    NotFoundError
        No such car or reading.
    UserError
        Slug ``reading-refused``: it is none that such an instrument can show, or there is nothing to amend.
    StaleError
        Somebody changed it meanwhile; it carries both versions.
    """
    car = find_car(store, name)
    kept = one_reading(car, id_)
    if (verb == "amend") != (keyed is not None):
        raise UserError(
            Problem("reading-refused", f"reading {kept.id}", f"{verb} and figures", "figures with amend", "Give both.")
        )
    changed = store.change_reading(
        kept.id,
        action=verb,
        author=author or present_author(),
        expected_version=version,
        reading=None if keyed is None else _amended(kept.reading, keyed),
    )
    return ReadingDecided(car.name, changed)


def one_reading(car: CarFile, id_: str) -> KeptReading:
    """Give the reading that an id, or a beginning of one, names; raises NotFoundError (``reading-unknown``)."""
    begins = [one for one in car.readings if id_ and one.id.startswith(id_.lower())]
    if len(begins) == 1:
        return begins[0]
    raise NotFoundError(
        Problem(
            slug="reading-unknown",
            where=f"{car.name}, {id_[:60]!r}",
            found="no reading begins so" if not begins else f"{len(begins)} readings begin so",
            allowed="an id, or a beginning of one that no other reading of this car has; nothing was done",
            advice=f"See the ids with `shutline readings {car.name}`.",
        )
    )


def own_instruments(file: Path | None = None) -> Mapping[str, Instrument]:
    """Give the user's own instruments by id.

    Parameters
    ----------
    file : Path, optional
        Where they stand; what the environment names, or `instruments.csv` beside the settings, when left out.

    Raises
    ------
    UserError
        A row is not as it should be (slug ``instrument-row``), with file and line.
    """
    named = os.environ.get(INSTRUMENTS_VARIABLE)
    there = file or (Path(named) if named else settings_file().parent / "instruments.csv")
    try:
        data = there.read_bytes()
    except FileNotFoundError:
        return {}
    return _instruments_of(data, str(there))


@lru_cache(maxsize=4)
def _instruments_of(data: bytes, name: str) -> Mapping[str, Instrument]:
    from shutline.gauge.readings.quantities import read_instruments

    try:
        text = data.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        where = f"{name}, line {data[: error.start].count(10) + 1}"
        raise UserError(
            Problem("instrument-row", where, f"byte {error.start} is no UTF-8", "UTF-8", "Save the file as UTF-8.")
        ) from None
    return {one.id: one for one in read_instruments(text, name=name)}


def _keep(
    store: Store,
    car: CarFile,
    sent: Sequence[tuple[str, Reading]],
    *,
    author: str | None = None,
    problems: tuple[Problem, ...] = (),
) -> ReadingsCame:
    before = {one.id for one in car.readings}
    kept = store.add_readings(car.name, sent, author=author) if author else store.add_readings(car.name, sent)
    new = tuple(one for one in kept if one.id not in before)
    return ReadingsCame(car.name, new, len(kept) - len(new), problems)


def _amended(reading: Reading, keyed: Keyed) -> Reading:
    """Give a reading with what was keyed in the place of what it was; how it came in stays."""
    from shutline.gauge.readings import Keyed, reading_of

    filled = Keyed(
        quantity=keyed.quantity or reading.quantity,
        value=reading.value if keyed.value == "" else keyed.value,
        unit=keyed.unit or reading.unit,
        uncertainty=_uncertainty(reading, keyed),
        part=keyed.part or reading.part,
        side=keyed.side or (reading.side.value if reading.side and not keyed.part else ""),
        position=keyed.position or (reading.position.value if reading.position and not keyed.part else ""),
        spot=keyed.spot or reading.spot,
        series=keyed.series or reading.series,
        details={**reading.details, **keyed.details},
        instrument=keyed.instrument or reading.instrument,
        measured_at=keyed.measured_at or reading.measured_at or "",
    )
    new = reading_of(filled, where="amended reading", way=reading.way, own=own_instruments())
    return replace(new, source=reading.source, start_s=reading.start_s, end_s=reading.end_s, quote=reading.quote)


def _uncertainty(reading: Reading, keyed: Keyed) -> float | str | None:
    if keyed.uncertainty not in (None, ""):
        return keyed.uncertainty
    same = keyed.value in ("", reading.value) and not (keyed.unit or keyed.quantity or keyed.instrument)
    return reading.uncertainty if same else None


def value_words(reading: Reading) -> str:
    """Say what was read: 'paint film 122 µm ± 3.3'."""
    from shutline.gauge.readings import quantities

    return f"{quantities()[reading.quantity].label} {figure_words(reading)}"


def figure_words(reading: Reading) -> str:
    """Say the figure alone: '122 µm ± 3.3'."""
    from shutline.gauge.readings import quantities

    of = quantities()[reading.quantity]
    unit = of.unit(reading.unit) or of.units[0]
    figure = f"{reading.value:,.{_decimals(reading, of.decimals)}f}"
    words = f"{figure} {unit.label}".strip()
    if reading.uncertainty:
        words += f" ± {reading.uncertainty:.2g}"
    if told := ", ".join(f"{name.replace('_', ' ')} {value}" for name, value in reading.details.items()):
        words += f" ({told})"
    return words


def place_words(reading: Reading) -> str:
    """Say where it was read: 'nearside front door, bottom'."""
    from shutline.car.plan import spoken_name
    from shutline.gauge.readings import quantities

    name = spoken_name(reading.part, reading.side, reading.position)
    if not reading.spot:
        return name
    within = quantities()[reading.quantity].spots
    return f"{name}, {within} {reading.spot}" if within in {"cylinder", "cell"} else f"{name}, {reading.spot}"


def _decimals(reading: Reading, usual: int) -> int:
    shown = f"{reading.value:.6f}".rstrip("0").partition(".")[2]
    return max(usual, min(3, len(shown))) if reading.value < 1000 else 0
