"""Masks over what is covered in what goes out, and what was looked at for them."""

import sqlalchemy as sa
from alembic import op

revision = "0008"
down_revision = "0007"
branch_labels = None
depends_on = None

WHOLE = sa.BigInteger().with_variant(sa.Integer(), "sqlite")


def upgrade() -> None:
    """Make the tables."""
    op.create_table(
        "mask",
        sa.Column("id", WHOLE, nullable=False),
        sa.Column("ref", sa.Text(), nullable=False),
        sa.Column("source", sa.Text(), nullable=False),
        sa.Column("kind", sa.Text(), nullable=False),
        sa.Column("state", sa.Text(), nullable=False),
        sa.Column("sureness", sa.Double(), nullable=True),
        sa.Column("start_s", sa.Double(), nullable=False),
        sa.Column("end_s", sa.Double(), nullable=False),
        sa.Column("way", sa.Text(), nullable=False),
        sa.Column("version", sa.Integer(), server_default="1", nullable=False),
        sa.Column("created_at", sa.Text(), nullable=False),
        sa.Column("created_by", sa.Text(), nullable=False),
        sa.CheckConstraint("kind IN ('mark', 'chassis', 'face', 'other')", name=op.f("ck_mask_kind")),
        sa.CheckConstraint("state IN ('proposed', 'stands', 'struck')", name=op.f("ck_mask_state")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_mask")),
        sa.UniqueConstraint("ref", name=op.f("uq_mask_ref")),
    )
    op.create_index("ix_mask_source", "mask", ["source"], unique=False)
    op.create_table(
        "mask_change",
        sa.Column("id", WHOLE, nullable=False),
        sa.Column("mask_id", WHOLE, nullable=False),
        sa.Column("version", sa.Integer(), nullable=False),
        sa.Column("at", sa.Text(), nullable=False),
        sa.Column("author", sa.Text(), nullable=False),
        sa.Column("action", sa.Text(), nullable=False),
        sa.Column("before", sa.Text(), nullable=False),
        sa.Column("after", sa.Text(), nullable=False),
        sa.ForeignKeyConstraint(["mask_id"], ["mask.id"], name=op.f("fk_mask_change_mask_id_mask")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_mask_change")),
        sa.UniqueConstraint("mask_id", "version", name=op.f("uq_mask_change_mask_id_version")),
    )
    op.create_table(
        "mask_look",
        sa.Column("id", WHOLE, nullable=False),
        sa.Column("source", sa.Text(), nullable=False),
        sa.Column("start_s", sa.Double(), nullable=False),
        sa.Column("end_s", sa.Double(), nullable=False),
        sa.Column("finder", sa.Text(), nullable=False),
        sa.Column("looks", sa.Integer(), nullable=False),
        sa.Column("found", sa.Text(), nullable=False),
        sa.Column("created_at", sa.Text(), nullable=False),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_mask_look")),
        sa.UniqueConstraint(
            "source", "start_s", "end_s", "finder", name=op.f("uq_mask_look_source_start_s_end_s_finder")
        ),
    )
