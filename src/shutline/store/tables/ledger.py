"""The tables of the ledger: entries, and answers about cars of stock; rows are added, none is changed."""

from __future__ import annotations

from sqlalchemy import CheckConstraint, Column, Index, Integer, Table

from shutline.store.tables.shape import (
    count_column,
    link_column,
    metadata,
    no_column,
    number_column,
    text_column,
    words_column,
)

ledger_entry = Table(
    "ledger_entry",
    metadata,
    number_column(),
    Column("number", Integer, nullable=False, unique=True),
    text_column("kind"),
    text_column("day"),
    Column("stock", Integer, nullable=False),
    text_column("currency"),
    # Amounts are text: neither engine has a decimal number that the other one keeps alike.
    text_column("amount"),
    text_column("vat", null=True),
    words_column("party"),
    words_column("address"),
    words_column("vat_number"),
    words_column("paper"),
    no_column("self_billed"),
    words_column("what"),
    count_column("against"),
    no_column("outside"),
    link_column("car", null=True),
    text_column("created_at"),
    words_column("created_by"),
    text_column("rate", null=True),
    CheckConstraint("number > 0", name="number"),
    CheckConstraint("stock > 0", name="stock"),
    Index("ix_ledger_entry_car_id", "car_id"),
    Index("ix_ledger_entry_day", "day"),
    Index("ix_ledger_entry_stock", "stock"),
    Index("ix_ledger_entry_against", "against"),
)

ledger_answer = Table(
    "ledger_answer",
    metadata,
    number_column(),
    Column("stock", Integer, nullable=False),
    text_column("question"),
    text_column("said"),
    words_column("note"),
    text_column("created_at"),
    words_column("created_by"),
    CheckConstraint("said IN ('yes', 'no', 'not known')", name="said"),
    Index("ix_ledger_answer_stock", "stock"),
)
