"""The tables of what goes out, what may not, and what strangers asked."""

from __future__ import annotations

from sqlalchemy import CheckConstraint, Column, Index, Integer, Table, Text

from shutline.store.tables.shape import (
    Whole,
    link_column,
    metadata,
    no_column,
    number_column,
    text_column,
    words_column,
)

# A sealed file as it was made; `number` is the SHA-256 of its tag manifest, `former` that of the one before it.
sealed_file = Table(
    "sealed_file",
    metadata,
    number_column(),
    link_column("car"),
    text_column("number"),
    text_column("former", null=True),
    text_column("occasion"),
    text_column("edition"),
    no_column("originals"),
    text_column("fingerprint"),
    words_column("folder"),
    Column("files", Integer, nullable=False),
    Column("byte_size", Whole, nullable=False),
    no_column("stamped"),
    text_column("created_at"),
    words_column("created_by"),
    CheckConstraint("occasion IN ('offered', 'sold')", name="occasion"),
    CheckConstraint("edition IN ('firm', 'buyer')", name="edition"),
    Index("ix_sealed_file_car_id", "car_id"),
)

# A link under which the buyer's page is shown without a login; it ends when told.
share = Table(
    "share",
    metadata,
    number_column(),
    link_column("car"),
    text_column("token", unique=True),
    text_column("until", null=True),
    text_column("created_at"),
    words_column("created_by"),
    text_column("ended_at", null=True),
    words_column("ended_by", null=True),
    Index("ix_share_car_id", "car_id"),
)

# Words of a car that may not leave: in no table that a car file is read from, so that none can bring them along.
private_words = Table(
    "private_words",
    metadata,
    number_column(),
    link_column("car"),
    text_column("kind"),
    words_column("words"),
    text_column("created_at"),
    words_column("created_by"),
    text_column("ended_at", null=True),
    words_column("ended_by", null=True),
    CheckConstraint("kind IN ('keeper', 'address', 'place', 'price', 'other', 'no-name')", name="kind"),
    Index("ix_private_words_car_id", "car_id"),
)

# Words that a person accepted in the place of the draft; taken back by a person, and never deleted.
offered_text = Table(
    "offered_text",
    metadata,
    number_column(),
    link_column("car"),
    words_column("words"),
    words_column("former"),
    text_column("mark"),
    text_column("created_at"),
    words_column("created_by"),
    text_column("ended_at", null=True),
    words_column("ended_by", null=True),
    Column("vouched", Text, nullable=False, server_default="[]"),
    Index("ix_offered_text_car_id", "car_id"),
)

# What strangers asked; taken off the list by a person, and never deleted.
question = Table(
    "question",
    metadata,
    number_column(),
    text_column("ref", unique=True),
    link_column("car"),
    words_column("words"),
    text_column("created_at"),
    words_column("created_by"),
    text_column("ended_at", null=True),
    words_column("ended_by", null=True),
    Index("ix_question_car_id", "car_id"),
)

# That a person put a question onto the buyer's page, or took it off; the last counts.
question_page = Table(
    "question_page",
    metadata,
    number_column(),
    link_column("question"),
    no_column("shown"),
    text_column("created_at"),
    words_column("created_by"),
    Index("ix_question_page_question_id", "question_id"),
)
