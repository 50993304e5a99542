"""Words that are taken for somebody's name and are none may be kept beside those that may not leave."""

from alembic import op

revision = "0030"
down_revision = "0029"
branch_labels = None
depends_on = None

KINDS = "kind IN ('keeper', 'address', 'place', 'price', 'other', 'no-name')"
NAME = "ck_private_words_kind"


def upgrade() -> None:
    """Allow one kind more."""
    with op.batch_alter_table("private_words") as table:
        table.drop_constraint(op.f(NAME), type_="check")
        table.create_check_constraint(op.f(NAME), KINDS)
