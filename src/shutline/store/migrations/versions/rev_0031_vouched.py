"""Words of an accepted text that nothing reads are kept with it: whoever accepted it answers for them."""

import sqlalchemy as sa
from alembic import op

revision = "0031"
down_revision = "0030"
branch_labels = None
depends_on = None


def upgrade() -> None:
    """Add the column; of texts accepted before nobody was asked."""
    op.add_column("offered_text", sa.Column("vouched", sa.Text(), server_default="[]", nullable=False))
