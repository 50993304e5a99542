"""Sealed files, share links, and words that may not leave."""

import sqlalchemy as sa
from alembic import op

revision = "0013"
down_revision = "0012"
branch_labels = None
depends_on = None

WHOLE = sa.BigInteger().with_variant(sa.Integer(), "sqlite")


def upgrade() -> None:
    """Make the tables."""
    op.create_table(
        "sealed_file",
        sa.Column("id", WHOLE, nullable=False),
        sa.Column("car_id", WHOLE, nullable=False),
        sa.Column("number", sa.Text(), nullable=False),
        sa.Column("former", sa.Text(), nullable=True),
        sa.Column("occasion", sa.Text(), nullable=False),
        sa.Column("edition", sa.Text(), nullable=False),
        sa.Column("originals", sa.Boolean(), server_default=sa.false(), nullable=False),
        sa.Column("fingerprint", sa.Text(), nullable=False),
        sa.Column("folder", sa.Text(), nullable=False),
        sa.Column("files", sa.Integer(), nullable=False),
        sa.Column("byte_size", WHOLE, nullable=False),
        sa.Column("stamped", sa.Boolean(), server_default=sa.false(), nullable=False),
        sa.Column("created_at", sa.Text(), nullable=False),
        sa.Column("created_by", sa.Text(), nullable=False),
        sa.CheckConstraint("occasion IN ('offered', 'sold')", name=op.f("ck_sealed_file_occasion")),
        sa.CheckConstraint("edition IN ('firm', 'buyer')", name=op.f("ck_sealed_file_edition")),
        sa.ForeignKeyConstraint(["car_id"], ["car.id"], name=op.f("fk_sealed_file_car_id_car")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_sealed_file")),
    )
    op.create_index("ix_sealed_file_car_id", "sealed_file", ["car_id"], unique=False)
    op.create_table(
        "share",
        sa.Column("id", WHOLE, nullable=False),
        sa.Column("car_id", WHOLE, nullable=False),
        sa.Column("token", sa.Text(), nullable=False),
        sa.Column("until", sa.Text(), nullable=True),
        sa.Column("created_at", sa.Text(), nullable=False),
        sa.Column("created_by", sa.Text(), nullable=False),
        sa.Column("ended_at", sa.Text(), nullable=True),
        sa.Column("ended_by", sa.Text(), nullable=True),
        sa.ForeignKeyConstraint(["car_id"], ["car.id"], name=op.f("fk_share_car_id_car")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_share")),
        sa.UniqueConstraint("token", name=op.f("uq_share_token")),
    )
    op.create_index("ix_share_car_id", "share", ["car_id"], unique=False)
    op.create_table(
        "private_words",
        sa.Column("id", WHOLE, nullable=False),
        sa.Column("car_id", WHOLE, nullable=False),
        sa.Column("kind", sa.Text(), nullable=False),
        sa.Column("words", sa.Text(), nullable=False),
        sa.Column("created_at", sa.Text(), nullable=False),
        sa.Column("created_by", sa.Text(), nullable=False),
        sa.Column("ended_at", sa.Text(), nullable=True),
        sa.Column("ended_by", sa.Text(), nullable=True),
        sa.CheckConstraint(
            "kind IN ('keeper', 'address', 'place', 'price', 'other')", name=op.f("ck_private_words_kind")
        ),
        sa.ForeignKeyConstraint(["car_id"], ["car.id"], name=op.f("fk_private_words_car_id_car")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_private_words")),
    )
    op.create_index("ix_private_words_car_id", "private_words", ["car_id"], unique=False)
