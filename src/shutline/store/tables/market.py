"""The tables of comparables: what was noted, the files it came from, and which column of them is what."""

from __future__ import annotations

from sqlalchemy import Boolean, Column, Double, Index, Integer, Table, UniqueConstraint

from shutline.store.tables.shape import (
    json_column,
    link_column,
    metadata,
    no_column,
    number_column,
    text_column,
    words_column,
)

comparable_file = Table(
    "comparable_file",
    metadata,
    number_column(),
    text_column("ref", unique=True),
    words_column("name"),
    text_column("sha256"),
    json_column("columns"),
    json_column("apart"),
    text_column("created_at"),
    words_column("created_by"),
)

comparable = Table(
    "comparable",
    metadata,
    number_column(),
    text_column("ref", unique=True),
    # Digests: of the row of a file as it came, of what it said then, and of what it says now.
    text_column("came_as"),
    text_column("came_saying"),
    text_column("says"),
    text_column("day"),
    # Amounts are text, as those of the ledger.
    text_column("price"),
    text_column("currency"),
    no_column("sold"),
    words_column("car"),
    json_column("attributes"),
    Column("mileage", Double, nullable=True),
    text_column("unit"),
    words_column("condition"),
    words_column("place"),
    Column("days", Integer, nullable=True),
    words_column("source"),
    words_column("came_from"),
    link_column("comparable_file", null=True),
    Column("sale", Integer, nullable=True, unique=True),
    Column("holds", Boolean, nullable=False),
    Column("version", Integer, nullable=False, server_default="1"),
    text_column("created_at"),
    words_column("created_by"),
    Index("ix_comparable_came_as", "came_as"),
    Index("ix_comparable_came_saying", "came_saying"),
    Index("ix_comparable_says", "says"),
)

comparable_change = Table(
    "comparable_change",
    metadata,
    number_column(),
    link_column("comparable"),
    Column("version", Integer, nullable=False),
    text_column("at"),
    words_column("author"),
    text_column("action"),
    json_column("before"),
    json_column("after"),
    UniqueConstraint("comparable_id", "version"),
)

comparable_map = Table(
    "comparable_map",
    metadata,
    number_column(),
    text_column("ref", unique=True),
    json_column("headings"),
    json_column("columns"),
    Column("version", Integer, nullable=False, server_default="1"),
    text_column("created_at"),
)

comparable_map_change = Table(
    "comparable_map_change",
    metadata,
    number_column(),
    link_column("comparable_map"),
    Column("version", Integer, nullable=False),
    text_column("at"),
    words_column("author"),
    text_column("action"),
    json_column("before"),
    json_column("after"),
    UniqueConstraint("comparable_map_id", "version"),
)
