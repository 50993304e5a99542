"""Fill a store with 10,000 cars and 1,000,000 findings, the same ones each time.

    python bench/yard_of_10000.py --folder DIR [--cars 10000] [--findings 1000000] [--seed 4]

Every car has filmed walks with their words, findings with footing, still and, on three cars of five, what a person
decided of each; also facts and stages done. The words are invented, and spread as words are (few common, many rare).
The newest 50 cars (one in 200) have 1,000 findings each, so that the first page of the yard is the heaviest. The
store's own calls would take hours, so the rows go straight into the tables; before that, three cars are made both ways
and every row of both stores compared. A folder that holds the yard asked for is left as it is.
"""

from __future__ import annotations

import argparse
import hashlib
import itertools
import json
import random
import sqlite3
import sys
import tempfile
import time
from collections.abc import Iterable, Iterator
from contextlib import closing
from dataclasses import dataclass, field, replace
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

from sqlalchemy import Connection, Table, insert

from shutline.car.findings import Drive, Fact, Finding, Footing, FootingKind, Found, Position, Severity, Side
from shutline.car.recordings import Kind, Original, Probe, Still, Track
from shutline.car.speech import Stretch, StretchOrigin, stretch_of
from shutline.car.vocabulary import vocabulary
from shutline.store import PROGRAM, Store, tables
from shutline.store.rows import digest, footing_columns, plain, start_of, statement_columns, stretch_columns
from shutline.usecases.pipeline import REMARKS, SPEECH, STILLS

# Raise it when what is made becomes another.
EDITION = 1
HEAVY = 1_000
IN_A_WALK = 120
EVERY_S = 4.0
AT_ONCE = 100
PERSON = "Ida Quill"
SAID_OFTEN = (
    *("there", "is", "a", "bit", "of", "on", "the", "and", "it", "has", "been", "you", "can", "see", "that", "this"),
    *("one", "round", "here", "so", "well", "not", "bad", "at", "all"),
)
SYLLABLES = tuple(
    first + vowel + last for first in "bdfgklmnprstvw" for vowel in "aeiou" for last in ("", "l", "n", "rk")
)
MAKES = ("Corvane", "Ostrel", "Pelham Lark", "Tamsin", "Dunmore", "Brazo", "Skelter", "Gower", "Lorne", "Basilisk")
COLOURS = ("blue", "old white", "maroon", "sage", "grey", "primrose", "black")


@dataclass(frozen=True, slots=True)
class Walk:
    """One filmed walk: what was heard, drawn and decided; `amended` findings were made severe, `struck` rejected."""

    original: Original
    probe: Probe
    stretches: list[Stretch]
    findings: list[Finding]
    stills: list[Still]
    facts: list[Fact]
    decisions: dict[int, str] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class Made:
    """One car as it is to be kept, all of it at the time `at`."""

    name: str
    title: str
    drive: Drive
    body: str
    doors: int
    at: datetime
    walks: list[Walk]


class Words:
    """Invented words; the one of rank r is said in proportion to 1 / r, as words are (Zipf, from memory)."""

    def __init__(self, seed: int, count: int = 20_000) -> None:
        chance = random.Random(f"words {seed}")  # noqa: S311
        made: dict[str, None] = dict.fromkeys(SAID_OFTEN)
        while len(made) < count:
            made["".join(chance.choices(SYLLABLES, k=chance.choice((2, 2, 3))))] = None
        self.all = list(made)
        self._weights = list(itertools.accumulate(1 / rank for rank in range(1, count + 1)))

    def some(self, chance: random.Random, count: int) -> list[str]:
        """Say so many words."""
        return chance.choices(self.all, cum_weights=self._weights, k=count)


def shares(cars: int, findings: int) -> list[int]:
    """Share findings out: 1,000 for one car in 200, the last ones, and uneven numbers for the others.

    >>> len(shares(10_000, 1_000_000)), sum(shares(10_000, 1_000_000)), shares(10_000, 1_000_000)[-1]
    (10000, 1000000, 1000)
    """
    heavy = min(cars // 200, findings // (2 * HEAVY))
    others = cars - heavy
    usual, over = divmod(findings - heavy * HEAVY, others)
    chance = random.Random(cars)  # noqa: S311
    counts = [usual + (n < over) for n in range(others)]
    for n in range(0, others - 1, 2):
        moved = chance.randint(0, usual * 3 // 4)
        counts[n] += moved
        counts[n + 1] -= moved
    return counts + [HEAVY] * heavy


def make(number: int, findings: int, words: Words, seed: int) -> Made:
    """Make one car; the same for the same seed and number."""
    chance = random.Random(f"{seed} {number}")  # noqa: S311
    name = f"{chance.choice(MAKES)} {' '.join(words.some(chance, 2))}".title()
    looked_at = chance.random() < 0.6
    walks: list[Walk] = []
    while findings > 0:
        walks.append(_walk(chance, words, number, len(walks), min(findings, IN_A_WALK), looked_at=looked_at))
        findings -= IN_A_WALK
    return Made(
        name=f"{name.lower().replace(' ', '-')}-{number}"[-60:].strip("-"),
        title=f"{name}, {chance.choice(COLOURS)}",
        drive=Drive.LHD if chance.random() < 0.1 else Drive.RHD,
        body="saloon",
        doors=chance.choice((2, 4)),
        at=datetime(2021, 1, 4, 9, tzinfo=UTC) + timedelta(hours=4 * number),
        walks=walks,
    )


def _walk(chance: random.Random, words: Words, car: int, number: int, count: int, *, looked_at: bool) -> Walk:
    known = vocabulary()
    parts, conditions = list(known.parts.values()), list(known.conditions.values())
    stretches, findings, stills = [], [], []
    decisions: dict[int, str] = {}
    for n in range(count):
        part, condition = chance.choice(parts), chance.choice(conditions)
        said = words.some(chance, chance.randint(6, 14))
        said[3:3] = [part.label, "with", condition.label]
        start_s = n * EVERY_S + chance.random()
        stretch = stretch_of(" ".join(said).capitalize() + ".", start_s, start_s + 3, origin=StretchOrigin.TRANSCRIPT)
        stretches.append(stretch)
        footing = Footing(FootingKind.SAID, "", stretch.start_s, stretch.end_s, stretch.text, ("parts.12", "cues.7"))
        findings.append(
            Finding(
                part.id,
                condition.id,
                Found.NO if condition.defect and chance.random() < 0.2 else Found.YES,
                side=chance.choice((Side.NEAR, Side.OFF, None)) if part.sided else None,
                position=chance.choice((Position.FRONT, Position.REAR)) if part.ended else None,
                severity=Severity.SLIGHT if condition.defect and chance.random() < 0.3 else None,
                footings=(footing,),
                why=(f"The words name the part: {part.label}.", "Nothing denies it."),
                sureness=chance.random(),
            )
        )
        still = hashlib.sha256(f"{car} {number} {n}".encode()).hexdigest()
        stills.append(Still(stretch.end_s, still, 1920, 1080, chance.random(), chance.random()))
        if looked_at:
            decisions[n] = chance.choices(("confirm", "strike", "amend"), (80, 8, 12))[0]
    heard = Footing(
        FootingKind.SAID, "", 0.5, 2.0, "registered in sixty-eight, forty thousand on the clock", ("facts.1",)
    )
    facts = [
        Fact("year", chance.randint(1930, 1999), None, (heard,), chance.random()),
        Fact("odometer", chance.randint(2_000, 190_000), "mi", (heard,), chance.random()),
        Fact("colour", chance.choice(COLOURS), None, (heard,), chance.random()),
    ]
    sha256 = hashlib.sha256(f"walk {car} {number}".encode()).hexdigest()
    length_s = count * EVERY_S + 5
    track = Track(0, "video", "h264", None, 1920, 1080, 0, 30.0, variable_rate=False)
    probe = Probe(Kind.FILM, "mp4", length_s, (1920, 1080), (track,), "2026-01-01T09:00:00")
    original = Original(sha256, f"walk {number + 1}.mp4", int(length_s * 1_500_000), Kind.FILM)
    return Walk(original, probe, stretches, findings, stills, facts if number == 0 else [], decisions)


def by_calls(store: Store, car: Made) -> None:
    """Keep a car as the program does, call by call."""
    store.create_car(car.name, title=car.title, drive=car.drive, body=car.body, doors=car.doors)
    for walk in car.walks:
        recording = store.add_recording(car.name, walk.original).id
        store.set_probe(recording, walk.probe)
        for stage in (SPEECH, REMARKS, STILLS):
            store.begin_stage(recording, stage, "a-key")
            store.finish_stage(recording, stage, "a-key")
        store.replace_stretches(recording, walk.stretches)
        ids = store.put_findings(recording, walk.findings).ids
        store.put_facts(recording, walk.facts)
        store.attach_stills(recording, {name: [still] for name, still in zip(ids, walk.stills, strict=True)})
        store.complete(recording)
        for n, decision in walk.decisions.items():
            amended: dict[str, Any] = {"severity": Severity.SEVERE} if decision == "amend" else {}
            store.change_finding(ids[n], action=decision, author=PERSON, expected_version=1, **amended)  # type: ignore[arg-type]


class ByRows:
    """Keeps cars as rows of their tables, numbered as an empty store would number them."""

    def __init__(self) -> None:
        self._next: dict[str, Iterator[int]] = {}
        self._rows: dict[Table, list[dict[str, Any]]] = {}

    def add(self, car: Made) -> None:
        """Make the rows of a car."""
        at = car.at.isoformat(timespec="milliseconds").replace("+00:00", "Z")
        row = {"name": car.name, "title": car.title, "drive": car.drive.value, "body": car.body, "doors": car.doors}
        counts = dict.fromkeys(("heard", "stands", "struck"), 0)
        for walk in car.walks:
            for n in range(len(walk.findings)):
                counts[_STATES[walk.decisions.get(n)]] += 1
        made = {"created_at": at, "created_by": PROGRAM, "changed_at": at, "recording_count": len(car.walks)}
        # Nobody has looked at the facts of these cars.
        made["heard_fact_count"] = len({fact.name for walk in car.walks for fact in walk.facts})
        car_id = self._row(tables.car, row | made | {f"{state}_count": count for state, count in counts.items()})
        for walk in car.walks:
            self._walk(walk, car.name, car_id, at)

    def write(self, connection: Connection) -> None:
        """Write the rows made so far, those that others hang from first."""
        for table in tables.metadata.sorted_tables:
            if rows := self._rows.pop(table, []):
                connection.execute(insert(table), rows)

    def _row(self, table: Table, values: dict[str, Any]) -> int:
        number = next(self._next.setdefault(table.name, itertools.count(1)))
        self._rows.setdefault(table, []).append({"id": number, **values})
        return number

    def _walk(self, walk: Walk, car: str, car_id: int, at: str) -> None:
        original = {**plain(walk.original), "created_at": at}
        name = original.pop("name")
        original_id = self._row(tables.original, original | {"linked": False})
        self._row(tables.original_name, {"original_id": original_id, "name": name, "created_at": at})
        ref = digest("recording", car, walk.original.sha256)
        kept = {"ref": ref, "car_id": car_id, "original_id": original_id, "probe": plain(walk.probe)}
        recording_id = self._row(tables.recording, kept | {"edition": 1, "complete": True, "created_at": at})
        for stage in (SPEECH, REMARKS, STILLS):
            done = {"key": "a-key", "state": "done", "progress": {}, "started_at": at, "changed_at": at}
            self._row(tables.stage, {"recording_id": recording_id, "name": stage, "finished_at": at, **done})
        for place, stretch in enumerate(walk.stretches):
            self._row(tables.stretch, {"recording_id": recording_id, "edition": 1, **stretch_columns(stretch, place)})
        of = {"car_id": car_id, "recording_id": recording_id, "created_at": at, "created_by": PROGRAM}
        numbers = [
            self._finding(finding, walk.decisions.get(n), car, ref, of) for n, finding in enumerate(walk.findings)
        ]
        for fact in walk.facts:
            values = plain(_sourced(fact, ref))
            key = digest("fact", car, ref, _sourced(fact, ref).key())
            number = self._row(tables.fact, {**statement_columns(values), **of, "ref": key, "touched": False})
            self._footings(values, fact_id=number)
        for number, still in zip(numbers, walk.stills, strict=True):
            still_id = self._row(tables.still, {**plain(still), "recording_id": recording_id})
            shown = {"finding_id": number, "still_id": still_id, "place": 0, "chosen_by": PROGRAM, "chosen_at": at}
            self._row(tables.finding_still, shown)

    def _finding(self, finding: Finding, decision: str | None, car: str, ref: str, of: dict[str, Any]) -> int:
        sourced = _sourced(finding, ref)
        before = plain(sourced)
        after = {name: before[name] for name in ("severity", "sureness", "state")} | {"state": _STATES[decision]}
        if decision == "amend":
            after |= {"severity": Severity.SEVERE.value, "sureness": None}
        columns = statement_columns(before) | after
        columns |= {"start_s": start_of(before), "touched": decision is not None, "version": 1 + (decision is not None)}
        number = self._row(tables.finding, columns | of | {"ref": digest("finding", car, ref, sourced.key())})
        self._footings(before, finding_id=number)
        if decision is not None:
            changed = [name for name, value in after.items() if value != before[name]]
            values = {"version": 2, "at": of["created_at"], "author": PERSON, "action": _ACTIONS[decision]}
            values |= {
                "before": {name: before[name] for name in changed},
                "after": {name: after[name] for name in changed},
            }
            self._row(tables.change, {"car_id": of["car_id"], "finding_id": number, **values})
        return number

    def _footings(self, values: dict[str, Any], **owner: int) -> None:
        for footing in footing_columns(values["footings"]):
            self._row(tables.footing, {"finding_id": None, "fact_id": None, **footing, **owner})


_STATES = {None: "heard", "confirm": "stands", "strike": "struck", "amend": "stands"}
_ACTIONS = {"confirm": "confirmed", "strike": "struck", "amend": "amended"}


def _sourced(statement: Any, recording: str) -> Any:
    return replace(statement, footings=tuple(replace(f, source=recording) for f in statement.footings))


def check(cars: Iterable[Made]) -> int:
    """Make some cars both ways and compare every row of both stores; gives how many rows there were.

    Raises
    ------
    SystemExit
        They differ; says where.
    """
    cars = list(cars)
    with tempfile.TemporaryDirectory() as folder:
        one, other = Path(folder, "calls"), Path(folder, "rows")
        now = [datetime.now(UTC)]
        with Store.open(one, clock=lambda: now[0]) as store:
            for car in cars:
                now[0] = car.at
                by_calls(store, car)
            now[0] = datetime.now(UTC)
            store.gather_words()
        with Store.open(other, clock=lambda: now[0]) as store:
            rows = ByRows()
            for car in cars:
                rows.add(car)
            with store._db.write() as connection:
                rows.write(connection)
            store.gather_words()
        count = 0
        for table in tables.metadata.sorted_tables:
            called, written = (_rows(path / "shutline.sqlite", table.name) for path in (one, other))
            for kept, mine in itertools.zip_longest(called, written):
                if kept != mine:
                    raise SystemExit(f"{table.name}: the store's own calls write\n{kept}\nand this script\n{mine}")
            count += len(called)
    return count


def _rows(file: Path, table: str) -> list[dict[str, Any]]:
    with closing(sqlite3.connect(file)) as connection:
        connection.row_factory = sqlite3.Row
        return [dict(row) for row in connection.execute(f'SELECT * FROM "{table}" ORDER BY rowid')]  # noqa: S608


def fill(folder: Path, *, cars: int, findings: int, seed: int) -> None:
    """Make the yard in a folder, unless it lies there already."""
    mark = folder / "yard.json"
    asked = {
        "cars": cars,
        "findings": findings,
        "seed": seed,
        "edition": EDITION,
    }
    if mark.is_file():
        if json.loads(mark.read_text(encoding="utf-8")) != asked:
            raise SystemExit(f"{folder}: holds another yard; name another folder, or delete this one.")
        return
    words = Words(seed)
    alike = check(make(number, count, words, seed) for number, count in ((1, 40), (4, 130), (5, 250)))
    print(f"three cars made both ways: {alike} rows alike")
    began = time.perf_counter()
    with Store.open(folder) as store:
        if store.cars(limit=1):
            raise SystemExit(f"{folder}: holds cars already, perhaps of a run that was ended; delete it and run again.")
        rows = ByRows()
        numbered = enumerate(shares(cars, findings), start=1)
        for batch in iter(lambda: list(itertools.islice(numbered, AT_ONCE)), []):
            for number, count in batch:
                rows.add(make(number, count, words, seed))
            with store._db.write() as connection:
                connection.exec_driver_sql("PRAGMA cache_size = -1000000")
                rows.write(connection)
            print(f"\r{batch[-1][0]} cars, {time.perf_counter() - began:.0f} s", end="", flush=True)
        print()
        began = time.perf_counter()
        store.gather_words()
        print(f"words of {cars} cars gathered in {time.perf_counter() - began:.0f} s")
    mark.write_text(json.dumps(asked), encoding="utf-8")


def main() -> int:
    """Fill, and say how large it is."""
    parser = argparse.ArgumentParser(description=(__doc__ or "").splitlines()[0])
    parser.add_argument("--folder", type=Path, required=True)
    parser.add_argument("--cars", type=int, default=10_000)
    parser.add_argument("--findings", type=int, default=1_000_000)
    parser.add_argument("--seed", type=int, default=4)
    wanted = parser.parse_args()
    fill(wanted.folder, cars=wanted.cars, findings=wanted.findings, seed=wanted.seed)
    with closing(sqlite3.connect(wanted.folder / "shutline.sqlite")) as connection:
        for table in ("car", "recording", "stretch", "finding", "footing", "change", "still"):
            (count,) = connection.execute(f"SELECT count(*) FROM {table}").fetchone()  # noqa: S608
            print(f"{table:10} {count:>9,}")
    print(f"{(wanted.folder / 'shutline.sqlite').stat().st_size / 1e9:.2f} GB")
    return 0


if __name__ == "__main__":
    sys.exit(main())
