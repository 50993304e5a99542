"""The tables of what people said of a car that its price is worked out with."""

from __future__ import annotations

from sqlalchemy import Column, Index, Integer, Table, UniqueConstraint

from shutline.store.tables.shape import (
    json_column,
    link_column,
    metadata,
    number_column,
    text_column,
    words_column,
)

price_said = Table(
    "price_said",
    metadata,
    number_column(),
    text_column("ref", unique=True),
    link_column("car"),
    json_column("attributes"),
    json_column("figures"),
    Column("version", Integer, nullable=False, server_default="1"),
    text_column("created_at"),
    Index("ix_price_said_car_id", "car_id"),
)

price_said_change = Table(
    "price_said_change",
    metadata,
    number_column(),
    link_column("price_said"),
    Column("version", Integer, nullable=False),
    text_column("at"),
    words_column("author"),
    text_column("action"),
    json_column("before"),
    json_column("after"),
    UniqueConstraint("price_said_id", "version"),
)
