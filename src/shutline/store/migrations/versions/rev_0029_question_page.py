"""Who put which question onto the buyer's page, and who took it off; of those kept before nobody has said it."""

import sqlalchemy as sa
from alembic import op

revision = "0029"
down_revision = "0028"
branch_labels = None
depends_on = None

WHOLE = sa.BigInteger().with_variant(sa.Integer(), "sqlite")


def upgrade() -> None:
    """Make the table."""
    op.create_table(
        "question_page",
        sa.Column("id", WHOLE, nullable=False),
        sa.Column("question_id", WHOLE, nullable=False),
        sa.Column("shown", sa.Boolean(), server_default=sa.false(), nullable=False),
        sa.Column("created_at", sa.Text(), nullable=False),
        sa.Column("created_by", sa.Text(), nullable=False),
        sa.ForeignKeyConstraint(["question_id"], ["question.id"], name=op.f("fk_question_page_question_id_question")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_question_page")),
    )
    op.create_index("ix_question_page_question_id", "question_page", ["question_id"], unique=False)
