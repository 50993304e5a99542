"""The tables of what was entered of a car's past."""

from __future__ import annotations

from sqlalchemy import CheckConstraint, Column, Index, Integer, Table, UniqueConstraint

from shutline.store.tables.shape import json_column, link_column, metadata, number_column, text_column, words_column

past = Table(
    "past",
    metadata,
    number_column(),
    text_column("ref", unique=True),
    link_column("car"),
    text_column("kind"),
    text_column("state"),
    json_column("entry"),
    Column("version", Integer, nullable=False, server_default="1"),
    text_column("created_at"),
    CheckConstraint("state IN ('heard', 'stands', 'struck')", name="state"),
    Index("ix_past_car_id", "car_id"),
)

past_change = Table(
    "past_change",
    metadata,
    number_column(),
    link_column("past"),
    Column("version", Integer, nullable=False),
    text_column("at"),
    words_column("author"),
    text_column("action"),
    json_column("before"),
    json_column("after"),
    UniqueConstraint("past_id", "version"),
)
