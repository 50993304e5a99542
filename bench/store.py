"""How long the store takes for one car and for a list of all, beside the same asked of SQLite by hand.

``python bench/store.py [--cars 10000] [--findings 20] [--folder DIR]`` seeds a store (the same rows each time), asks
both ways in turn in one run, and prints medians and their ratio. The hand queries read the same rows with the standard
library and make nothing of them but tuples, so a ratio near 1 cannot be had where records are made.
"""

from __future__ import annotations

import argparse
import itertools
import json
import random
import sqlite3
import statistics
import tempfile
import time
from collections.abc import Callable, Iterator
from contextlib import closing
from pathlib import Path
from typing import Any

from sqlalchemy import insert

from shutline.car.findings import Finding, Footing, FootingKind, Found, Severity, Side
from shutline.car.recordings import Kind, Original
from shutline.car.schema import car_file_json
from shutline.car.vocabulary import vocabulary
from shutline.store import Action, Store, tables

CHOSEN = "chosen-car"


def some_findings(count: int, seed: int) -> list[Finding]:
    """Make findings with one said footing each, the same for the same seed."""
    chance = random.Random(seed)  # noqa: S311
    parts, conditions = list(vocabulary().parts), list(vocabulary().conditions)
    made = []
    for number in range(count):
        quote = " ".join(chance.choices(("there", "is", "a", "bit", "of", "bubbling", "along", "the", "bottom"), k=12))
        footing = Footing(FootingKind.SAID, "", number * 4.0, number * 4.0 + 3, quote, ("cue-12", "part-7"))
        made.append(
            Finding(
                chance.choice(parts),
                chance.choice(conditions),
                Found.YES,
                side=chance.choice((None, Side.NEAR, Side.OFF)),
                severity=chance.choice((None, Severity.SLIGHT)),
                footings=(footing,),
                why=("The words name the part.", "Nothing denies it."),
                sureness=chance.random(),
            )
        )
    return made


def seed(store: Store, *, cars: int, findings: int) -> None:
    """Fill a store quickly: rows of `cars` cars with `findings` findings each, in the shape the store writes."""
    chance = random.Random(2)  # noqa: S311
    parts, conditions = list(vocabulary().parts), list(vocabulary().conditions)
    at = "2026-01-01T00:00:00.000Z"

    def of_cars() -> Iterator[dict[str, Any]]:
        for n in range(2, cars + 2):
            states = {"heard_count": findings // 2, "stands_count": findings - findings // 2}
            yield {
                "id": n, "name": f"car-{n}", "title": f"Car {n}", "drive": "rhd", "created_at": at,
                "created_by": "program", "changed_at": at, **states,
            }  # fmt: skip

    def of_findings() -> Iterator[dict[str, Any]]:
        number = 1000
        for n in range(2, cars + 2):
            for k in range(findings):
                number += 1
                yield {
                    "id": number, "ref": f"{number:016x}", "car_id": n, "part": chance.choice(parts),
                    "condition": chance.choice(conditions), "found": "yes",
                    "state": "heard" if k < findings // 2 else "stands", "sureness": 0.5, "why": ["The words name it."],
                    "start_s": float(k), "created_at": at, "created_by": "program",
                }  # fmt: skip

    def of_footings() -> Iterator[dict[str, Any]]:
        for number in range(1001, 1001 + cars * findings):
            quote = "there is a bit of bubbling along the bottom of that"
            yield {
                "finding_id": number, "place": 0, "kind": "said", "source": "", "start_s": 1.0, "end_s": 2.0,
                "quote": quote, "rules": ["cue-12"],
            }  # fmt: skip

    for table, rows in ((tables.car, of_cars()), (tables.finding, of_findings()), (tables.footing, of_footings())):
        batch: list[dict[str, Any]] = []
        for row in rows:
            batch.append(row)
            if len(batch) == 20_000:
                write(store, table, batch)
                batch = []
        write(store, table, batch)


def write(store: Store, table: Any, rows: list[dict[str, Any]]) -> None:
    """Write rows in one transaction through the store's own door."""
    if rows:
        with store._db.write() as connection:
            connection.execute(insert(table), rows)


def median_ms(*works: Callable[[], object], rounds: int = 21) -> list[float]:
    """Give the median time of each, in milliseconds, taken in turn so that all meet the same machine."""
    times: list[list[float]] = [[] for _ in works]
    for _ in range(rounds):
        for work, taken in zip(works, times, strict=True):
            began = time.perf_counter()
            work()
            taken.append((time.perf_counter() - began) * 1000)
    return [statistics.median(taken) for taken in times]


def by_hand_car(connection: sqlite3.Connection) -> list[Any]:
    """Read the rows of the chosen car as somebody would who knows the tables."""
    (car,) = connection.execute("SELECT id FROM car WHERE name = ?", (CHOSEN,)).fetchone()
    findings = connection.execute("SELECT * FROM finding WHERE car_id = ? AND NOT withdrawn", (car,)).fetchall()
    footings = connection.execute(
        "SELECT t.* FROM footing t JOIN finding f ON f.id = t.finding_id"
        " WHERE f.car_id = ? AND t.until_version IS NULL",
        (car,),
    ).fetchall()
    changes = connection.execute("SELECT * FROM change WHERE car_id = ?", (car,)).fetchall()
    return [*findings, *footings, *changes]


def by_hand_cars(connection: sqlite3.Connection) -> list[Any]:
    """Count every car's findings from the findings themselves."""
    return connection.execute(
        "SELECT c.name, c.title, c.created_at,"
        " coalesce(sum(f.state = 'heard'), 0), coalesce(sum(f.state = 'stands'), 0),"
        " coalesce(sum(f.state = 'struck'), 0) FROM car c LEFT JOIN finding f ON f.car_id = c.id AND NOT f.withdrawn"
        " GROUP BY c.id ORDER BY c.created_at DESC, c.id DESC"
    ).fetchall()


def by_hand_kept(connection: sqlite3.Connection) -> list[Any]:
    """Read the counts that the store keeps with each car."""
    return connection.execute("SELECT * FROM car ORDER BY created_at DESC, id DESC").fetchall()


def commits(store: Store, pragma: str) -> float:
    """Give the median time of one small commit, milliseconds, with a setting of ``synchronous``."""
    with closing(sqlite3.connect(store.folder / "shutline.sqlite", isolation_level=None)) as connection:
        connection.execute(f"PRAGMA synchronous = {pragma}")
        number = iter(range(10_000))

        def commit() -> None:
            connection.execute("BEGIN IMMEDIATE")
            connection.execute("UPDATE car SET doors = ? WHERE name = ?", (next(number) % 5, CHOSEN))
            connection.execute("COMMIT")

        return median_ms(commit, rounds=101)[0]


def main() -> None:
    """Seed, measure, print."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0] if __doc__ else "")
    parser.add_argument("--cars", type=int, default=10_000)
    parser.add_argument("--findings", type=int, default=20, help="for each car")
    parser.add_argument("--folder", type=Path)
    wanted = parser.parse_args()
    with tempfile.TemporaryDirectory() as temporary:
        folder = wanted.folder or Path(temporary) / "store"
        with Store.open(folder) as store:
            print(json.dumps(measure(store, cars=wanted.cars, findings=wanted.findings), indent=2))


def measure(store: Store, *, cars: int, findings: int) -> dict[str, float]:
    """Give all figures, in milliseconds but for ratios and seconds."""
    store.create_car(CHOSEN)
    recording = store.add_recording(CHOSEN, Original("ab" * 32, "walk.mov", 1, Kind.FILM)).id
    drawn = some_findings(120, 1)
    began = time.perf_counter()
    store.put_findings(recording, drawn)
    first_put = (time.perf_counter() - began) * 1000
    began = time.perf_counter()
    seed(store, cars=cars, findings=findings)
    seeding = time.perf_counter() - began
    with closing(sqlite3.connect(store.folder / "shutline.sqlite")) as connection:
        began = time.process_time()
        for _ in range(20):
            store.car_file(CHOSEN)
        processor = (time.process_time() - began) * 50
        car, hand, as_json = median_ms(
            lambda: store.car_file(CHOSEN),
            lambda: by_hand_car(connection),
            lambda: car_file_json(store.car_file(CHOSEN)),
        )
        listed, grouped, kept, page = median_ms(
            store.cars,
            lambda: by_hand_cars(connection),
            lambda: by_hand_kept(connection),
            lambda: store.cars(limit=50),
            rounds=7,
        )
    finding = store.car_file(CHOSEN).findings[0].id
    states: Iterator[Action] = itertools.cycle(("confirm", "strike"))
    (again,) = median_ms(lambda: store.put_findings(recording, drawn))
    (change,) = median_ms(
        lambda: store.change_finding(
            finding, action=next(states), author="Ann", expected_version=store.finding(finding).version
        )
    )
    return {
        "seeding_s": round(seeding, 1),
        "put_120_findings_ms": round(first_put, 1),
        "put_the_same_again_ms": round(again, 1),
        "change_one_ms": round(change, 1),
        "car_file_of_120_ms": round(car, 2),
        "car_file_processor_ms": round(processor, 2),
        "car_file_by_hand_ms": round(hand, 2),
        "car_file_ratio": round(car / hand, 1),
        "car_file_json_ms": round(as_json, 2),
        "cars_all_ms": round(listed, 1),
        "cars_counted_by_hand_ms": round(grouped, 1),
        "cars_ratio_to_counting": round(listed / grouped, 2),
        "cars_kept_counts_by_hand_ms": round(kept, 1),
        "cars_ratio_to_kept_counts": round(listed / kept, 1),
        "cars_first_50_ms": round(page, 2),
        "commit_full_ms": round(commits(store, "FULL"), 3),
        "commit_normal_ms": round(commits(store, "NORMAL"), 3),
    }


if __name__ == "__main__":
    main()
