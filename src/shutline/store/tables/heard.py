"""The tables of what was heard of a recording and how far the reading of it is."""

from __future__ import annotations

from sqlalchemy import CheckConstraint, Column, Double, Index, Integer, Table, UniqueConstraint

from shutline.store.tables.shape import (
    json_column,
    link_column,
    metadata,
    no_column,
    number_column,
    spoken_column,
    text_column,
    words_column,
)

stage = Table(
    "stage",
    metadata,
    number_column(),
    link_column("recording"),
    text_column("name"),
    text_column("key"),
    text_column("state"),
    json_column("progress"),
    text_column("started_at"),
    text_column("changed_at"),
    text_column("finished_at", null=True),
    UniqueConstraint("recording_id", "name", "key"),
    CheckConstraint("state IN ('started', 'done', 'superseded')", name="state"),
)

heard_segment = Table(
    "heard_segment",
    metadata,
    number_column(),
    link_column("original"),
    text_column("recogniser"),
    Column("place", Integer, nullable=False),
    Column("start_s", Double, nullable=False),
    Column("end_s", Double, nullable=False),
    words_column("text"),
    spoken_column("words"),
    text_column("origin"),
    no_column("broken_off"),
    UniqueConstraint("original_id", "recogniser", "place"),
)

stretch = Table(
    "stretch",
    metadata,
    number_column(),
    link_column("recording"),
    Column("edition", Integer, nullable=False),
    Column("place", Integer, nullable=False),
    Column("start_s", Double, nullable=False),
    Column("end_s", Double, nullable=False),
    words_column("text"),
    spoken_column("words"),
    text_column("origin"),
    UniqueConstraint("recording_id", "edition", "place"),
)

problem = Table(
    "problem",
    metadata,
    number_column(),
    link_column("car"),
    link_column("recording", null=True),
    text_column("stage"),
    text_column("slug"),
    words_column("where"),
    words_column("found"),
    words_column("allowed"),
    words_column("advice"),
    no_column("past"),
    text_column("created_at"),
    Index("ix_problem_car_id", "car_id"),
)

# What a second reader answered to a piece of words, by a hash of all that was asked, so that it is not asked again.
second_answer = Table(
    "second_answer",
    metadata,
    number_column(),
    text_column("key", unique=True),
    words_column("service"),
    words_column("model"),
    json_column("answer"),
    text_column("created_at"),
    Index("ix_second_answer_service", "service"),
)

# A second reading laid beside the findings of a recording; one that a later one replaced is past. `words` is the hash
# of the words it is of, `proposals` and `spans` are what the views were made from.
second_reading = Table(
    "second_reading",
    metadata,
    number_column(),
    link_column("recording"),
    words_column("service"),
    words_column("model"),
    text_column("words"),
    Column("pieces", Integer, nullable=False),
    Column("answered", Integer, nullable=False),
    json_column("proposals"),
    json_column("spans"),
    json_column("set_aside"),
    json_column("views"),
    no_column("past"),
    text_column("asked_at"),
    Index("ix_second_reading_recording_id", "recording_id"),
)
