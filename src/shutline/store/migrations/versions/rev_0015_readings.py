"""Readings of instruments."""

import sqlalchemy as sa
from alembic import op

revision = "0015"
down_revision = "0014"
branch_labels = None
depends_on = None

WHOLE = sa.BigInteger().with_variant(sa.Integer(), "sqlite")


def upgrade() -> None:
    """Make the tables."""
    op.create_table(
        "reading",
        sa.Column("id", WHOLE, nullable=False),
        sa.Column("ref", sa.Text(), nullable=False),
        sa.Column("car_id", WHOLE, nullable=False),
        sa.Column("quantity", sa.Text(), nullable=False),
        sa.Column("state", sa.Text(), nullable=False),
        sa.Column("source", sa.Text(), nullable=True),
        sa.Column("reading", sa.Text(), nullable=False),
        sa.Column("version", sa.Integer(), server_default="1", nullable=False),
        sa.Column("created_at", sa.Text(), nullable=False),
        sa.CheckConstraint("state IN ('heard', 'stands', 'struck')", name=op.f("ck_reading_state")),
        sa.ForeignKeyConstraint(["car_id"], ["car.id"], name=op.f("fk_reading_car_id_car")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_reading")),
        sa.UniqueConstraint("ref", name=op.f("uq_reading_ref")),
    )
    op.create_index("ix_reading_car_id", "reading", ["car_id"], unique=False)
    op.create_table(
        "reading_change",
        sa.Column("id", WHOLE, nullable=False),
        sa.Column("reading_id", WHOLE, nullable=False),
        sa.Column("version", sa.Integer(), nullable=False),
        sa.Column("at", sa.Text(), nullable=False),
        sa.Column("author", sa.Text(), nullable=False),
        sa.Column("action", sa.Text(), nullable=False),
        sa.Column("before", sa.Text(), nullable=False),
        sa.Column("after", sa.Text(), nullable=False),
        sa.ForeignKeyConstraint(["reading_id"], ["reading.id"], name=op.f("fk_reading_change_reading_id_reading")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_reading_change")),
        sa.UniqueConstraint("reading_id", "version", name=op.f("uq_reading_change_reading_id_version")),
    )
