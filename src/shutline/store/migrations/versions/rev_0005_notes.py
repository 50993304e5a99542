"""Notes made at the car, each with the place it was made at."""

import sqlalchemy as sa
from alembic import op

revision = "0005"
down_revision = "0004"
branch_labels = None
depends_on = None

WHOLE = sa.BigInteger().with_variant(sa.Integer(), "sqlite")


def upgrade() -> None:
    """Make the table."""
    op.create_table(
        "note",
        sa.Column("id", WHOLE, nullable=False),
        sa.Column("ref", sa.Text(), nullable=False),
        sa.Column("car_id", WHOLE, nullable=False),
        sa.Column("part", sa.Text(), nullable=False),
        sa.Column("side", sa.Text(), nullable=True),
        sa.Column("position", sa.Text(), nullable=True),
        sa.Column("kind", sa.Text(), nullable=False),
        sa.Column("source", sa.Text(), nullable=False),
        sa.Column("words", sa.Text(), nullable=False),
        sa.Column("at", sa.Text(), nullable=False),
        sa.Column("created_at", sa.Text(), nullable=False),
        sa.Column("created_by", sa.Text(), nullable=False),
        sa.CheckConstraint("kind IN ('picture', 'spoken', 'typed')", name=op.f("ck_note_kind")),
        sa.ForeignKeyConstraint(["car_id"], ["car.id"], name=op.f("fk_note_car_id_car")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_note")),
        sa.UniqueConstraint("ref", name=op.f("uq_note_ref")),
    )
    op.create_index("ix_note_car_id", "note", ["car_id"], unique=False)
    op.create_index("ix_note_source", "note", ["source"], unique=False)
