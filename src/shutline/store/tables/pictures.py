"""The tables of what is covered, read, placed and ringed in pictures and films, and of engines listened to."""

from __future__ import annotations

from sqlalchemy import CheckConstraint, Column, Double, Index, Integer, Table, UniqueConstraint

from shutline.store.tables.shape import (
    count_column,
    json_column,
    link_column,
    metadata,
    no_column,
    number_column,
    text_column,
    words_column,
)

# What is covered in a picture or a film that goes out; `source` is the id of either, `way` its boxes with their times.
mask = Table(
    "mask",
    metadata,
    number_column(),
    text_column("ref", unique=True),
    text_column("source"),
    text_column("kind"),
    text_column("state"),
    Column("sureness", Double, nullable=True),
    Column("start_s", Double, nullable=False),
    Column("end_s", Double, nullable=False),
    json_column("way"),
    Column("version", Integer, nullable=False, server_default="1"),
    text_column("created_at"),
    words_column("created_by"),
    CheckConstraint("kind IN ('mark', 'chassis', 'face', 'other')", name="kind"),
    CheckConstraint("state IN ('proposed', 'stands', 'struck')", name="state"),
    Index("ix_mask_source", "source"),
)

mask_change = Table(
    "mask_change",
    metadata,
    number_column(),
    link_column("mask"),
    Column("version", Integer, nullable=False),
    text_column("at"),
    words_column("author"),
    text_column("action"),
    json_column("before"),
    json_column("after"),
    UniqueConstraint("mask_id", "version"),
)

# That the program looked for masks in a picture or a stretch of film, with which networks and rules, and how many of
# each kind it found.
mask_look = Table(
    "mask_look",
    metadata,
    number_column(),
    text_column("source"),
    Column("start_s", Double, nullable=False),
    Column("end_s", Double, nullable=False),
    text_column("finder"),
    Column("looks", Integer, nullable=False),
    json_column("found"),
    text_column("created_at"),
    UniqueConstraint("source", "start_s", "end_s", "finder"),
)

# A figure read off a picture or a frame: `reading` is what the program read, the rest what stands of it.
figure = Table(
    "figure",
    metadata,
    number_column(),
    text_column("ref", unique=True),
    text_column("source"),
    Column("at_s", Double, nullable=True),
    text_column("kind"),
    text_column("state"),
    text_column("crop"),
    json_column("reading"),
    json_column("value"),
    text_column("unit", null=True),
    text_column("part", null=True),
    text_column("side", null=True),
    text_column("position", null=True),
    text_column("fact", null=True),
    Column("version", Integer, nullable=False, server_default="1"),
    text_column("created_at"),
    CheckConstraint("state IN ('waits', 'taken', 'aside')", name="state"),
    Index("ix_figure_source", "source"),
)

figure_change = Table(
    "figure_change",
    metadata,
    number_column(),
    link_column("figure"),
    Column("version", Integer, nullable=False),
    text_column("at"),
    words_column("author"),
    text_column("action"),
    json_column("before"),
    json_column("after"),
    UniqueConstraint("figure_id", "version"),
)

# That a picture or a frame was read, by a hash of all that the reading depends on, and how much was too unclear.
figure_look = Table(
    "figure_look",
    metadata,
    number_column(),
    text_column("key", unique=True),
    text_column("source"),
    Column("at_s", Double, nullable=True),
    count_column("refused"),
    text_column("created_at"),
    Index("ix_figure_look_source", "source"),
)

# What people said of the place that a picture taken by hand is of, by the picture's id; the last version holds, and no
# part means that it is of none in particular.
picture_place = Table(
    "picture_place",
    metadata,
    number_column(),
    text_column("picture"),
    Column("version", Integer, nullable=False),
    text_column("part", null=True),
    text_column("side", null=True),
    text_column("position", null=True),
    text_column("at"),
    words_column("author"),
    UniqueConstraint("picture", "version"),
)

# What was heard of an engine in a recording; one that a later one replaced is past.
engine_note = Table(
    "engine_note",
    metadata,
    number_column(),
    link_column("recording"),
    json_column("note"),
    words_column("cylinders_from"),
    json_column("readings"),
    text_column("key"),
    words_column("author"),
    text_column("at"),
    no_column("past"),
    Index("ix_engine_note_recording_id", "recording_id", "past"),
)

# Where on a still or a picture a finding is: `finding` is its id, `picture` the SHA-256 of the file, and the circle in
# shares of the upright picture, its radius of the width.
ring = Table(
    "ring",
    metadata,
    number_column(),
    text_column("ref", unique=True),
    text_column("finding"),
    text_column("picture"),
    Column("x", Double, nullable=False),
    Column("y", Double, nullable=False),
    Column("radius", Double, nullable=False),
    no_column("holds"),
    Column("version", Integer, nullable=False, server_default="1"),
    text_column("created_at"),
    Index("ix_ring_finding", "finding"),
)

ring_change = Table(
    "ring_change",
    metadata,
    number_column(),
    link_column("ring"),
    Column("version", Integer, nullable=False),
    text_column("at"),
    words_column("author"),
    text_column("action"),
    json_column("before"),
    json_column("after"),
    UniqueConstraint("ring_id", "version"),
)
