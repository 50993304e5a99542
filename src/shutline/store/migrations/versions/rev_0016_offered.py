"""Words that were accepted in the place of the draft."""

import sqlalchemy as sa
from alembic import op

revision = "0016"
down_revision = "0015"
branch_labels = None
depends_on = None

WHOLE = sa.BigInteger().with_variant(sa.Integer(), "sqlite")


def upgrade() -> None:
    """Make the table."""
    op.create_table(
        "offered_text",
        sa.Column("id", WHOLE, nullable=False),
        sa.Column("car_id", WHOLE, nullable=False),
        sa.Column("words", sa.Text(), nullable=False),
        sa.Column("former", sa.Text(), nullable=False),
        sa.Column("mark", sa.Text(), nullable=False),
        sa.Column("created_at", sa.Text(), nullable=False),
        sa.Column("created_by", sa.Text(), nullable=False),
        sa.Column("ended_at", sa.Text(), nullable=True),
        sa.Column("ended_by", sa.Text(), nullable=True),
        sa.ForeignKeyConstraint(["car_id"], ["car.id"], name=op.f("fk_offered_text_car_id_car")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_offered_text")),
    )
    op.create_index("ix_offered_text_car_id", "offered_text", ["car_id"], unique=False)
