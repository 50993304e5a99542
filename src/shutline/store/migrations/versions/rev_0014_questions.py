"""Questions that had no answer."""

import sqlalchemy as sa
from alembic import op

revision = "0014"
down_revision = "0013"
branch_labels = None
depends_on = None

WHOLE = sa.BigInteger().with_variant(sa.Integer(), "sqlite")


def upgrade() -> None:
    """Make the table."""
    op.create_table(
        "question",
        sa.Column("id", WHOLE, nullable=False),
        sa.Column("ref", sa.Text(), nullable=False),
        sa.Column("car_id", WHOLE, nullable=False),
        sa.Column("words", sa.Text(), nullable=False),
        sa.Column("created_at", sa.Text(), nullable=False),
        sa.Column("created_by", sa.Text(), nullable=False),
        sa.Column("ended_at", sa.Text(), nullable=True),
        sa.Column("ended_by", sa.Text(), nullable=True),
        sa.ForeignKeyConstraint(["car_id"], ["car.id"], name=op.f("fk_question_car_id_car")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_question")),
        sa.UniqueConstraint("ref", name=op.f("uq_question_ref")),
    )
    op.create_index("ix_question_car_id", "question", ["car_id"], unique=False)
