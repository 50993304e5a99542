"""Indexes of the ledger by day, by car of stock, and by the entry that another is about."""

from alembic import op

revision = "0027"
down_revision = "0026"
branch_labels = None
depends_on = None


def upgrade() -> None:
    """Make the indexes."""
    for column in ("day", "stock", "against"):
        op.create_index(f"ix_ledger_entry_{column}", "ledger_entry", [column], unique=False)
    op.create_index("ix_ledger_answer_stock", "ledger_answer", ["stock"], unique=False)
