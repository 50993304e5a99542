"""The tables of the store, in types that SQLite and PostgreSQL both have."""

from __future__ import annotations

from typing import Any

from sqlalchemy import (
    BigInteger,
    Boolean,
    CheckConstraint,
    Column,
    Double,
    ForeignKey,
    Index,
    Integer,
    MetaData,
    Table,
    Text,
    UniqueConstraint,
    false,
)

from shutline.store.columns import Json, Spoken, Verbatim

# The newest migration; a store that stands at another revision is upgraded, or refused when it is newer.
REVISION = "0016"

metadata = MetaData(
    naming_convention={
        "ix": "ix_%(table_name)s_%(column_0_N_name)s",
        "uq": "uq_%(table_name)s_%(column_0_N_name)s",
        "ck": "ck_%(table_name)s_%(constraint_name)s",
        "fk": "fk_%(table_name)s_%(column_0_name)s_%(referred_table_name)s",
        "pk": "pk_%(table_name)s",
    }
)

_Whole = BigInteger().with_variant(Integer, "sqlite")


def _id() -> Column[int]:
    return Column("id", _Whole, primary_key=True)


def _to(table: str, *, null: bool = False) -> Column[int]:
    return Column(f"{table}_id", _Whole, ForeignKey(f"{table}.id"), nullable=null)


def _text(name: str, *, null: bool = False, unique: bool = False) -> Column[str]:
    return Column(name, Text, nullable=null, unique=unique)


def _words(name: str, *, null: bool = False) -> Column[str]:
    return Column(name, Verbatim, nullable=null)


def _spoken(name: str) -> Column[Any]:
    return Column(name, Spoken, nullable=False)


def _json(name: str, *, null: bool = False) -> Column[Any]:
    return Column(name, Json, nullable=null)


def _no(name: str) -> Column[bool]:
    return Column(name, Boolean, nullable=False, server_default=false())


def _count(name: str) -> Column[int]:
    return Column(name, Integer, nullable=False, server_default="0")


car = Table(
    "car",
    metadata,
    _id(),
    _text("name", unique=True),
    _words("title"),
    _text("drive"),
    _text("body", null=True),
    Column("doors", Integer, nullable=True),
    Column("version", Integer, nullable=False, server_default="1"),
    _text("created_at"),
    _words("created_by"),
    _text("changed_at"),
    # Kept with every write, so that a list of 10,000 cars reads one table.
    _count("recording_count"),
    _count("picture_count"),
    _count("heard_count"),
    _count("stands_count"),
    _count("struck_count"),
    # How many facts are open or stand, several values of one counted once, as a review does.
    _count("heard_fact_count"),
    _count("stands_fact_count"),
    # Left out of the yard unless asked for; and the name of the car under whose it is shown (see `joins`).
    _no("set_aside"),
    _text("joined_to", null=True),
    Index("ix_car_created_at", "created_at", "id"),
    Index("ix_car_changed_at", "changed_at", "id"),
    Index("ix_car_joined_to", "joined_to"),
    Index("ix_car_set_aside", "set_aside", "joined_to", "created_at", "id"),
)

original = Table(
    "original",
    metadata,
    _id(),
    _text("sha256", unique=True),
    Column("byte_size", _Whole, nullable=False),
    _text("kind"),
    _no("linked"),
    _words("linked_path", null=True),
    _text("created_at"),
)

original_name = Table(
    "original_name",
    metadata,
    _id(),
    _to("original"),
    _words("name"),
    _text("created_at"),
    UniqueConstraint("original_id", "name"),
)

# Place and device of an original: a table of its own, so that no query for a car file can bring them along.
private_details = Table(
    "private_details",
    metadata,
    Column("original_id", _Whole, ForeignKey("original.id"), primary_key=True, autoincrement=False),
    _json("details"),
)

recording = Table(
    "recording",
    metadata,
    _id(),
    _text("ref", unique=True),
    _to("car"),
    _to("original"),
    _json("probe", null=True),
    _count("edition"),
    _no("complete"),
    _text("created_at"),
    # The id of the recording of the same bytes that a car it was joined with has.
    _text("twin_of", null=True),
    UniqueConstraint("car_id", "original_id"),
)

picture = Table(
    "picture",
    metadata,
    _id(),
    _text("ref", unique=True),
    _to("car"),
    _to("original"),
    Column("width", Integer, nullable=False),
    Column("height", Integer, nullable=False),
    _text("taken_at", null=True),
    _text("created_at"),
    _text("twin_of", null=True),
    UniqueConstraint("car_id", "original_id"),
)

stage = Table(
    "stage",
    metadata,
    _id(),
    _to("recording"),
    _text("name"),
    _text("key"),
    _text("state"),
    _json("progress"),
    _text("started_at"),
    _text("changed_at"),
    _text("finished_at", null=True),
    UniqueConstraint("recording_id", "name", "key"),
    CheckConstraint("state IN ('started', 'done', 'superseded')", name="state"),
)

heard_segment = Table(
    "heard_segment",
    metadata,
    _id(),
    _to("original"),
    _text("recogniser"),
    Column("place", Integer, nullable=False),
    Column("start_s", Double, nullable=False),
    Column("end_s", Double, nullable=False),
    _words("text"),
    _spoken("words"),
    _text("origin"),
    _no("broken_off"),
    UniqueConstraint("original_id", "recogniser", "place"),
)

stretch = Table(
    "stretch",
    metadata,
    _id(),
    _to("recording"),
    Column("edition", Integer, nullable=False),
    Column("place", Integer, nullable=False),
    Column("start_s", Double, nullable=False),
    Column("end_s", Double, nullable=False),
    _words("text"),
    _spoken("words"),
    _text("origin"),
    UniqueConstraint("recording_id", "edition", "place"),
)

finding = Table(
    "finding",
    metadata,
    _id(),
    _text("ref", unique=True),
    _to("car"),
    _to("recording", null=True),
    _text("part"),
    _text("side", null=True),
    _text("position", null=True),
    _text("condition"),
    _text("found"),
    _text("severity", null=True),
    _text("remedy", null=True),
    _text("state"),
    Column("sureness", Double, nullable=True),
    _json("why"),
    Column("start_s", Double, nullable=True),
    _no("withdrawn"),
    _no("touched"),
    Column("version", Integer, nullable=False, server_default="1"),
    _text("created_at"),
    _words("created_by"),
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
    _id(),
    _text("ref", unique=True),
    _to("car"),
    _to("recording", null=True),
    _text("name"),
    _json("value"),
    _words("unit", null=True),
    _text("state"),
    Column("sureness", Double, nullable=True),
    _no("withdrawn"),
    _no("touched"),
    Column("version", Integer, nullable=False, server_default="1"),
    _text("created_at"),
    _words("created_by"),
    CheckConstraint("state IN ('heard', 'stands', 'struck')", name="state"),
    Index("ix_fact_car_id", "car_id"),
    Index("ix_fact_recording_id", "recording_id"),
)

# A row is in force until a version replaces it; rows that were replaced stay.
footing = Table(
    "footing",
    metadata,
    _id(),
    _to("finding", null=True),
    _to("fact", null=True),
    Column("place", Integer, nullable=False),
    _text("kind"),
    _words("source"),
    Column("start_s", Double, nullable=True),
    Column("end_s", Double, nullable=True),
    _words("quote"),
    _json("rules"),
    Column("until_version", Integer, nullable=True),
    CheckConstraint("(finding_id IS NULL) <> (fact_id IS NULL)", name="of_one"),
    Index("ix_footing_finding_id", "finding_id"),
    Index("ix_footing_fact_id", "fact_id"),
)

# A change without finding and fact is one of the car's own details. `undoes` names the change it takes back.
change = Table(
    "change",
    metadata,
    _id(),
    _to("car"),
    _to("finding", null=True),
    _to("fact", null=True),
    Column("version", Integer, nullable=False),
    _text("at"),
    _words("author"),
    _text("action"),
    _json("before"),
    _json("after"),
    Column("undoes", _Whole, ForeignKey("change.id"), nullable=True),
    CheckConstraint("finding_id IS NULL OR fact_id IS NULL", name="of_one"),
    UniqueConstraint("finding_id", "version"),
    UniqueConstraint("fact_id", "version"),
    Index("ix_change_car_id", "car_id", "id"),
)

still = Table(
    "still",
    metadata,
    _id(),
    _to("recording"),
    Column("at_s", Double, nullable=False),
    _text("sha256"),
    Column("width", Integer, nullable=False),
    Column("height", Integer, nullable=False),
    Column("sharpness", Double, nullable=False),
    Column("steadiness", Double, nullable=False),
    UniqueConstraint("recording_id", "sha256", "at_s"),
)

finding_still = Table(
    "finding_still",
    metadata,
    _id(),
    _to("finding"),
    _to("still"),
    Column("place", Integer, nullable=False),
    _words("chosen_by"),
    _text("chosen_at"),
    _no("put_aside"),
    Index("ix_finding_still_finding_id", "finding_id"),
)

problem = Table(
    "problem",
    metadata,
    _id(),
    _to("car"),
    _to("recording", null=True),
    _text("stage"),
    _text("slug"),
    _words("where"),
    _words("found"),
    _words("allowed"),
    _words("advice"),
    _no("past"),
    _text("created_at"),
    Index("ix_problem_car_id", "car_id"),
)

# What a second reader answered to a piece of words, by a hash of all that was asked, so that it is not asked again.
second_answer = Table(
    "second_answer",
    metadata,
    _id(),
    _text("key", unique=True),
    _words("service"),
    _words("model"),
    _json("answer"),
    _text("created_at"),
    Index("ix_second_answer_service", "service"),
)

# A second reading laid beside the findings of a recording; one that a later one replaced is past. `words` is the hash
# of the words it is of, `proposals` and `spans` are what the views were made from.
second_reading = Table(
    "second_reading",
    metadata,
    _id(),
    _to("recording"),
    _words("service"),
    _words("model"),
    _text("words"),
    Column("pieces", Integer, nullable=False),
    Column("answered", Integer, nullable=False),
    _json("proposals"),
    _json("spans"),
    _json("set_aside"),
    _json("views"),
    _no("past"),
    _text("asked_at"),
    Index("ix_second_reading_recording_id", "recording_id"),
)

# What a person kept at a place of the car while standing there: a picture or a recording by its id, or typed words.
note = Table(
    "note",
    metadata,
    _id(),
    _text("ref", unique=True),
    _to("car"),
    _text("part"),
    _text("side", null=True),
    _text("position", null=True),
    _text("kind"),
    _text("source"),
    _words("words"),
    _words("at"),
    _text("created_at"),
    _words("created_by"),
    CheckConstraint("kind IN ('picture', 'spoken', 'typed')", name="kind"),
    Index("ix_note_car_id", "car_id"),
    Index("ix_note_source", "source"),
)

# All the words of a car in one text, for the search; `as_of` is the car's `changed_at` when it was made, and a text
# made of an older state is made anew. SQLite indexes it in the virtual table `car_search`, PostgreSQL as a text vector.
car_words = Table(
    "car_words",
    metadata,
    Column("car_id", _Whole, ForeignKey("car.id"), primary_key=True, autoincrement=False),
    _text("as_of"),
    _words("words"),
    # Without it the text of every car would be passed over to see whether one is behind.
    Index("ix_car_words_as_of", "car_id", "as_of"),
)

# What is covered in a picture or a film that goes out; `source` is the id of either, `way` its boxes with their times.
mask = Table(
    "mask",
    metadata,
    _id(),
    _text("ref", unique=True),
    _text("source"),
    _text("kind"),
    _text("state"),
    Column("sureness", Double, nullable=True),
    Column("start_s", Double, nullable=False),
    Column("end_s", Double, nullable=False),
    _json("way"),
    Column("version", Integer, nullable=False, server_default="1"),
    _text("created_at"),
    _words("created_by"),
    CheckConstraint("kind IN ('mark', 'chassis', 'face', 'other')", name="kind"),
    CheckConstraint("state IN ('proposed', 'stands', 'struck')", name="state"),
    Index("ix_mask_source", "source"),
)

mask_change = Table(
    "mask_change",
    metadata,
    _id(),
    _to("mask"),
    Column("version", Integer, nullable=False),
    _text("at"),
    _words("author"),
    _text("action"),
    _json("before"),
    _json("after"),
    UniqueConstraint("mask_id", "version"),
)

# That the program looked for masks in a picture or a stretch of film, with which networks and rules, and how many of
# each kind it found.
mask_look = Table(
    "mask_look",
    metadata,
    _id(),
    _text("source"),
    Column("start_s", Double, nullable=False),
    Column("end_s", Double, nullable=False),
    _text("finder"),
    Column("looks", Integer, nullable=False),
    _json("found"),
    _text("created_at"),
    UniqueConstraint("source", "start_s", "end_s", "finder"),
)

# A figure read off a picture or a frame: `reading` is what the program read, the rest what stands of it.
figure = Table(
    "figure",
    metadata,
    _id(),
    _text("ref", unique=True),
    _text("source"),
    Column("at_s", Double, nullable=True),
    _text("kind"),
    _text("state"),
    _text("crop"),
    _json("reading"),
    _json("value"),
    _text("unit", null=True),
    _text("part", null=True),
    _text("side", null=True),
    _text("position", null=True),
    _text("fact", null=True),
    Column("version", Integer, nullable=False, server_default="1"),
    _text("created_at"),
    CheckConstraint("state IN ('waits', 'taken', 'aside')", name="state"),
    Index("ix_figure_source", "source"),
)

figure_change = Table(
    "figure_change",
    metadata,
    _id(),
    _to("figure"),
    Column("version", Integer, nullable=False),
    _text("at"),
    _words("author"),
    _text("action"),
    _json("before"),
    _json("after"),
    UniqueConstraint("figure_id", "version"),
)

# That a picture or a frame was read, by a hash of all that the reading depends on, and how much was too unclear.
figure_look = Table(
    "figure_look",
    metadata,
    _id(),
    _text("key", unique=True),
    _text("source"),
    Column("at_s", Double, nullable=True),
    _count("refused"),
    _text("created_at"),
    Index("ix_figure_look_source", "source"),
)

# What people said of the place that a picture taken by hand is of, by the picture's id; the last version holds, and no
# part means that it is of none in particular.
picture_place = Table(
    "picture_place",
    metadata,
    _id(),
    _text("picture"),
    Column("version", Integer, nullable=False),
    _text("part", null=True),
    _text("side", null=True),
    _text("position", null=True),
    _text("at"),
    _words("author"),
    UniqueConstraint("picture", "version"),
)

# What was heard of an engine in a recording; one that a later one replaced is past.
engine_note = Table(
    "engine_note",
    metadata,
    _id(),
    _to("recording"),
    _json("note"),
    _words("cylinders_from"),
    _json("readings"),
    _text("key"),
    _words("author"),
    _text("at"),
    _no("past"),
    Index("ix_engine_note_recording_id", "recording_id", "past"),
)

# What a person decided where statements of a car cannot all be true; the last answer to a case counts, all stay. `mark`
# and `told` are of the statements as they were then, `struck` the ids of what was struck with the answer.
odds_decision = Table(
    "odds_decision",
    metadata,
    _id(),
    _to("car"),
    _text("odds"),
    _text("answer"),
    _text("holds"),
    _words("reason"),
    _text("mark"),
    _json("told"),
    _json("struck"),
    _text("created_at"),
    _words("created_by"),
    CheckConstraint("answer IN ('one holds', 'all hold', 'none holds', 'open again')", name="answer"),
    Index("ix_odds_decision_car_id", "car_id", "odds"),
)

# A sealed file as it was made; `number` is the SHA-256 of its tag manifest, `former` that of the one before it.
sealed_file = Table(
    "sealed_file",
    metadata,
    _id(),
    _to("car"),
    _text("number"),
    _text("former", null=True),
    _text("occasion"),
    _text("edition"),
    _no("originals"),
    _text("fingerprint"),
    _words("folder"),
    Column("files", Integer, nullable=False),
    Column("byte_size", _Whole, nullable=False),
    _no("stamped"),
    _text("created_at"),
    _words("created_by"),
    CheckConstraint("occasion IN ('offered', 'sold')", name="occasion"),
    CheckConstraint("edition IN ('firm', 'buyer')", name="edition"),
    Index("ix_sealed_file_car_id", "car_id"),
)

# A link under which the buyer's page is shown without a login; it ends when told.
share = Table(
    "share",
    metadata,
    _id(),
    _to("car"),
    _text("token", unique=True),
    _text("until", null=True),
    _text("created_at"),
    _words("created_by"),
    _text("ended_at", null=True),
    _words("ended_by", null=True),
    Index("ix_share_car_id", "car_id"),
)

# Words of a car that may not leave: in no table that a car file is read from, so that none can bring them along.
private_words = Table(
    "private_words",
    metadata,
    _id(),
    _to("car"),
    _text("kind"),
    _words("words"),
    _text("created_at"),
    _words("created_by"),
    _text("ended_at", null=True),
    _words("ended_by", null=True),
    CheckConstraint("kind IN ('keeper', 'address', 'place', 'price', 'other')", name="kind"),
    Index("ix_private_words_car_id", "car_id"),
)

# Words that a person accepted in the place of the draft; taken back by a person, and never deleted.
offered_text = Table(
    "offered_text",
    metadata,
    _id(),
    _to("car"),
    _words("words"),
    _words("former"),
    _text("mark"),
    _text("created_at"),
    _words("created_by"),
    _text("ended_at", null=True),
    _words("ended_by", null=True),
    Index("ix_offered_text_car_id", "car_id"),
)

# What strangers asked and the car file could not answer; taken off the list by a person, and never deleted.
question = Table(
    "question",
    metadata,
    _id(),
    _text("ref", unique=True),
    _to("car"),
    _words("words"),
    _text("created_at"),
    _words("created_by"),
    _text("ended_at", null=True),
    _words("ended_by", null=True),
    Index("ix_question_car_id", "car_id"),
)

# A figure from an instrument; `reading` is as it came in, the rest what stands of it.
reading = Table(
    "reading",
    metadata,
    _id(),
    _text("ref", unique=True),
    _to("car"),
    _text("quantity"),
    _text("state"),
    _text("source", null=True),
    _json("reading"),
    Column("version", Integer, nullable=False, server_default="1"),
    _text("created_at"),
    CheckConstraint("state IN ('heard', 'stands', 'struck')", name="state"),
    Index("ix_reading_car_id", "car_id"),
)

reading_change = Table(
    "reading_change",
    metadata,
    _id(),
    _to("reading"),
    Column("version", Integer, nullable=False),
    _text("at"),
    _words("author"),
    _text("action"),
    _json("before"),
    _json("after"),
    UniqueConstraint("reading_id", "version"),
)
