"""The tables of what people decided about preparation, and of what was done."""

from __future__ import annotations

from sqlalchemy import CheckConstraint, Column, Index, Integer, Table, UniqueConstraint

from shutline.store.tables.shape import (
    Whole,
    json_column,
    link_column,
    metadata,
    no_column,
    number_column,
    text_column,
    words_column,
)

prep_decision = Table(
    "prep_decision",
    metadata,
    number_column(),
    text_column("ref", unique=True),
    link_column("car"),
    text_column("kind"),
    words_column("about"),
    words_column("words"),
    Column("pence", Whole, nullable=True),
    no_column("holds"),
    Column("version", Integer, nullable=False, server_default="1"),
    text_column("created_at"),
    CheckConstraint("kind IN ('refused', 'promised', 'budget', 'asking')", name="kind"),
    Index("ix_prep_decision_car_id", "car_id"),
)

prep_decision_change = Table(
    "prep_decision_change",
    metadata,
    number_column(),
    link_column("prep_decision"),
    Column("version", Integer, nullable=False),
    text_column("at"),
    words_column("author"),
    text_column("action"),
    json_column("before"),
    json_column("after"),
    UniqueConstraint("prep_decision_id", "version"),
)

prep_done = Table(
    "prep_done",
    metadata,
    number_column(),
    text_column("ref", unique=True),
    link_column("car"),
    words_column("task"),
    words_column("job"),
    words_column("words"),
    text_column("remedy"),
    json_column("findings"),
    words_column("trade"),
    json_column("needs"),
    text_column("hours", null=True),
    text_column("setup_hours", null=True),
    Column("places", Integer, nullable=False),
    text_column("picture"),
    words_column("found"),
    text_column("done_on"),
    no_column("holds"),
    text_column("token"),
    Column("version", Integer, nullable=False, server_default="1"),
    text_column("created_at"),
    Column("of_places", Integer, nullable=False, server_default="1"),
    Index("ix_prep_done_car_id", "car_id"),
)

prep_done_change = Table(
    "prep_done_change",
    metadata,
    number_column(),
    link_column("prep_done"),
    Column("version", Integer, nullable=False),
    text_column("at"),
    words_column("author"),
    text_column("action"),
    json_column("before"),
    json_column("after"),
    UniqueConstraint("prep_done_id", "version"),
)
