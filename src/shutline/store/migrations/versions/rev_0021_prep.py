"""What people decided about preparation."""

import sqlalchemy as sa
from alembic import op

revision = "0021"
down_revision = "0020"
branch_labels = None
depends_on = None

WHOLE = sa.BigInteger().with_variant(sa.Integer(), "sqlite")


def upgrade() -> None:
    """Make the tables."""
    op.create_table(
        "prep_decision",
        sa.Column("id", WHOLE, nullable=False),
        sa.Column("ref", sa.Text(), nullable=False),
        sa.Column("car_id", WHOLE, nullable=False),
        sa.Column("kind", sa.Text(), nullable=False),
        sa.Column("about", sa.Text(), nullable=False),
        sa.Column("words", sa.Text(), nullable=False),
        sa.Column("pence", WHOLE, nullable=True),
        sa.Column("holds", sa.Boolean(), server_default=sa.false(), nullable=False),
        sa.Column("version", sa.Integer(), server_default="1", nullable=False),
        sa.Column("created_at", sa.Text(), nullable=False),
        sa.CheckConstraint("kind IN ('refused', 'promised', 'budget', 'asking')", name=op.f("ck_prep_decision_kind")),
        sa.ForeignKeyConstraint(["car_id"], ["car.id"], name=op.f("fk_prep_decision_car_id_car")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_prep_decision")),
        sa.UniqueConstraint("ref", name=op.f("uq_prep_decision_ref")),
    )
    op.create_index("ix_prep_decision_car_id", "prep_decision", ["car_id"], unique=False)
    op.create_table(
        "prep_decision_change",
        sa.Column("id", WHOLE, nullable=False),
        sa.Column("prep_decision_id", WHOLE, nullable=False),
        sa.Column("version", sa.Integer(), nullable=False),
        sa.Column("at", sa.Text(), nullable=False),
        sa.Column("author", sa.Text(), nullable=False),
        sa.Column("action", sa.Text(), nullable=False),
        sa.Column("before", sa.Text(), nullable=False),
        sa.Column("after", sa.Text(), nullable=False),
        sa.ForeignKeyConstraint(
            ["prep_decision_id"],
            ["prep_decision.id"],
            name=op.f("fk_prep_decision_change_prep_decision_id_prep_decision"),
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_prep_decision_change")),
        sa.UniqueConstraint(
            "prep_decision_id", "version", name=op.f("uq_prep_decision_change_prep_decision_id_version")
        ),
    )
