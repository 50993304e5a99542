"""The tables of cars and of the originals that came in with them, and what is put together of both."""

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

car = Table(
    "car",
    metadata,
    number_column(),
    text_column("name", unique=True),
    words_column("title"),
    text_column("drive"),
    text_column("body", null=True),
    Column("doors", Integer, nullable=True),
    Column("version", Integer, nullable=False, server_default="1"),
    text_column("created_at"),
    words_column("created_by"),
    text_column("changed_at"),
    # Kept with every write, so that a list of 10,000 cars reads one table.
    count_column("recording_count"),
    count_column("picture_count"),
    count_column("heard_count"),
    count_column("stands_count"),
    count_column("struck_count"),
    # How many facts are open or stand, several values of one counted once, as a review does.
    count_column("heard_fact_count"),
    count_column("stands_fact_count"),
    # Left out of the yard unless asked for; and the name of the car under whose it is shown (see `joins`).
    no_column("set_aside"),
    text_column("joined_to", null=True),
    Index("ix_car_created_at", "created_at", "id"),
    Index("ix_car_changed_at", "changed_at", "id"),
    Index("ix_car_joined_to", "joined_to"),
    Index("ix_car_set_aside", "set_aside", "joined_to", "created_at", "id"),
)

original = Table(
    "original",
    metadata,
    number_column(),
    text_column("sha256", unique=True),
    Column("byte_size", Whole, nullable=False),
    text_column("kind"),
    no_column("linked"),
    words_column("linked_path", null=True),
    text_column("created_at"),
)

original_name = Table(
    "original_name",
    metadata,
    number_column(),
    link_column("original"),
    words_column("name"),
    text_column("created_at"),
    UniqueConstraint("original_id", "name"),
)

# Place and device of an original: a table of its own, so that no query for a car file can bring them along.
private_details = Table(
    "private_details",
    metadata,
    Column("original_id", Whole, ForeignKey("original.id"), primary_key=True, autoincrement=False),
    json_column("details"),
)

recording = Table(
    "recording",
    metadata,
    number_column(),
    text_column("ref", unique=True),
    link_column("car"),
    link_column("original"),
    json_column("probe", null=True),
    count_column("edition"),
    no_column("complete"),
    text_column("created_at"),
    # The id of the recording of the same bytes that a car it was joined with has.
    text_column("twin_of", null=True),
    UniqueConstraint("car_id", "original_id"),
)

picture = Table(
    "picture",
    metadata,
    number_column(),
    text_column("ref", unique=True),
    link_column("car"),
    link_column("original"),
    Column("width", Integer, nullable=False),
    Column("height", Integer, nullable=False),
    text_column("taken_at", null=True),
    text_column("created_at"),
    text_column("twin_of", null=True),
    UniqueConstraint("car_id", "original_id"),
)

# What a person kept at a place of the car while standing there: a picture or a recording by its id, or typed words.
note = Table(
    "note",
    metadata,
    number_column(),
    text_column("ref", unique=True),
    link_column("car"),
    text_column("part"),
    text_column("side", null=True),
    text_column("position", null=True),
    text_column("kind"),
    text_column("source"),
    words_column("words"),
    words_column("at"),
    text_column("created_at"),
    words_column("created_by"),
    CheckConstraint("kind IN ('picture', 'spoken', 'typed')", name="kind"),
    Index("ix_note_car_id", "car_id"),
    Index("ix_note_source", "source"),
)

# All the words of a car in one text, for the search; `as_of` is the car's `changed_at` when it was made, and a text
# made of an older state is made anew. SQLite indexes it in the virtual table `car_search`, PostgreSQL as a text vector.
car_words = Table(
    "car_words",
    metadata,
    Column("car_id", Whole, ForeignKey("car.id"), primary_key=True, autoincrement=False),
    text_column("as_of"),
    words_column("words"),
    # Without it the text of every car would be passed over to see whether one is behind.
    Index("ix_car_words_as_of", "car_id", "as_of"),
)
