"""Papers: their pages, what was read off them, and each thing that people said of both."""

import sqlalchemy as sa
from alembic import op

revision = "0019"
down_revision = "0018"
branch_labels = None
depends_on = None

WHOLE = sa.BigInteger().with_variant(sa.Integer(), "sqlite")


def upgrade() -> None:
    """Make the tables."""
    op.create_table(
        "paper",
        sa.Column("id", WHOLE, nullable=False),
        sa.Column("ref", sa.Text(), nullable=False),
        sa.Column("car_id", WHOLE, nullable=False),
        sa.Column("original_id", WHOLE, nullable=False),
        sa.Column("form", sa.Text(), nullable=False),
        sa.Column("pages", sa.Integer(), server_default="0", nullable=False),
        sa.Column("kinds", sa.Text(), nullable=False),
        sa.Column("told_pages", sa.Integer(), server_default="0", nullable=False),
        sa.Column("kind", sa.Text(), nullable=True),
        sa.Column("state", sa.Text(), nullable=False),
        sa.Column("covers", sa.Text(), nullable=False),
        sa.Column("out_mark", sa.Text(), nullable=False),
        sa.Column("version", sa.Integer(), server_default="1", nullable=False),
        sa.Column("created_at", sa.Text(), nullable=False),
        sa.Column("created_by", sa.Text(), nullable=False),
        sa.CheckConstraint("state IN ('open', 'same', 'other')", name=op.f("ck_paper_state")),
        sa.ForeignKeyConstraint(["car_id"], ["car.id"], name=op.f("fk_paper_car_id_car")),
        sa.ForeignKeyConstraint(["original_id"], ["original.id"], name=op.f("fk_paper_original_id_original")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_paper")),
        sa.UniqueConstraint("ref", name=op.f("uq_paper_ref")),
        sa.UniqueConstraint("car_id", "original_id", name=op.f("uq_paper_car_id_original_id")),
    )
    _make_changes("paper", owner="paper_id")
    op.create_table(
        "paper_page",
        sa.Column("id", WHOLE, nullable=False),
        sa.Column("paper_id", WHOLE, nullable=False),
        sa.Column("number", sa.Integer(), nullable=False),
        sa.Column("turned", sa.Integer(), nullable=False),
        sa.Column("width", sa.Integer(), server_default="0", nullable=False),
        sa.Column("height", sa.Integer(), server_default="0", nullable=False),
        sa.Column("picture", sa.Text(), nullable=False),
        sa.Column("by_sight", sa.Boolean(), server_default=sa.false(), nullable=False),
        sa.Column("lines", sa.Text(), nullable=False),
        sa.Column("created_at", sa.Text(), nullable=False),
        sa.ForeignKeyConstraint(["paper_id"], ["paper.id"], name=op.f("fk_paper_page_paper_id_paper")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_paper_page")),
        sa.UniqueConstraint("paper_id", "number", name=op.f("uq_paper_page_paper_id_number")),
    )
    op.create_table(
        "paper_read",
        sa.Column("id", WHOLE, nullable=False),
        sa.Column("ref", sa.Text(), nullable=False),
        sa.Column("paper_id", WHOLE, nullable=False),
        sa.Column("reading", sa.Text(), nullable=False),
        sa.Column("kind", sa.Text(), nullable=False),
        sa.Column("role", sa.Text(), nullable=False),
        sa.Column("value", sa.Text(), nullable=False),
        sa.Column("unit", sa.Text(), nullable=False),
        sa.Column("day", sa.Text(), nullable=False),
        sa.Column("state", sa.Text(), nullable=False),
        sa.Column("fact", sa.Text(), nullable=True),
        sa.Column("withdrawn", sa.Boolean(), server_default=sa.false(), nullable=False),
        sa.Column("version", sa.Integer(), server_default="1", nullable=False),
        sa.Column("created_at", sa.Text(), nullable=False),
        sa.CheckConstraint("state IN ('open', 'taken', 'struck')", name=op.f("ck_paper_read_state")),
        sa.ForeignKeyConstraint(["paper_id"], ["paper.id"], name=op.f("fk_paper_read_paper_id_paper")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_paper_read")),
        sa.UniqueConstraint("ref", name=op.f("uq_paper_read_ref")),
    )
    op.create_index("ix_paper_read_paper_id", "paper_read", ["paper_id"], unique=False)
    _make_changes("paper_read", owner="proposal_id")


def _make_changes(of: str, *, owner: str) -> None:
    name = f"{of}_change"
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
