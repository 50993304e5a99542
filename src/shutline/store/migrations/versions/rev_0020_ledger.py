"""The ledger: entries, and answers about cars of stock."""

import sqlalchemy as sa
from alembic import op

revision = "0020"
down_revision = "0019"
branch_labels = None
depends_on = None

WHOLE = sa.BigInteger().with_variant(sa.Integer(), "sqlite")


def upgrade() -> None:
    """Make the tables."""
    op.create_table(
        "ledger_entry",
        sa.Column("id", WHOLE, nullable=False),
        sa.Column("number", sa.Integer(), nullable=False),
        sa.Column("kind", sa.Text(), nullable=False),
        sa.Column("day", sa.Text(), nullable=False),
        sa.Column("stock", sa.Integer(), nullable=False),
        sa.Column("currency", sa.Text(), nullable=False),
        sa.Column("amount", sa.Text(), nullable=False),
        sa.Column("vat", sa.Text(), nullable=True),
        sa.Column("party", sa.Text(), nullable=False),
        sa.Column("address", sa.Text(), nullable=False),
        sa.Column("vat_number", sa.Text(), nullable=False),
        sa.Column("paper", sa.Text(), nullable=False),
        sa.Column("self_billed", sa.Boolean(), server_default=sa.false(), nullable=False),
        sa.Column("what", sa.Text(), nullable=False),
        sa.Column("against", sa.Integer(), server_default="0", nullable=False),
        sa.Column("outside", sa.Boolean(), server_default=sa.false(), nullable=False),
        sa.Column("car_id", WHOLE, nullable=True),
        sa.Column("created_at", sa.Text(), nullable=False),
        sa.Column("created_by", sa.Text(), nullable=False),
        sa.CheckConstraint("number > 0", name=op.f("ck_ledger_entry_number")),
        sa.CheckConstraint("stock > 0", name=op.f("ck_ledger_entry_stock")),
        sa.ForeignKeyConstraint(["car_id"], ["car.id"], name=op.f("fk_ledger_entry_car_id_car")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_ledger_entry")),
        sa.UniqueConstraint("number", name=op.f("uq_ledger_entry_number")),
    )
    op.create_index("ix_ledger_entry_car_id", "ledger_entry", ["car_id"], unique=False)
    op.create_table(
        "ledger_answer",
        sa.Column("id", WHOLE, nullable=False),
        sa.Column("stock", sa.Integer(), nullable=False),
        sa.Column("question", sa.Text(), nullable=False),
        sa.Column("said", sa.Text(), nullable=False),
        sa.Column("note", sa.Text(), nullable=False),
        sa.Column("created_at", sa.Text(), nullable=False),
        sa.Column("created_by", sa.Text(), nullable=False),
        sa.CheckConstraint("said IN ('yes', 'no', 'not known')", name=op.f("ck_ledger_answer_said")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_ledger_answer")),
    )
