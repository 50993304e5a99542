"""What was entered of a car's past, and each thing that was said of a test history."""

import sqlalchemy as sa
from alembic import op

revision = "0018"
down_revision = "0017"
branch_labels = None
depends_on = None

WHOLE = sa.BigInteger().with_variant(sa.Integer(), "sqlite")


def upgrade() -> None:
    """Make the tables."""
    op.create_table(
        "past",
        sa.Column("id", WHOLE, nullable=False),
        sa.Column("ref", sa.Text(), nullable=False),
        sa.Column("car_id", WHOLE, nullable=False),
        sa.Column("kind", sa.Text(), nullable=False),
        sa.Column("state", sa.Text(), nullable=False),
        sa.Column("entry", sa.Text(), nullable=False),
        sa.Column("version", sa.Integer(), server_default="1", nullable=False),
        sa.Column("created_at", sa.Text(), nullable=False),
        sa.CheckConstraint("state IN ('heard', 'stands', 'struck')", name=op.f("ck_past_state")),
        sa.ForeignKeyConstraint(["car_id"], ["car.id"], name=op.f("fk_past_car_id_car")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_past")),
        sa.UniqueConstraint("ref", name=op.f("uq_past_ref")),
    )
    op.create_index("ix_past_car_id", "past", ["car_id"], unique=False)
    _make_changes("past")
    op.add_column("test_history", sa.Column("version", sa.Integer(), server_default="1", nullable=False))
    _make_changes("test_history")


def _make_changes(of: str) -> None:
    name, owner = f"{of}_change", f"{of}_id"
    op.create_table(
        name,
        sa.Column("id", WHOLE, nullable=False),
        sa.Column(owner, WHOLE, nullable=False),
        sa.Column("version", sa.Integer(), nullable=False),
        sa.Column("at", sa.Text(), nullable=False),
        sa.Column("author", sa.Text(), nullable=False),
        sa.Column("action", sa.Text(), nullable=False),
        sa.Column("before", sa.Text(), nullable=False),
        sa.Column("after", sa.Text(), nullable=False),
        sa.ForeignKeyConstraint([owner], [f"{of}.id"], name=op.f(f"fk_{name}_{owner}_{of}")),
        sa.PrimaryKeyConstraint("id", name=op.f(f"pk_{name}")),
        sa.UniqueConstraint(owner, "version", name=op.f(f"uq_{name}_{owner}_version")),
    )
