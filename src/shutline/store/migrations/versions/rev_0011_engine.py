"""What was heard of engines, each note with who asked for it and when."""

import sqlalchemy as sa
from alembic import op

revision = "0011"
down_revision = "0010"
branch_labels = None
depends_on = None

WHOLE = sa.BigInteger().with_variant(sa.Integer(), "sqlite")


def upgrade() -> None:
    """Make the table."""
    op.create_table(
        "engine_note",
        sa.Column("id", WHOLE, nullable=False),
        sa.Column("recording_id", WHOLE, nullable=False),
        sa.Column("note", sa.Text(), nullable=False),
        sa.Column("cylinders_from", sa.Text(), nullable=False),
        sa.Column("readings", sa.Text(), nullable=False),
        sa.Column("key", sa.Text(), nullable=False),
        sa.Column("author", sa.Text(), nullable=False),
        sa.Column("at", sa.Text(), nullable=False),
        sa.Column("past", sa.Boolean(), server_default=sa.false(), nullable=False),
        sa.ForeignKeyConstraint(["recording_id"], ["recording.id"], name=op.f("fk_engine_note_recording_id_recording")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_engine_note")),
    )
    op.create_index("ix_engine_note_recording_id", "engine_note", ["recording_id", "past"], unique=False)
