"""Test histories that came in as files."""

import sqlalchemy as sa
from alembic import op

revision = "0017"
down_revision = "0016"
branch_labels = None
depends_on = None

WHOLE = sa.BigInteger().with_variant(sa.Integer(), "sqlite")


def upgrade() -> None:
    """Make the table."""
    op.create_table(
        "test_history",
        sa.Column("id", WHOLE, nullable=False),
        sa.Column("ref", sa.Text(), nullable=False),
        sa.Column("car_id", WHOLE, nullable=False),
        sa.Column("mark", sa.Text(), nullable=False),
        sa.Column("name", sa.Text(), nullable=False),
        sa.Column("record", sa.Text(), nullable=False),
        sa.Column("state", sa.Text(), nullable=False),
        sa.Column("created_at", sa.Text(), nullable=False),
        sa.Column("created_by", sa.Text(), nullable=False),
        sa.Column("decided_at", sa.Text(), nullable=True),
        sa.Column("decided_by", sa.Text(), nullable=True),
        sa.CheckConstraint("state IN ('open', 'same', 'other')", name=op.f("ck_test_history_state")),
        sa.ForeignKeyConstraint(["car_id"], ["car.id"], name=op.f("fk_test_history_car_id_car")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_test_history")),
        sa.UniqueConstraint("ref", name=op.f("uq_test_history_ref")),
    )
    op.create_index("ix_test_history_car_id", "test_history", ["car_id"], unique=False)
