"""Indexes for the yard: the earliest finding of a car, and which cars' words are behind."""

from alembic import op

revision = "0006"
down_revision = "0005"
branch_labels = None
depends_on = None


def upgrade() -> None:
    """Make the indexes."""
    op.create_index("ix_finding_start_s", "finding", ["car_id", "withdrawn", "start_s"], unique=False)
    op.create_index("ix_car_words_as_of", "car_words", ["car_id", "as_of"], unique=False)
