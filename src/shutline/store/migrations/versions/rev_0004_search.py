"""The words of each car in one text, with an index to search them by."""

import sqlalchemy as sa
from alembic import op

revision = "0004"
down_revision = "0003"
branch_labels = None
depends_on = None

WHOLE = sa.BigInteger().with_variant(sa.Integer(), "sqlite")

_ADD = "INSERT INTO car_search(rowid, words) VALUES (new.car_id, new.words);"
_DROP = "INSERT INTO car_search(car_search, rowid, words) VALUES ('delete', old.car_id, old.words);"

SQLITE = (
    # No places of words are kept: words said a hundred times of each car would take ten times as long to go through.
    """CREATE VIRTUAL TABLE car_search USING fts5(
        words, content='car_words', content_rowid='car_id', detail=none,
        tokenize='unicode61 remove_diacritics 2', prefix='2 3')""",
    f"CREATE TRIGGER car_words_after_insert AFTER INSERT ON car_words BEGIN {_ADD} END",
    f"CREATE TRIGGER car_words_after_delete AFTER DELETE ON car_words BEGIN {_DROP} END",
    f"CREATE TRIGGER car_words_after_update AFTER UPDATE ON car_words BEGIN {_DROP} {_ADD} END",
)
POSTGRESQL = ("CREATE INDEX ix_car_words_words ON car_words USING gin (to_tsvector('simple', words))",)


def upgrade() -> None:
    """Make the table and its index."""
    op.create_table(
        "car_words",
        sa.Column("car_id", WHOLE, autoincrement=False, nullable=False),
        sa.Column("as_of", sa.Text(), nullable=False),
        sa.Column("words", sa.Text(), nullable=False),
        sa.ForeignKeyConstraint(["car_id"], ["car.id"], name=op.f("fk_car_words_car_id_car")),
        sa.PrimaryKeyConstraint("car_id", name=op.f("pk_car_words")),
    )
    for statement in SQLITE if op.get_bind().dialect.name == "sqlite" else POSTGRESQL:
        op.execute(statement)
