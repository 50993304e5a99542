"""The rate of tax that an invoice shows, with its entry in the ledger."""

import sqlalchemy as sa
from alembic import op

revision = "0022"
down_revision = "0021"
branch_labels = None
depends_on = None


def upgrade() -> None:
    """Add the column."""
    op.add_column("ledger_entry", sa.Column("rate", sa.Text(), nullable=True))
