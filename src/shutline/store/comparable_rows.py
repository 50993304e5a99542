"""Comparables become rows, and rows become the same comparables again."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from decimal import Decimal

import msgspec
from sqlalchemy import RowMapping

from shutline.car.changes import Change
from shutline.car.comparables import Apart, Comparable, ComparableFile, KeptComparable, Mileage, Unit
from shutline.store.rows import Plain, digest

_UNITS = {one.value: one for one in Unit}


def says_of(comparable: Comparable) -> str:
    """Give a digest of all that a comparable says, wherever it stood."""
    return digest(*replace(comparable, price=comparable.price.normalize()).key())


def plain_of(comparable: Comparable, *, holds: bool) -> Plain:
    """Give what a comparable says as it is kept in its changes."""
    values: Plain = msgspec.to_builtins(comparable)
    del values["line"]
    return {**values, "price": f"{comparable.price:f}", "holds": holds}


def stored_of(comparable: Comparable, *, holds: bool) -> Plain:
    """Give the columns of what it says."""
    mileage = comparable.mileage
    return {
        "says": says_of(comparable),
        "day": comparable.when.isoformat(),
        "price": f"{comparable.price:f}",
        "currency": comparable.currency,
        "sold": comparable.sold,
        "car": comparable.car,
        "attributes": dict(comparable.attributes),
        "mileage": None if mileage is None else mileage.value,
        "unit": Unit.MILES.value if mileage is None else mileage.unit.value,
        "condition": comparable.condition,
        "place": comparable.where,
        "days": comparable.days,
        "source": comparable.source,
        "came_from": comparable.line,
        "holds": holds,
    }


def comparable_of(row: RowMapping) -> Comparable:
    """Give the comparable that a row holds."""
    mileage = row["mileage"]
    return Comparable(
        when=date.fromisoformat(row["day"]),
        price=Decimal(row["price"]),
        currency=row["currency"],
        sold=row["sold"],
        car=row["car"],
        attributes=row["attributes"],
        mileage=None if mileage is None else Mileage(mileage, _UNITS[row["unit"]]),
        condition=row["condition"],
        where=row["place"],
        days=row["days"],
        source=row["source"],
        line=row["came_from"],
    )


def kept_of(row: RowMapping, changes: tuple[Change, ...]) -> KeptComparable:
    """Give the record that a row and its changes hold."""
    return KeptComparable(
        id=row["ref"],
        comparable=comparable_of(row),
        holds=row["holds"],
        sale=row["sale"],
        kept_at=row["created_at"],
        kept_by=row["created_by"],
        version=row["version"],
        changes=changes,
    )


def file_of(row: RowMapping) -> ComparableFile:
    """Give the file that a row holds."""
    return ComparableFile(
        id=row["ref"],
        name=row["name"],
        sha256=row["sha256"],
        columns=row["columns"],
        apart=tuple(Apart(**one) for one in row["apart"]),
        at=row["created_at"],
        author=row["created_by"],
    )
