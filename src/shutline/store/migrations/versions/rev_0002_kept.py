"""Nothing is deleted: the engine itself refuses to lose a finding, a fact, a change or an original.

A change is also never rewritten, and an original keeps its bytes' name, size and history.
"""

from alembic import op

revision = "0002"
down_revision = "0001"
branch_labels = None
depends_on = None

KEPT = ("car", "original", "original_name", "recording", "picture", "finding", "fact", "footing", "change", "stretch")
FIXED = (("change", ""), ("original", " OF sha256, byte_size"))


def upgrade() -> None:
    """Make the triggers, in the words of the engine that is there."""
    if op.get_bind().dialect.name == "sqlite":
        for table in KEPT:
            op.execute(
                f"CREATE TRIGGER {table}_is_kept BEFORE DELETE ON {table} BEGIN "  # noqa: S608
                f"SELECT RAISE(ABORT, 'nothing is deleted from {table}'); END"
            )
        for table, columns in FIXED:
            op.execute(
                f"CREATE TRIGGER {table}_is_fixed BEFORE UPDATE{columns} ON {table} "
                f"BEGIN SELECT RAISE(ABORT, 'a row of {table} is never rewritten'); END"
            )
        return
    op.execute(
        "CREATE FUNCTION shutline_refuse() RETURNS trigger LANGUAGE plpgsql AS "
        "$$ BEGIN RAISE EXCEPTION 'nothing is deleted from or rewritten in %', TG_TABLE_NAME; END $$"
    )
    for table in KEPT:
        op.execute(
            f"CREATE TRIGGER {table}_is_kept BEFORE DELETE ON {table} FOR EACH ROW EXECUTE FUNCTION shutline_refuse()"
        )
    for table, columns in FIXED:
        op.execute(
            f"CREATE TRIGGER {table}_is_fixed BEFORE UPDATE{columns} ON {table} "
            "FOR EACH ROW EXECUTE FUNCTION shutline_refuse()"
        )
