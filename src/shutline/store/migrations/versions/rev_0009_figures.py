"""Figures read off pictures, what people made of them, and what was looked at for them."""

import sqlalchemy as sa
from alembic import op

revision = "0009"
down_revision = "0008"
branch_labels = None
depends_on = None

WHOLE = sa.BigInteger().with_variant(sa.Integer(), "sqlite")


def upgrade() -> None:
    """Make the tables."""
    op.create_table(
        "figure",
        sa.Column("id", WHOLE, nullable=False),
        sa.Column("ref", sa.Text(), nullable=False),
        sa.Column("source", sa.Text(), nullable=False),
        sa.Column("at_s", sa.Double(), nullable=True),
        sa.Column("kind", sa.Text(), nullable=False),
        sa.Column("state", sa.Text(), nullable=False),
        sa.Column("crop", sa.Text(), nullable=False),
        sa.Column("reading", sa.Text(), nullable=False),
        sa.Column("value", sa.Text(), nullable=False),
        sa.Column("unit", sa.Text(), nullable=True),
        sa.Column("part", sa.Text(), nullable=True),
        sa.Column("side", sa.Text(), nullable=True),
        sa.Column("position", sa.Text(), nullable=True),
        sa.Column("fact", sa.Text(), nullable=True),
        sa.Column("version", sa.Integer(), server_default="1", nullable=False),
        sa.Column("created_at", sa.Text(), nullable=False),
        sa.CheckConstraint("state IN ('waits', 'taken', 'aside')", name=op.f("ck_figure_state")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_figure")),
        sa.UniqueConstraint("ref", name=op.f("uq_figure_ref")),
    )
    op.create_index("ix_figure_source", "figure", ["source"], unique=False)
    op.create_table(
        "figure_change",
        sa.Column("id", WHOLE, nullable=False),
        sa.Column("figure_id", WHOLE, nullable=False),
        sa.Column("version", sa.Integer(), nullable=False),
        sa.Column("at", sa.Text(), nullable=False),
        sa.Column("author", sa.Text(), nullable=False),
        sa.Column("action", sa.Text(), nullable=False),
        sa.Column("before", sa.Text(), nullable=False),
        sa.Column("after", sa.Text(), nullable=False),
        sa.ForeignKeyConstraint(["figure_id"], ["figure.id"], name=op.f("fk_figure_change_figure_id_figure")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_figure_change")),
        sa.UniqueConstraint("figure_id", "version", name=op.f("uq_figure_change_figure_id_version")),
    )
    op.create_table(
        "figure_look",
        sa.Column("id", WHOLE, nullable=False),
        sa.Column("key", sa.Text(), nullable=False),
        sa.Column("source", sa.Text(), nullable=False),
        sa.Column("at_s", sa.Double(), nullable=True),
        sa.Column("refused", sa.Integer(), server_default="0", nullable=False),
        sa.Column("created_at", sa.Text(), nullable=False),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_figure_look")),
        sa.UniqueConstraint("key", name=op.f("uq_figure_look_key")),
    )
    op.create_index("ix_figure_look_source", "figure_look", ["source"], unique=False)
