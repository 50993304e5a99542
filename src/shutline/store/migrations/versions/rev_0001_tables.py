"""The first tables: cars, originals, recordings, stages, words, findings, facts, their footings and their history."""

import sqlalchemy as sa
from alembic import op

revision = "0001"
down_revision = None
branch_labels = None
depends_on = None

WHOLE = sa.BigInteger().with_variant(sa.Integer(), "sqlite")


def upgrade() -> None:
    """Make the tables."""
    op.create_table(
        "car",
        sa.Column("id", WHOLE, nullable=False),
        sa.Column("name", sa.Text(), nullable=False),
        sa.Column("title", sa.Text(), nullable=False),
        sa.Column("drive", sa.Text(), nullable=False),
        sa.Column("body", sa.Text(), nullable=True),
        sa.Column("doors", sa.Integer(), nullable=True),
        sa.Column("version", sa.Integer(), server_default="1", nullable=False),
        sa.Column("created_at", sa.Text(), nullable=False),
        sa.Column("created_by", sa.Text(), nullable=False),
        sa.Column("changed_at", sa.Text(), nullable=False),
        sa.Column("recording_count", sa.Integer(), server_default="0", nullable=False),
        sa.Column("picture_count", sa.Integer(), server_default="0", nullable=False),
        sa.Column("heard_count", sa.Integer(), server_default="0", nullable=False),
        sa.Column("stands_count", sa.Integer(), server_default="0", nullable=False),
        sa.Column("struck_count", sa.Integer(), server_default="0", nullable=False),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_car")),
        sa.UniqueConstraint("name", name=op.f("uq_car_name")),
    )
    op.create_index("ix_car_changed_at", "car", ["changed_at", "id"], unique=False)
    op.create_index("ix_car_created_at", "car", ["created_at", "id"], unique=False)
    op.create_table(
        "original",
        sa.Column("id", WHOLE, nullable=False),
        sa.Column("sha256", sa.Text(), nullable=False),
        sa.Column("byte_size", WHOLE, nullable=False),
        sa.Column("kind", sa.Text(), nullable=False),
        sa.Column("linked", sa.Boolean(), server_default=sa.false(), nullable=False),
        sa.Column("linked_path", sa.Text(), nullable=True),
        sa.Column("created_at", sa.Text(), nullable=False),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_original")),
        sa.UniqueConstraint("sha256", name=op.f("uq_original_sha256")),
    )
    op.create_table(
        "heard_segment",
        sa.Column("id", WHOLE, nullable=False),
        sa.Column("original_id", WHOLE, nullable=False),
        sa.Column("recogniser", sa.Text(), nullable=False),
        sa.Column("place", sa.Integer(), nullable=False),
        sa.Column("start_s", sa.Double(), nullable=False),
        sa.Column("end_s", sa.Double(), nullable=False),
        sa.Column("text", sa.Text(), nullable=False),
        sa.Column("words", sa.Text(), nullable=False),
        sa.Column("origin", sa.Text(), nullable=False),
        sa.Column("broken_off", sa.Boolean(), server_default=sa.false(), nullable=False),
        sa.ForeignKeyConstraint(["original_id"], ["original.id"], name=op.f("fk_heard_segment_original_id_original")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_heard_segment")),
        sa.UniqueConstraint(
            "original_id", "recogniser", "place", name=op.f("uq_heard_segment_original_id_recogniser_place")
        ),
    )
    op.create_table(
        "original_name",
        sa.Column("id", WHOLE, nullable=False),
        sa.Column("original_id", WHOLE, nullable=False),
        sa.Column("name", sa.Text(), nullable=False),
        sa.Column("created_at", sa.Text(), nullable=False),
        sa.ForeignKeyConstraint(["original_id"], ["original.id"], name=op.f("fk_original_name_original_id_original")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_original_name")),
        sa.UniqueConstraint("original_id", "name", name=op.f("uq_original_name_original_id_name")),
    )
    op.create_table(
        "picture",
        sa.Column("id", WHOLE, nullable=False),
        sa.Column("ref", sa.Text(), nullable=False),
        sa.Column("car_id", WHOLE, nullable=False),
        sa.Column("original_id", WHOLE, nullable=False),
        sa.Column("width", sa.Integer(), nullable=False),
        sa.Column("height", sa.Integer(), nullable=False),
        sa.Column("taken_at", sa.Text(), nullable=True),
        sa.Column("created_at", sa.Text(), nullable=False),
        sa.ForeignKeyConstraint(["car_id"], ["car.id"], name=op.f("fk_picture_car_id_car")),
        sa.ForeignKeyConstraint(["original_id"], ["original.id"], name=op.f("fk_picture_original_id_original")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_picture")),
        sa.UniqueConstraint("car_id", "original_id", name=op.f("uq_picture_car_id_original_id")),
        sa.UniqueConstraint("ref", name=op.f("uq_picture_ref")),
    )
    op.create_table(
        "private_details",
        sa.Column("original_id", WHOLE, autoincrement=False, nullable=False),
        sa.Column("details", sa.Text(), nullable=False),
        sa.ForeignKeyConstraint(["original_id"], ["original.id"], name=op.f("fk_private_details_original_id_original")),
        sa.PrimaryKeyConstraint("original_id", name=op.f("pk_private_details")),
    )
    op.create_table(
        "recording",
        sa.Column("id", WHOLE, nullable=False),
        sa.Column("ref", sa.Text(), nullable=False),
        sa.Column("car_id", WHOLE, nullable=False),
        sa.Column("original_id", WHOLE, nullable=False),
        sa.Column("probe", sa.Text(), nullable=True),
        sa.Column("edition", sa.Integer(), server_default="0", nullable=False),
        sa.Column("complete", sa.Boolean(), server_default=sa.false(), nullable=False),
        sa.Column("created_at", sa.Text(), nullable=False),
        sa.ForeignKeyConstraint(["car_id"], ["car.id"], name=op.f("fk_recording_car_id_car")),
        sa.ForeignKeyConstraint(["original_id"], ["original.id"], name=op.f("fk_recording_original_id_original")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_recording")),
        sa.UniqueConstraint("car_id", "original_id", name=op.f("uq_recording_car_id_original_id")),
        sa.UniqueConstraint("ref", name=op.f("uq_recording_ref")),
    )
    op.create_table(
        "fact",
        sa.Column("id", WHOLE, nullable=False),
        sa.Column("ref", sa.Text(), nullable=False),
        sa.Column("car_id", WHOLE, nullable=False),
        sa.Column("recording_id", WHOLE, nullable=True),
        sa.Column("name", sa.Text(), nullable=False),
        sa.Column("value", sa.Text(), nullable=False),
        sa.Column("unit", sa.Text(), nullable=True),
        sa.Column("state", sa.Text(), nullable=False),
        sa.Column("sureness", sa.Double(), nullable=True),
        sa.Column("withdrawn", sa.Boolean(), server_default=sa.false(), nullable=False),
        sa.Column("touched", sa.Boolean(), server_default=sa.false(), nullable=False),
        sa.Column("version", sa.Integer(), server_default="1", nullable=False),
        sa.Column("created_at", sa.Text(), nullable=False),
        sa.Column("created_by", sa.Text(), nullable=False),
        sa.CheckConstraint("state IN ('heard', 'stands', 'struck')", name=op.f("ck_fact_state")),
        sa.ForeignKeyConstraint(["car_id"], ["car.id"], name=op.f("fk_fact_car_id_car")),
        sa.ForeignKeyConstraint(["recording_id"], ["recording.id"], name=op.f("fk_fact_recording_id_recording")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_fact")),
        sa.UniqueConstraint("ref", name=op.f("uq_fact_ref")),
    )
    op.create_index("ix_fact_car_id", "fact", ["car_id"], unique=False)
    op.create_index("ix_fact_recording_id", "fact", ["recording_id"], unique=False)
    op.create_table(
        "finding",
        sa.Column("id", WHOLE, nullable=False),
        sa.Column("ref", sa.Text(), nullable=False),
        sa.Column("car_id", WHOLE, nullable=False),
        sa.Column("recording_id", WHOLE, nullable=True),
        sa.Column("part", sa.Text(), nullable=False),
        sa.Column("side", sa.Text(), nullable=True),
        sa.Column("position", sa.Text(), nullable=True),
        sa.Column("condition", sa.Text(), nullable=False),
        sa.Column("found", sa.Text(), nullable=False),
        sa.Column("severity", sa.Text(), nullable=True),
        sa.Column("remedy", sa.Text(), nullable=True),
        sa.Column("state", sa.Text(), nullable=False),
        sa.Column("sureness", sa.Double(), nullable=True),
        sa.Column("why", sa.Text(), nullable=False),
        sa.Column("start_s", sa.Double(), nullable=True),
        sa.Column("withdrawn", sa.Boolean(), server_default=sa.false(), nullable=False),
        sa.Column("touched", sa.Boolean(), server_default=sa.false(), nullable=False),
        sa.Column("version", sa.Integer(), server_default="1", nullable=False),
        sa.Column("created_at", sa.Text(), nullable=False),
        sa.Column("created_by", sa.Text(), nullable=False),
        sa.CheckConstraint("found IN ('yes', 'no', 'unsure')", name=op.f("ck_finding_found")),
        sa.CheckConstraint("state IN ('heard', 'stands', 'struck')", name=op.f("ck_finding_state")),
        sa.ForeignKeyConstraint(["car_id"], ["car.id"], name=op.f("fk_finding_car_id_car")),
        sa.ForeignKeyConstraint(["recording_id"], ["recording.id"], name=op.f("fk_finding_recording_id_recording")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_finding")),
        sa.UniqueConstraint("ref", name=op.f("uq_finding_ref")),
    )
    op.create_index("ix_finding_car_id", "finding", ["car_id", "withdrawn", "state"], unique=False)
    op.create_index("ix_finding_part", "finding", ["part", "condition"], unique=False)
    op.create_index("ix_finding_recording_id", "finding", ["recording_id"], unique=False)
    op.create_table(
        "problem",
        sa.Column("id", WHOLE, nullable=False),
        sa.Column("car_id", WHOLE, nullable=False),
        sa.Column("recording_id", WHOLE, nullable=True),
        sa.Column("stage", sa.Text(), nullable=False),
        sa.Column("slug", sa.Text(), nullable=False),
        sa.Column("where", sa.Text(), nullable=False),
        sa.Column("found", sa.Text(), nullable=False),
        sa.Column("allowed", sa.Text(), nullable=False),
        sa.Column("advice", sa.Text(), nullable=False),
        sa.Column("past", sa.Boolean(), server_default=sa.false(), nullable=False),
        sa.Column("created_at", sa.Text(), nullable=False),
        sa.ForeignKeyConstraint(["car_id"], ["car.id"], name=op.f("fk_problem_car_id_car")),
        sa.ForeignKeyConstraint(["recording_id"], ["recording.id"], name=op.f("fk_problem_recording_id_recording")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_problem")),
    )
    op.create_index("ix_problem_car_id", "problem", ["car_id"], unique=False)
    op.create_table(
        "stage",
        sa.Column("id", WHOLE, nullable=False),
        sa.Column("recording_id", WHOLE, nullable=False),
        sa.Column("name", sa.Text(), nullable=False),
        sa.Column("key", sa.Text(), nullable=False),
        sa.Column("state", sa.Text(), nullable=False),
        sa.Column("progress", sa.Text(), nullable=False),
        sa.Column("started_at", sa.Text(), nullable=False),
        sa.Column("changed_at", sa.Text(), nullable=False),
        sa.Column("finished_at", sa.Text(), nullable=True),
        sa.CheckConstraint("state IN ('started', 'done', 'superseded')", name=op.f("ck_stage_state")),
        sa.ForeignKeyConstraint(["recording_id"], ["recording.id"], name=op.f("fk_stage_recording_id_recording")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_stage")),
        sa.UniqueConstraint("recording_id", "name", "key", name=op.f("uq_stage_recording_id_name_key")),
    )
    op.create_table(
        "still",
        sa.Column("id", WHOLE, nullable=False),
        sa.Column("recording_id", WHOLE, nullable=False),
        sa.Column("at_s", sa.Double(), nullable=False),
        sa.Column("sha256", sa.Text(), nullable=False),
        sa.Column("width", sa.Integer(), nullable=False),
        sa.Column("height", sa.Integer(), nullable=False),
        sa.Column("sharpness", sa.Double(), nullable=False),
        sa.Column("steadiness", sa.Double(), nullable=False),
        sa.ForeignKeyConstraint(["recording_id"], ["recording.id"], name=op.f("fk_still_recording_id_recording")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_still")),
        sa.UniqueConstraint("recording_id", "sha256", "at_s", name=op.f("uq_still_recording_id_sha256_at_s")),
    )
    op.create_table(
        "stretch",
        sa.Column("id", WHOLE, nullable=False),
        sa.Column("recording_id", WHOLE, nullable=False),
        sa.Column("edition", sa.Integer(), nullable=False),
        sa.Column("place", sa.Integer(), nullable=False),
        sa.Column("start_s", sa.Double(), nullable=False),
        sa.Column("end_s", sa.Double(), nullable=False),
        sa.Column("text", sa.Text(), nullable=False),
        sa.Column("words", sa.Text(), nullable=False),
        sa.Column("origin", sa.Text(), nullable=False),
        sa.ForeignKeyConstraint(["recording_id"], ["recording.id"], name=op.f("fk_stretch_recording_id_recording")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_stretch")),
        sa.UniqueConstraint("recording_id", "edition", "place", name=op.f("uq_stretch_recording_id_edition_place")),
    )
    op.create_table(
        "change",
        sa.Column("id", WHOLE, nullable=False),
        sa.Column("car_id", WHOLE, nullable=False),
        sa.Column("finding_id", WHOLE, nullable=True),
        sa.Column("fact_id", WHOLE, nullable=True),
        sa.Column("version", sa.Integer(), nullable=False),
        sa.Column("at", sa.Text(), nullable=False),
        sa.Column("author", sa.Text(), nullable=False),
        sa.Column("action", sa.Text(), nullable=False),
        sa.Column("before", sa.Text(), nullable=False),
        sa.Column("after", sa.Text(), nullable=False),
        sa.Column("undoes", WHOLE, nullable=True),
        sa.CheckConstraint("finding_id IS NULL OR fact_id IS NULL", name=op.f("ck_change_of_one")),
        sa.ForeignKeyConstraint(["car_id"], ["car.id"], name=op.f("fk_change_car_id_car")),
        sa.ForeignKeyConstraint(["fact_id"], ["fact.id"], name=op.f("fk_change_fact_id_fact")),
        sa.ForeignKeyConstraint(["finding_id"], ["finding.id"], name=op.f("fk_change_finding_id_finding")),
        sa.ForeignKeyConstraint(["undoes"], ["change.id"], name=op.f("fk_change_undoes_change")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_change")),
        sa.UniqueConstraint("fact_id", "version", name=op.f("uq_change_fact_id_version")),
        sa.UniqueConstraint("finding_id", "version", name=op.f("uq_change_finding_id_version")),
    )
    op.create_index("ix_change_car_id", "change", ["car_id", "id"], unique=False)
    op.create_table(
        "finding_still",
        sa.Column("id", WHOLE, nullable=False),
        sa.Column("finding_id", WHOLE, nullable=False),
        sa.Column("still_id", WHOLE, nullable=False),
        sa.Column("place", sa.Integer(), nullable=False),
        sa.Column("chosen_by", sa.Text(), nullable=False),
        sa.Column("chosen_at", sa.Text(), nullable=False),
        sa.Column("put_aside", sa.Boolean(), server_default=sa.false(), nullable=False),
        sa.ForeignKeyConstraint(["finding_id"], ["finding.id"], name=op.f("fk_finding_still_finding_id_finding")),
        sa.ForeignKeyConstraint(["still_id"], ["still.id"], name=op.f("fk_finding_still_still_id_still")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_finding_still")),
    )
    op.create_index("ix_finding_still_finding_id", "finding_still", ["finding_id"], unique=False)
    op.create_table(
        "footing",
        sa.Column("id", WHOLE, nullable=False),
        sa.Column("finding_id", WHOLE, nullable=True),
        sa.Column("fact_id", WHOLE, nullable=True),
        sa.Column("place", sa.Integer(), nullable=False),
        sa.Column("kind", sa.Text(), nullable=False),
        sa.Column("source", sa.Text(), nullable=False),
        sa.Column("start_s", sa.Double(), nullable=True),
        sa.Column("end_s", sa.Double(), nullable=True),
        sa.Column("quote", sa.Text(), nullable=False),
        sa.Column("rules", sa.Text(), nullable=False),
        sa.Column("until_version", sa.Integer(), nullable=True),
        sa.CheckConstraint("(finding_id IS NULL) <> (fact_id IS NULL)", name=op.f("ck_footing_of_one")),
        sa.ForeignKeyConstraint(["fact_id"], ["fact.id"], name=op.f("fk_footing_fact_id_fact")),
        sa.ForeignKeyConstraint(["finding_id"], ["finding.id"], name=op.f("fk_footing_finding_id_finding")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_footing")),
    )
    op.create_index("ix_footing_fact_id", "footing", ["fact_id"], unique=False)
    op.create_index("ix_footing_finding_id", "footing", ["finding_id"], unique=False)
