"""Answers of people where statements of a car cannot all be true."""

import sqlalchemy as sa
from alembic import op

revision = "0012"
down_revision = "0011"
branch_labels = None
depends_on = None

WHOLE = sa.BigInteger().with_variant(sa.Integer(), "sqlite")


def upgrade() -> None:
    """Make the table."""
    op.create_table(
        "odds_decision",
        sa.Column("id", WHOLE, nullable=False),
        sa.Column("car_id", WHOLE, nullable=False),
        sa.Column("odds", sa.Text(), nullable=False),
        sa.Column("answer", sa.Text(), nullable=False),
        sa.Column("holds", sa.Text(), nullable=False),
        sa.Column("reason", sa.Text(), nullable=False),
        sa.Column("mark", sa.Text(), nullable=False),
        sa.Column("told", sa.Text(), nullable=False),
        sa.Column("struck", sa.Text(), nullable=False),
        sa.Column("created_at", sa.Text(), nullable=False),
        sa.Column("created_by", sa.Text(), nullable=False),
        sa.CheckConstraint(
            "answer IN ('one holds', 'all hold', 'none holds', 'open again')", name=op.f("ck_odds_decision_answer")
        ),
        sa.ForeignKeyConstraint(["car_id"], ["car.id"], name=op.f("fk_odds_decision_car_id_car")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_odds_decision")),
    )
    op.create_index("ix_odds_decision_car_id", "odds_decision", ["car_id", "odds"], unique=False)
