"""At how many places a task is to be done, with what was ticked off of it."""

import sqlalchemy as sa
from alembic import op

revision = "0028"
down_revision = "0027"
branch_labels = None
depends_on = None


def upgrade() -> None:
    """Add the column."""
    op.add_column("prep_done", sa.Column("of_places", sa.Integer(), server_default="1", nullable=False))
