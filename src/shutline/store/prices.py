"""What people said of a car that its price is worked out with: one record for each car, changed with who and when."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from typing import Any

from sqlalchemy import Connection, RowMapping, select

from shutline.car.changes import Change
from shutline.car.price_said import Figures, PriceSaid
from shutline.store import tables
from shutline.store.base import Base, under
from shutline.store.decisions import check_person
from shutline.store.rows import digest
from shutline.store.versions import Versions


class Prices(Base):
    """The part of the store that keeps what people said of the price of a car."""

    def say_price(
        self,
        car: str,
        *,
        attributes: Mapping[str, str | None],
        figures: Mapping[str, float | str | None],
        author: str,
        expected_version: int | None = None,
    ) -> PriceSaid:
        """Keep what was said; what is not named stays as it is, and None takes back what was said.

        Parameters
        ----------
        car : str
            The car's whole name.
        attributes, figures
            As `PriceSaid` has them.
        author : str
            Who said it.
        expected_version : int, optional
            Refuse it when the record is at another version; 0 where there was none.

        Raises
        ------
        NotFoundError
            The store holds no such car (slug ``car-unknown``).
        StaleError
            Somebody changed it since `expected_version`.
        """
        check_person(author)
        with self._db.write() as connection:
            row = self._car(connection, car, lock=True)
            kept = _row(connection, row["id"])
            at = self._db.now()
            if kept is None:
                new = PriceSaid("", _laid({}, attributes), _laid({}, figures))
                ref = digest("price", row["name"])
                values = {"ref": ref, "car_id": row["id"], **_columns(new)}
                _SAID.enter(connection, values, _columns(new), author=author, action="said", at=at)
                return _SAID.one(connection, ref)
            return _SAID.change(
                connection,
                kept,
                lambda present: replace(
                    present,
                    attributes=_laid(present.attributes, attributes),
                    figures=_laid(present.figures, figures),
                ),
                author=author,
                action="said",
                at=at,
                expected_version=expected_version,
            )[0]

    def price_said(self, car: str) -> PriceSaid | None:
        """Give what was said of a car, or else of one that is joined with it; None where nothing was.

        Raises NotFoundError where there is no such car.
        """
        with self._db.read() as connection:
            row = _row(connection, self._car(connection, car)["id"])
            return None if row is None else _SAID.kept(connection, [row])[0]


def _row(connection: Connection, car_id: int) -> RowMapping | None:
    cars = list(under(connection, car_id))
    table = tables.price_said
    rows = connection.execute(select(table).where(table.c.car_id.in_(cars))).mappings()
    return min(rows, key=lambda row: cars.index(row["car_id"]), default=None)


def _laid(before: Mapping[str, Any], given: Mapping[str, Any]) -> dict[str, Any]:
    return {name: value for name, value in sorted({**before, **given}.items()) if value is not None}


def _columns(kept: PriceSaid) -> dict[str, Mapping[str, str] | Figures]:
    return {"attributes": kept.attributes, "figures": kept.figures}


def _record(row: RowMapping, changes: tuple[Change, ...]) -> PriceSaid:
    return PriceSaid(row["ref"], row["attributes"], row["figures"], row["version"], changes)


_SAID: Versions[PriceSaid] = Versions(
    name="price_said",
    table=tables.price_said,
    changes=tables.price_said_change,
    record=_record,
    columns=_columns,
    slug="price-said-unknown",
    advice="Show the price of the car: shutline price CAR.",
)
