"""The migrations make what the models say, from every earlier revision, with a copy kept of what stood before."""

import shutil
import sqlite3
from contextlib import closing
from pathlib import Path

import pytest
from alembic import command
from alembic.autogenerate import compare_metadata
from alembic.migration import MigrationContext
from alembic.script import ScriptDirectory
from sqlalchemy import URL, Connection, create_engine, inspect, text

from shutline.car.carfile import Recording
from shutline.store import Store
from shutline.store.tables import REVISION, metadata
from shutline.store.upgrade import alembic_config

CAR = "corvane-ninety"


def script() -> ScriptDirectory:
    return ScriptDirectory.from_config(alembic_config())


def migrated(path: Path, *, to: str = "head") -> None:
    engine = create_engine(URL.create("sqlite", database=str(path)))
    with engine.begin() as connection:
        config = alembic_config()
        config.attributes["connection"] = connection
        command.upgrade(config, to)
    engine.dispose()


def shape(connection: Connection) -> dict[str, object]:
    seen = inspect(connection)
    found: dict[str, object] = {}
    for table in seen.get_table_names():
        if table == "alembic_version" or table.startswith("car_search"):
            continue
        found[table] = {
            "columns": [
                (c["name"], str(c["type"]), c["nullable"], str(c["default"]).strip("'"))
                for c in seen.get_columns(table)
            ],
            "key": seen.get_pk_constraint(table),
            "to": sorted(map(repr, seen.get_foreign_keys(table))),
            "unique": sorted(map(repr, seen.get_unique_constraints(table))),
            "checks": sorted(map(repr, seen.get_check_constraints(table))),
            "indexes": sorted(map(repr, seen.get_indexes(table))),
        }
    return found


def test_the_newest_revision_is_the_one_the_program_asks_for() -> None:
    assert script().get_heads() == [REVISION]


def test_migrations_make_what_the_models_say(tmp_path: Path) -> None:
    migrated(tmp_path / "a.sqlite")
    engine = create_engine(URL.create("sqlite", database=str(tmp_path / "a.sqlite")))
    straight = create_engine("sqlite://")
    with engine.connect() as connection, straight.connect() as made:
        context = MigrationContext.configure(
            connection,
            opts={
                "compare_type": True,
                "compare_server_default": True,
                "target_metadata": metadata,
                # The tables of SQLite's full text search are no models.
                "include_name": lambda name, sort, _: sort != "table" or not str(name).startswith("car_search"),
            },
        )
        assert compare_metadata(context, metadata) == []
        # That comparison looks at no checks and not at all keys: the same by a second way.
        metadata.create_all(made)
        assert shape(connection) == shape(made)
    engine.dispose()
    straight.dispose()


@pytest.mark.parametrize("revision", [r.revision for r in script().walk_revisions() if r.revision != REVISION])
def test_an_older_store_is_copied_and_upgraded_with_all_it_holds(
    revision: str, tmp_path: Path, store: Store, recording: Recording, said
) -> None:
    store.put_findings(recording.id, [said()])
    before = store.car_file(CAR)
    store.close()
    old = tmp_path / "old"
    old.mkdir()
    migrated(old / "shutline.sqlite", to=revision)
    fill(old / "shutline.sqlite", store.folder / "shutline.sqlite")
    content = (old / "shutline.sqlite").read_bytes()
    with Store.open(old) as opened:
        assert opened.car_file(CAR) == before
        assert opened.backup == old / f"shutline.before-{REVISION}.sqlite"
        assert opened.backup is not None
        assert revision_of(opened.backup) == revision
        assert dump(opened.backup) == dump_bytes(content, tmp_path)
    assert revision_of(old / "shutline.sqlite") == REVISION
    with Store.open(old) as opened:
        assert opened.backup is None


def test_a_new_store_needs_no_copy(tmp_path: Path) -> None:
    with Store.open(tmp_path / "s") as store:
        assert store.backup is None
    assert sorted(p.name for p in (tmp_path / "s").iterdir()) == ["derived", "originals", "shutline.sqlite"]


def test_a_copy_never_takes_the_place_of_an_earlier_one(tmp_path: Path) -> None:
    old = tmp_path / "old"
    old.mkdir()
    (old / f"shutline.before-{REVISION}.sqlite").write_text("kept", encoding="utf-8")
    migrated(old / "shutline.sqlite", to="0001")
    fill(old / "shutline.sqlite", None)
    with Store.open(old) as opened:
        assert opened.backup == old / f"shutline.before-{REVISION}-2.sqlite"
    assert (old / f"shutline.before-{REVISION}.sqlite").read_text(encoding="utf-8") == "kept"


def fill(target: Path, source: Path | None) -> None:
    """Put a store's rows, and the mark of a store, into the tables of an older revision."""
    with closing(sqlite3.connect(target)) as connection:
        connection.execute(f"PRAGMA application_id = {0x53485554}")
        if source is not None:
            connection.execute("ATTACH ? AS present", (str(source),))
            tables = [
                name
                for (name,) in connection.execute("SELECT name FROM main.sqlite_master WHERE type = 'table'").fetchall()
                if name != "alembic_version" and not name.startswith("car_search")
            ]
            for table in tables:
                columns = ", ".join(f'"{row[1]}"' for row in connection.execute(f"PRAGMA main.table_info({table})"))
                copy = f"INSERT INTO main.{table} ({columns}) SELECT {columns} FROM present.{table}"  # noqa: S608
                connection.execute(copy)
        connection.commit()


def revision_of(path: Path) -> str:
    engine = create_engine(URL.create("sqlite", database=str(path)))
    with engine.connect() as connection:
        revision: str = connection.execute(text("SELECT version_num FROM alembic_version")).scalar_one()
    engine.dispose()
    return revision


def dump(path: Path) -> list[str]:
    with closing(sqlite3.connect(path)) as connection:
        return list(connection.iterdump())


def dump_bytes(content: bytes, folder: Path) -> list[str]:
    path = folder / "content.sqlite"
    path.write_bytes(content)
    try:
        return dump(path)
    finally:
        shutil.move(path, folder / "content.done")
