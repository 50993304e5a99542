"""What people decided about the preparation of a car: one decision for each thing, changed with who and when."""

from __future__ import annotations

from dataclasses import replace

from sqlalchemy import Connection, RowMapping, select

from shutline.car.changes import Change
from shutline.car.prep_decisions import PrepDecision, PrepKind
from shutline.store import tables
from shutline.store.base import Base, under
from shutline.store.decisions import check_person
from shutline.store.rows import Plain, digest
from shutline.store.versions import Versions


class PrepDecisions(Base):
    """The part of the store that keeps decisions about preparation."""

    def decide_prep(
        self,
        car: str,
        kind: PrepKind,
        about: str = "",
        *,
        author: str,
        words: str = "",
        pence: int | None = None,
        holds: bool = True,
        expected_version: int | None = None,
    ) -> PrepDecision:
        """Keep a decision; one about the same is changed, with what stood before.

        Parameters
        ----------
        car : str
            The car's whole name.
        kind, about, words, pence, holds
            As `PrepDecision` has them.
        author : str
            Who decided.
        expected_version : int, optional
            Refuse it when the decision is at another version.

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
            kept = next(
                (one for one in _rows(connection, row["id"]) if (one["kind"], one["about"]) == (kind, about)), None
            )
            values: Plain = {"words": words, "pence": pence, "holds": holds}
            at = self._db.now()
            if kept is not None:
                return _DECISIONS.change(
                    connection,
                    kept,
                    lambda present: replace(present, words=words, pence=pence, holds=holds),
                    author=author,
                    action="decided" if holds else "taken back",
                    at=at,
                    expected_version=expected_version,
                )[0]
            ref = digest("prep", row["name"], kind, about)
            new = {"ref": ref, "car_id": row["id"], "kind": kind.value, "about": about, **values}
            _DECISIONS.enter(connection, new, values, author=author, action="decided", at=at)
            return _DECISIONS.one(connection, ref)

    def prep_decisions(self, car: str) -> tuple[PrepDecision, ...]:
        """Give the decisions about a car and those joined with it, in the order in which they were first made.

        About the same thing the first car's counts. Raises NotFoundError where there is no such car.
        """
        with self._db.read() as connection:
            return _DECISIONS.kept(connection, _rows(connection, self._car(connection, car)["id"]))


def _rows(connection: Connection, car_id: int) -> list[RowMapping]:
    cars = list(under(connection, car_id))
    table = tables.prep_decision
    found: dict[tuple[str, str], RowMapping] = {}
    rows = connection.execute(select(table).where(table.c.car_id.in_(cars))).mappings()
    for row in sorted(rows, key=lambda row: (cars.index(row["car_id"]), row["id"])):
        found.setdefault((row["kind"], row["about"]), row)
    return sorted(found.values(), key=lambda row: row["id"])


def _record(row: RowMapping, changes: tuple[Change, ...]) -> PrepDecision:
    return PrepDecision(
        id=row["ref"],
        kind=PrepKind(row["kind"]),
        about=row["about"],
        words=row["words"],
        pence=row["pence"],
        holds=row["holds"],
        version=row["version"],
        changes=changes,
    )


_DECISIONS: Versions[PrepDecision] = Versions(
    name="prep_decision",
    table=tables.prep_decision,
    changes=tables.prep_decision_change,
    record=_record,
    columns=lambda kept: {"words": kept.words, "pence": kept.pence, "holds": kept.holds},
    slug="prep-decision-unknown",
    advice="Show the preparation of the car: shutline prep CAR.",
)
