"""The shape that all tables share: how their keys are named, and what kinds of columns they have."""

from __future__ import annotations

from typing import Any

from sqlalchemy import (
    BigInteger,
    Boolean,
    Column,
    ForeignKey,
    Integer,
    MetaData,
    Text,
    false,
)

from shutline.store.columns import Json, Spoken, Verbatim

metadata = MetaData(
    naming_convention={
        "ix": "ix_%(table_name)s_%(column_0_N_name)s",
        "uq": "uq_%(table_name)s_%(column_0_N_name)s",
        "ck": "ck_%(table_name)s_%(constraint_name)s",
        "fk": "fk_%(table_name)s_%(column_0_name)s_%(referred_table_name)s",
        "pk": "pk_%(table_name)s",
    }
)

Whole = BigInteger().with_variant(Integer, "sqlite")


def number_column() -> Column[int]:
    """Give the number that a row is known by inside the database."""
    return Column("id", Whole, primary_key=True)


def link_column(table: str, *, null: bool = False) -> Column[int]:
    """Give a column that names a row of another table."""
    return Column(f"{table}_id", Whole, ForeignKey(f"{table}.id"), nullable=null)


def text_column(name: str, *, null: bool = False, unique: bool = False) -> Column[str]:
    """Give a column of text of our own: names, kinds, times."""
    return Column(name, Text, nullable=null, unique=unique)


def words_column(name: str, *, null: bool = False) -> Column[str]:
    """Give a column of words of others, kept exactly as they came."""
    return Column(name, Verbatim, nullable=null)


def spoken_column(name: str) -> Column[Any]:
    """Give a column of words with their times."""
    return Column(name, Spoken, nullable=False)


def json_column(name: str, *, null: bool = False) -> Column[Any]:
    """Give a column of values as JSON."""
    return Column(name, Json, nullable=null)


def no_column(name: str) -> Column[bool]:
    """Give a column that tells whether, and says no until it is told."""
    return Column(name, Boolean, nullable=False, server_default=false())


def count_column(name: str) -> Column[int]:
    """Give a column that counts, from 0."""
    return Column(name, Integer, nullable=False, server_default="0")
