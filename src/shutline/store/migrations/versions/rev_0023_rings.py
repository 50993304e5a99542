"""Rings: where on a still or a picture a finding is."""

import sqlalchemy as sa
from alembic import op

revision = "0023"
down_revision = "0022"
branch_labels = None
depends_on = None

WHOLE = sa.BigInteger().with_variant(sa.Integer(), "sqlite")


def upgrade() -> None:
    """Make the tables."""
    op.create_table(
        "ring",
        sa.Column("id", WHOLE, nullable=False),
        sa.Column("ref", sa.Text(), nullable=False),
        sa.Column("finding", sa.Text(), nullable=False),
        sa.Column("picture", sa.Text(), nullable=False),
        sa.Column("x", sa.Double(), nullable=False),
        sa.Column("y", sa.Double(), nullable=False),
        sa.Column("radius", sa.Double(), nullable=False),
        sa.Column("holds", sa.Boolean(), server_default=sa.false(), nullable=False),
        sa.Column("version", sa.Integer(), server_default="1", nullable=False),
        sa.Column("created_at", sa.Text(), nullable=False),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_ring")),
        sa.UniqueConstraint("ref", name=op.f("uq_ring_ref")),
    )
    op.create_index("ix_ring_finding", "ring", ["finding"], unique=False)
    op.create_table(
        "ring_change",
        sa.Column("id", WHOLE, nullable=False),
        sa.Column("ring_id", WHOLE, nullable=False),
        sa.Column("version", sa.Integer(), nullable=False),
        sa.Column("at", sa.Text(), nullable=False),
        sa.Column("author", sa.Text(), nullable=False),
        sa.Column("action", sa.Text(), nullable=False),
        sa.Column("before", sa.Text(), nullable=False),
        sa.Column("after", sa.Text(), nullable=False),
        sa.ForeignKeyConstraint(["ring_id"], ["ring.id"], name=op.f("fk_ring_change_ring_id_ring")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_ring_change")),
        sa.UniqueConstraint("ring_id", "version", name=op.f("uq_ring_change_ring_id_version")),
    )
