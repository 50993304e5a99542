"""What was ticked off of the preparation."""

import sqlalchemy as sa
from alembic import op

revision = "0025"
down_revision = "0024"
branch_labels = None
depends_on = None

WHOLE = sa.BigInteger().with_variant(sa.Integer(), "sqlite")


def upgrade() -> None:
    """Make the tables."""
    op.create_table(
        "prep_done",
        sa.Column("id", WHOLE, nullable=False),
        sa.Column("ref", sa.Text(), nullable=False),
        sa.Column("car_id", WHOLE, nullable=False),
        sa.Column("task", sa.Text(), nullable=False),
        sa.Column("job", sa.Text(), nullable=False),
        sa.Column("words", sa.Text(), nullable=False),
        sa.Column("remedy", sa.Text(), nullable=False),
        sa.Column("findings", sa.Text(), nullable=False),
        sa.Column("trade", sa.Text(), nullable=False),
        sa.Column("needs", sa.Text(), nullable=False),
        sa.Column("hours", sa.Text(), nullable=True),
        sa.Column("setup_hours", sa.Text(), nullable=True),
        sa.Column("places", sa.Integer(), nullable=False),
        sa.Column("picture", sa.Text(), nullable=False),
        sa.Column("found", sa.Text(), nullable=False),
        sa.Column("done_on", sa.Text(), nullable=False),
        sa.Column("holds", sa.Boolean(), server_default=sa.false(), nullable=False),
        sa.Column("token", sa.Text(), nullable=False),
        sa.Column("version", sa.Integer(), server_default="1", nullable=False),
        sa.Column("created_at", sa.Text(), nullable=False),
        sa.ForeignKeyConstraint(["car_id"], ["car.id"], name=op.f("fk_prep_done_car_id_car")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_prep_done")),
        sa.UniqueConstraint("ref", name=op.f("uq_prep_done_ref")),
    )
    op.create_index("ix_prep_done_car_id", "prep_done", ["car_id"], unique=False)
    op.create_table(
        "prep_done_change",
        sa.Column("id", WHOLE, nullable=False),
        sa.Column("prep_done_id", WHOLE, nullable=False),
        sa.Column("version", sa.Integer(), nullable=False),
        sa.Column("at", sa.Text(), nullable=False),
        sa.Column("author", sa.Text(), nullable=False),
        sa.Column("action", sa.Text(), nullable=False),
        sa.Column("before", sa.Text(), nullable=False),
        sa.Column("after", sa.Text(), nullable=False),
        sa.ForeignKeyConstraint(
            ["prep_done_id"], ["prep_done.id"], name=op.f("fk_prep_done_change_prep_done_id_prep_done")
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_prep_done_change")),
        sa.UniqueConstraint("prep_done_id", "version", name=op.f("uq_prep_done_change_prep_done_id_version")),
    )
