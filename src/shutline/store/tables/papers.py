"""The tables of papers: each with its pages, what was read off it, and what people said of both."""

from __future__ import annotations

from sqlalchemy import CheckConstraint, Column, ForeignKey, Index, Integer, Table, UniqueConstraint

from shutline.store.tables.shape import (
    Whole,
    count_column,
    json_column,
    link_column,
    metadata,
    no_column,
    number_column,
    text_column,
    words_column,
)

paper = Table(
    "paper",
    metadata,
    number_column(),
    text_column("ref", unique=True),
    link_column("car"),
    link_column("original"),
    text_column("form"),
    count_column("pages"),
    # What its words tell it to be, and how many of its pages were read when they told it.
    json_column("kinds"),
    count_column("told_pages"),
    text_column("kind", null=True),
    text_column("state"),
    json_column("covers"),
    text_column("out_mark"),
    Column("version", Integer, nullable=False, server_default="1"),
    text_column("created_at"),
    words_column("created_by"),
    CheckConstraint("state IN ('open', 'same', 'other')", name="state"),
    UniqueConstraint("car_id", "original_id"),
)

paper_change = Table(
    "paper_change",
    metadata,
    number_column(),
    link_column("paper"),
    Column("version", Integer, nullable=False),
    text_column("at"),
    words_column("author"),
    text_column("action"),
    json_column("before"),
    json_column("after"),
    UniqueConstraint("paper_id", "version"),
)

paper_page = Table(
    "paper_page",
    metadata,
    number_column(),
    link_column("paper"),
    Column("number", Integer, nullable=False),
    Column("turned", Integer, nullable=False),
    count_column("width"),
    count_column("height"),
    text_column("picture"),
    no_column("by_sight"),
    json_column("lines"),
    text_column("created_at"),
    UniqueConstraint("paper_id", "number"),
)

# A proposal: `reading` is as it was read, the rest what stands of it.
paper_read = Table(
    "paper_read",
    metadata,
    number_column(),
    text_column("ref", unique=True),
    link_column("paper"),
    json_column("reading"),
    text_column("kind"),
    words_column("role"),
    words_column("value"),
    text_column("unit"),
    text_column("day"),
    text_column("state"),
    text_column("fact", null=True),
    no_column("withdrawn"),
    Column("version", Integer, nullable=False, server_default="1"),
    text_column("created_at"),
    CheckConstraint("state IN ('open', 'taken', 'struck')", name="state"),
    Index("ix_paper_read_paper_id", "paper_id"),
)

paper_read_change = Table(
    "paper_read_change",
    metadata,
    number_column(),
    Column("proposal_id", Whole, ForeignKey("paper_read.id"), nullable=False),
    Column("version", Integer, nullable=False),
    text_column("at"),
    words_column("author"),
    text_column("action"),
    json_column("before"),
    json_column("after"),
    UniqueConstraint("proposal_id", "version"),
)
