"""What people said of a car that its price is worked out with."""

import sqlalchemy as sa
from alembic import op

revision = "0026"
down_revision = "0025"
branch_labels = None
depends_on = None

WHOLE = sa.BigInteger().with_variant(sa.Integer(), "sqlite")


def upgrade() -> None:
    """Make the tables."""
    op.create_table(
        "price_said",
        sa.Column("id", WHOLE, nullable=False),
        sa.Column("ref", sa.Text(), nullable=False),
        sa.Column("car_id", WHOLE, nullable=False),
        sa.Column("attributes", sa.Text(), nullable=False),
        sa.Column("figures", sa.Text(), nullable=False),
        sa.Column("version", sa.Integer(), server_default="1", nullable=False),
        sa.Column("created_at", sa.Text(), nullable=False),
        sa.ForeignKeyConstraint(["car_id"], ["car.id"], name=op.f("fk_price_said_car_id_car")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_price_said")),
        sa.UniqueConstraint("ref", name=op.f("uq_price_said_ref")),
    )
    op.create_index("ix_price_said_car_id", "price_said", ["car_id"], unique=False)
    op.create_table(
        "price_said_change",
        sa.Column("id", WHOLE, nullable=False),
        sa.Column("price_said_id", WHOLE, nullable=False),
        sa.Column("version", sa.Integer(), nullable=False),
        sa.Column("at", sa.Text(), nullable=False),
        sa.Column("author", sa.Text(), nullable=False),
        sa.Column("action", sa.Text(), nullable=False),
        sa.Column("before", sa.Text(), nullable=False),
        sa.Column("after", sa.Text(), nullable=False),
        sa.ForeignKeyConstraint(
            ["price_said_id"], ["price_said.id"], name=op.f("fk_price_said_change_price_said_id_price_said")
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_price_said_change")),
        sa.UniqueConstraint("price_said_id", "version", name=op.f("uq_price_said_change_price_said_id_version")),
    )
