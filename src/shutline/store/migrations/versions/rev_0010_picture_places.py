"""Which part of the car a picture taken by hand is of, and who said so."""

import sqlalchemy as sa
from alembic import op

revision = "0010"
down_revision = "0009"
branch_labels = None
depends_on = None

WHOLE = sa.BigInteger().with_variant(sa.Integer(), "sqlite")


def upgrade() -> None:
    """Make the table."""
    op.create_table(
        "picture_place",
        sa.Column("id", WHOLE, nullable=False),
        sa.Column("picture", sa.Text(), nullable=False),
        sa.Column("version", sa.Integer(), nullable=False),
        sa.Column("part", sa.Text(), nullable=True),
        sa.Column("side", sa.Text(), nullable=True),
        sa.Column("position", sa.Text(), nullable=True),
        sa.Column("at", sa.Text(), nullable=False),
        sa.Column("author", sa.Text(), nullable=False),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_picture_place")),
        sa.UniqueConstraint("picture", "version", name=op.f("uq_picture_place_picture_version")),
    )
