"""The tables of test histories that came in as files, and of what people said of them."""

from __future__ import annotations

from sqlalchemy import CheckConstraint, Column, Index, Integer, Table, UniqueConstraint

from shutline.store.tables.shape import (
    json_column,
    link_column,
    metadata,
    number_column,
    text_column,
    words_column,
)

test_history = Table(
    "test_history",
    metadata,
    number_column(),
    text_column("ref", unique=True),
    link_column("car"),
    words_column("mark"),
    words_column("name"),
    json_column("record"),
    text_column("state"),
    text_column("created_at"),
    words_column("created_by"),
    text_column("decided_at", null=True),
    words_column("decided_by", null=True),
    Column("version", Integer, nullable=False, server_default="1"),
    CheckConstraint("state IN ('open', 'same', 'other')", name="state"),
    Index("ix_test_history_car_id", "car_id"),
)

test_history_change = Table(
    "test_history_change",
    metadata,
    number_column(),
    link_column("test_history"),
    Column("version", Integer, nullable=False),
    text_column("at"),
    words_column("author"),
    text_column("action"),
    json_column("before"),
    json_column("after"),
    UniqueConstraint("test_history_id", "version"),
)
