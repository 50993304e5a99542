"""The tables of figures from instruments."""

from __future__ import annotations

from sqlalchemy import CheckConstraint, Column, Index, Integer, Table, UniqueConstraint

from shutline.store.tables.shape import json_column, link_column, metadata, number_column, text_column, words_column

# A figure from an instrument; `reading` is as it came in, the rest what stands of it.
reading = Table(
    "reading",
    metadata,
    number_column(),
    text_column("ref", unique=True),
    link_column("car"),
    text_column("quantity"),
    text_column("state"),
    text_column("source", null=True),
    json_column("reading"),
    Column("version", Integer, nullable=False, server_default="1"),
    text_column("created_at"),
    CheckConstraint("state IN ('heard', 'stands', 'struck')", name="state"),
    Index("ix_reading_car_id", "car_id"),
)

reading_change = Table(
    "reading_change",
    metadata,
    number_column(),
    link_column("reading"),
    Column("version", Integer, nullable=False),
    text_column("at"),
    words_column("author"),
    text_column("action"),
    json_column("before"),
    json_column("after"),
    UniqueConstraint("reading_id", "version"),
)
