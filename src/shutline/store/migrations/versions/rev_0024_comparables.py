"""Comparables, the files they came from, and which column of them is what."""

import sqlalchemy as sa
from alembic import op

revision = "0024"
down_revision = "0023"
branch_labels = None
depends_on = None

WHOLE = sa.BigInteger().with_variant(sa.Integer(), "sqlite")


def upgrade() -> None:
    """Make the tables."""
    op.create_table(
        "comparable_file",
        sa.Column("id", WHOLE, nullable=False),
        sa.Column("ref", sa.Text(), nullable=False),
        sa.Column("name", sa.Text(), nullable=False),
        sa.Column("sha256", sa.Text(), nullable=False),
        sa.Column("columns", sa.Text(), nullable=False),
        sa.Column("apart", sa.Text(), nullable=False),
        sa.Column("created_at", sa.Text(), nullable=False),
        sa.Column("created_by", sa.Text(), nullable=False),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_comparable_file")),
        sa.UniqueConstraint("ref", name=op.f("uq_comparable_file_ref")),
    )
    op.create_table(
        "comparable",
        sa.Column("id", WHOLE, nullable=False),
        sa.Column("ref", sa.Text(), nullable=False),
        sa.Column("came_as", sa.Text(), nullable=False),
        sa.Column("came_saying", sa.Text(), nullable=False),
        sa.Column("says", sa.Text(), nullable=False),
        sa.Column("day", sa.Text(), nullable=False),
        sa.Column("price", sa.Text(), nullable=False),
        sa.Column("currency", sa.Text(), nullable=False),
        sa.Column("sold", sa.Boolean(), server_default=sa.false(), nullable=False),
        sa.Column("car", sa.Text(), nullable=False),
        sa.Column("attributes", sa.Text(), nullable=False),
        sa.Column("mileage", sa.Double(), nullable=True),
        sa.Column("unit", sa.Text(), nullable=False),
        sa.Column("condition", sa.Text(), nullable=False),
        sa.Column("place", sa.Text(), nullable=False),
        sa.Column("days", sa.Integer(), nullable=True),
        sa.Column("source", sa.Text(), nullable=False),
        sa.Column("came_from", sa.Text(), nullable=False),
        sa.Column("comparable_file_id", WHOLE, nullable=True),
        sa.Column("sale", sa.Integer(), nullable=True),
        sa.Column("holds", sa.Boolean(), nullable=False),
        sa.Column("version", sa.Integer(), server_default="1", nullable=False),
        sa.Column("created_at", sa.Text(), nullable=False),
        sa.Column("created_by", sa.Text(), nullable=False),
        sa.ForeignKeyConstraint(
            ["comparable_file_id"],
            ["comparable_file.id"],
            name=op.f("fk_comparable_comparable_file_id_comparable_file"),
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_comparable")),
        sa.UniqueConstraint("ref", name=op.f("uq_comparable_ref")),
        sa.UniqueConstraint("sale", name=op.f("uq_comparable_sale")),
    )
    op.create_index("ix_comparable_came_as", "comparable", ["came_as"], unique=False)
    op.create_index("ix_comparable_came_saying", "comparable", ["came_saying"], unique=False)
    op.create_index("ix_comparable_says", "comparable", ["says"], unique=False)
    _changes("comparable")
    op.create_table(
        "comparable_map",
        sa.Column("id", WHOLE, nullable=False),
        sa.Column("ref", sa.Text(), nullable=False),
        sa.Column("headings", sa.Text(), nullable=False),
        sa.Column("columns", sa.Text(), nullable=False),
        sa.Column("version", sa.Integer(), server_default="1", nullable=False),
        sa.Column("created_at", sa.Text(), nullable=False),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_comparable_map")),
        sa.UniqueConstraint("ref", name=op.f("uq_comparable_map_ref")),
    )
    _changes("comparable_map")


def _changes(name: str) -> None:
    """Make the table of the changes of another."""
    table, link = f"{name}_change", f"{name}_id"
    op.create_table(
        table,
        sa.Column("id", WHOLE, nullable=False),
        sa.Column(link, WHOLE, nullable=False),
        sa.Column("version", sa.Integer(), nullable=False),
        sa.Column("at", sa.Text(), nullable=False),
        sa.Column("author", sa.Text(), nullable=False),
        sa.Column("action", sa.Text(), nullable=False),
        sa.Column("before", sa.Text(), nullable=False),
        sa.Column("after", sa.Text(), nullable=False),
        sa.ForeignKeyConstraint([link], [f"{name}.id"], name=op.f(f"fk_{table}_{link}_{name}")),
        sa.PrimaryKeyConstraint("id", name=op.f(f"pk_{table}")),
        sa.UniqueConstraint(link, "version", name=op.f(f"uq_{table}_{link}_version")),
    )
