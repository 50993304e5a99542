"""What a second reader answered, and how it stands beside the findings."""

import sqlalchemy as sa
from alembic import op

revision = "0003"
down_revision = "0002"
branch_labels = None
depends_on = None

WHOLE = sa.BigInteger().with_variant(sa.Integer(), "sqlite")


def upgrade() -> None:
    """Make the tables."""
    op.create_table(
        "second_answer",
        sa.Column("id", WHOLE, nullable=False),
        sa.Column("key", sa.Text(), nullable=False),
        sa.Column("service", sa.Text(), nullable=False),
        sa.Column("model", sa.Text(), nullable=False),
        sa.Column("answer", sa.Text(), nullable=False),
        sa.Column("created_at", sa.Text(), nullable=False),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_second_answer")),
        sa.UniqueConstraint("key", name=op.f("uq_second_answer_key")),
    )
    op.create_index("ix_second_answer_service", "second_answer", ["service"], unique=False)
    op.create_table(
        "second_reading",
        sa.Column("id", WHOLE, nullable=False),
        sa.Column("recording_id", WHOLE, nullable=False),
        sa.Column("service", sa.Text(), nullable=False),
        sa.Column("model", sa.Text(), nullable=False),
        sa.Column("words", sa.Text(), nullable=False),
        sa.Column("pieces", sa.Integer(), nullable=False),
        sa.Column("answered", sa.Integer(), nullable=False),
        sa.Column("proposals", sa.Text(), nullable=False),
        sa.Column("spans", sa.Text(), nullable=False),
        sa.Column("set_aside", sa.Text(), nullable=False),
        sa.Column("views", sa.Text(), nullable=False),
        sa.Column("past", sa.Boolean(), server_default=sa.false(), nullable=False),
        sa.Column("asked_at", sa.Text(), nullable=False),
        sa.ForeignKeyConstraint(
            ["recording_id"], ["recording.id"], name=op.f("fk_second_reading_recording_id_recording")
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_second_reading")),
    )
    op.create_index("ix_second_reading_recording_id", "second_reading", ["recording_id"], unique=False)
