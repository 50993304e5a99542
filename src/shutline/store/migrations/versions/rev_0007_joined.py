"""Cars that are set aside or joined with another, the recordings that both have, and how many facts are open."""

import sqlalchemy as sa
from alembic import op

revision = "0007"
down_revision = "0006"
branch_labels = None
depends_on = None


def upgrade() -> None:
    """Add the columns, count the facts, and make the indexes."""
    for name in ("heard_fact_count", "stands_fact_count"):
        op.add_column("car", sa.Column(name, sa.Integer(), server_default="0", nullable=False))
    op.add_column("car", sa.Column("set_aside", sa.Boolean(), server_default=sa.false(), nullable=False))
    op.add_column("car", sa.Column("joined_to", sa.Text(), nullable=True))
    for table in ("recording", "picture"):
        op.add_column(table, sa.Column("twin_of", sa.Text(), nullable=True))
    _count_facts()
    op.create_index("ix_car_joined_to", "car", ["joined_to"], unique=False)
    op.create_index("ix_car_set_aside", "car", ["set_aside", "joined_to", "created_at", "id"], unique=False)


def _count_facts() -> None:
    car = sa.table("car", sa.column("id"), sa.column("heard_fact_count"), sa.column("stands_fact_count"))
    fact = sa.table(
        "fact", sa.column("car_id"), sa.column("name"), sa.column("state"), sa.column("withdrawn", sa.Boolean)
    )
    other = fact.alias()
    here = (fact.c.car_id == car.c.id, fact.c.withdrawn.is_(sa.false()))
    open_too = sa.exists().where(
        other.c.car_id == fact.c.car_id,
        other.c.name == fact.c.name,
        other.c.withdrawn.is_(sa.false()),
        other.c.state == "heard",
    )
    named = sa.select(sa.func.count(sa.distinct(fact.c.name)))
    heard = named.where(*here, fact.c.state == "heard").scalar_subquery()
    stands = named.where(*here, fact.c.state == "stands", ~open_too).scalar_subquery()
    op.execute(car.update().values(heard_fact_count=heard, stands_fact_count=stands))
