"""The tables of findings and facts, what they stand on, what people decided about them, and their stills."""

from __future__ import annotations

from sqlalchemy import CheckConstraint, Column, Double, ForeignKey, Index, Integer, Table, UniqueConstraint

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

finding = Table(
    "finding",
    metadata,
    number_column(),
    text_column("ref", unique=True),
    link_column("car"),
    link_column("recording", null=True),
    text_column("part"),
    text_column("side", null=True),
    text_column("position", null=True),
    text_column("condition"),
    text_column("found"),
    text_column("severity", null=True),
    text_column("remedy", null=True),
    text_column("state"),
    Column("sureness", Double, nullable=True),
    json_column("why"),
    Column("start_s", Double, nullable=True),
    no_column("withdrawn"),
    no_column("touched"),
    Column("version", Integer, nullable=False, server_default="1"),
    text_column("created_at"),
    words_column("created_by"),
    CheckConstraint("state IN ('heard', 'stands', 'struck')", name="state"),
    CheckConstraint("found IN ('yes', 'no', 'unsure')", name="found"),
    Index("ix_finding_car_id", "car_id", "withdrawn", "state"),
    Index("ix_finding_recording_id", "recording_id"),
    Index("ix_finding_part", "part", "condition"),
    Index("ix_finding_start_s", "car_id", "withdrawn", "start_s"),
)

fact = Table(
    "fact",
    metadata,
    number_column(),
    text_column("ref", unique=True),
    link_column("car"),
    link_column("recording", null=True),
    text_column("name"),
    json_column("value"),
    words_column("unit", null=True),
    text_column("state"),
    Column("sureness", Double, nullable=True),
    no_column("withdrawn"),
    no_column("touched"),
    Column("version", Integer, nullable=False, server_default="1"),
    text_column("created_at"),
    words_column("created_by"),
    CheckConstraint("state IN ('heard', 'stands', 'struck')", name="state"),
    Index("ix_fact_car_id", "car_id"),
    Index("ix_fact_recording_id", "recording_id"),
)

# A row is in force until a version replaces it; rows that were replaced stay.
footing = Table(
    "footing",
    metadata,
    number_column(),
    link_column("finding", null=True),
    link_column("fact", null=True),
    Column("place", Integer, nullable=False),
    text_column("kind"),
    words_column("source"),
    Column("start_s", Double, nullable=True),
    Column("end_s", Double, nullable=True),
    words_column("quote"),
    json_column("rules"),
    Column("until_version", Integer, nullable=True),
    CheckConstraint("(finding_id IS NULL) <> (fact_id IS NULL)", name="of_one"),
    Index("ix_footing_finding_id", "finding_id"),
    Index("ix_footing_fact_id", "fact_id"),
)

# A change without finding and fact is one of the car's own details. `undoes` names the change it takes back.
change = Table(
    "change",
    metadata,
    number_column(),
    link_column("car"),
    link_column("finding", null=True),
    link_column("fact", null=True),
    Column("version", Integer, nullable=False),
    text_column("at"),
    words_column("author"),
    text_column("action"),
    json_column("before"),
    json_column("after"),
    Column("undoes", Whole, ForeignKey("change.id"), nullable=True),
    CheckConstraint("finding_id IS NULL OR fact_id IS NULL", name="of_one"),
    UniqueConstraint("finding_id", "version"),
    UniqueConstraint("fact_id", "version"),
    Index("ix_change_car_id", "car_id", "id"),
)

still = Table(
    "still",
    metadata,
    number_column(),
    link_column("recording"),
    Column("at_s", Double, nullable=False),
    text_column("sha256"),
    Column("width", Integer, nullable=False),
    Column("height", Integer, nullable=False),
    Column("sharpness", Double, nullable=False),
    Column("steadiness", Double, nullable=False),
    UniqueConstraint("recording_id", "sha256", "at_s"),
)

finding_still = Table(
    "finding_still",
    metadata,
    number_column(),
    link_column("finding"),
    link_column("still"),
    Column("place", Integer, nullable=False),
    words_column("chosen_by"),
    text_column("chosen_at"),
    no_column("put_aside"),
    Index("ix_finding_still_finding_id", "finding_id"),
)

# What a person decided where statements of a car cannot all be true; the last answer to a case counts, all stay. `mark`
# and `told` are of the statements as they were then, `struck` the ids of what was struck with the answer.
odds_decision = Table(
    "odds_decision",
    metadata,
    number_column(),
    link_column("car"),
    text_column("odds"),
    text_column("answer"),
    text_column("holds"),
    words_column("reason"),
    text_column("mark"),
    json_column("told"),
    json_column("struck"),
    text_column("created_at"),
    words_column("created_by"),
    CheckConstraint("answer IN ('one holds', 'all hold', 'none holds', 'open again')", name="answer"),
    Index("ix_odds_decision_car_id", "car_id", "odds"),
)
