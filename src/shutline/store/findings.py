"""Findings and facts: drawn by the program as often as it likes, and decided by people, who have the last word."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import TypedDict, Unpack

from sqlalchemy import Connection

from shutline.car.carfile import KeptFact, KeptFinding
from shutline.car.findings import Fact, Finding, Footing, Found, Position, Remedy, Severity, Side, State
from shutline.car.recordings import Still
from shutline.store.base import PROGRAM, Base, under
from shutline.store.decisions import Action, Drawn, add, check_person, decide, expect, last_decisions, put, undo
from shutline.store.joins import owner
from shutline.store.rows import plain
from shutline.store.statements import (
    FACT,
    FINDING,
    Kept,
    S,
    Sort,
    check,
    kept_fact,
    kept_finding,
    load_one,
    write_change,
)
from shutline.store.stills import chosen_by, named_stills, set_stills


class FindingFields(TypedDict, total=False):
    """What a person may amend of a finding."""

    part: str
    condition: str
    found: Found
    side: Side | None
    position: Position | None
    severity: Severity | None
    remedy: Remedy | None
    footings: tuple[Footing, ...]
    why: tuple[str, ...]


class FactFields(TypedDict, total=False):
    """What a person may amend of a fact."""

    value: int | float | str | bool
    unit: str | None
    footings: tuple[Footing, ...]


class Findings(Base):
    """The part of the store that keeps what was found."""

    def put_findings(self, recording: str, findings: Sequence[Finding]) -> Drawn:
        """Keep what the program drew from a recording: all of it, each time.

        The same words again change nothing. A finding that is drawn no more is withdrawn, which is kept and left out
        of the car file; one that a person has ever confirmed, amended or struck is not touched at all.

        Parameters
        ----------
        recording : str
            Id of the recording; it becomes the source of each *said* footing that names none.
        findings : sequence of Finding
            All that was drawn, state heard.

        Raises
        ------
        UserError
            One names a part or condition outside the vocabulary.
        ValueError
            One is not in state heard, or has a number that is none.
        """
        return self._put(FINDING, recording, findings)

    def put_facts(self, recording: str, facts: Sequence[Fact]) -> Drawn:
        """Keep the facts the program drew from a recording, as `put_findings` does; two values of one are both kept."""
        return self._put(FACT, recording, facts)

    def add_finding(self, car: str, finding: Finding, *, author: str, token: str | None = None) -> KeptFinding:
        """Keep a finding that a person entered: it stands, and has no sureness.

        Parameters
        ----------
        car : str
            The car's whole name.
        finding : Finding
            What was entered.
        author : str
            Who entered it.
        token : str, optional
            The same token again adds nothing, so that a message sent twice counts once.
        """
        with self._db.write() as connection:
            return kept_finding(self._add(connection, FINDING, car, finding, author=author, token=token))

    def add_fact(self, car: str, fact: Fact, *, author: str, token: str | None = None) -> KeptFact:
        """Keep a fact that a person entered, as `add_finding` does."""
        with self._db.write() as connection:
            return kept_fact(self._add(connection, FACT, car, fact, author=author, token=token))

    def finding(self, finding_id: str) -> KeptFinding:
        """Give a finding by its id, withdrawn or not; raises NotFoundError when there is none."""
        with self._db.read() as connection:
            return kept_finding(load_one(connection, FINDING, finding_id))

    def fact(self, fact_id: str) -> KeptFact:
        """Give a fact by its id, withdrawn or not; raises NotFoundError when there is none."""
        with self._db.read() as connection:
            return kept_fact(load_one(connection, FACT, fact_id))

    def change_finding(
        self,
        finding_id: str,
        *,
        action: Action,
        author: str,
        expected_version: int,
        **fields: Unpack[FindingFields],
    ) -> KeptFinding:
        """Do what a person decided about a finding; what stood before is kept.

        Parameters
        ----------
        finding_id : str
            Which finding.
        action : {'confirm', 'strike', 'amend', 'restore'}
            Confirm and amend make it stand; restore gives a struck one the state it had before. What is so already
            is no change.
        author : str
            Who decided.
        expected_version : int
            The version the person had before them.
        **fields
            With amend only: the new values; those left out stay.

        Raises
        ------
        StaleError
            Somebody changed it since; nothing was done.
        NotFoundError
            There is no such finding.
        UserError
            A value is not one of the vocabulary, or there is nothing to restore.
        """
        with self._db.write() as connection:
            kept = load_one(connection, FINDING, finding_id, lock=True)
            expect(FINDING, kept, expected_version, wanted=fields, record=kept_finding)
            kept = decide(connection, FINDING, kept, action=action, author=author, fields=fields, at=self._db.now())
            self._count(connection, kept.row["car_id"])
            return kept_finding(kept)

    def change_fact(
        self, fact_id: str, *, action: Action, author: str, expected_version: int, **fields: Unpack[FactFields]
    ) -> KeptFact:
        """Do what a person decided about a fact, as `change_finding` does."""
        with self._db.write() as connection:
            kept = load_one(connection, FACT, fact_id, lock=True)
            expect(FACT, kept, expected_version, wanted=fields, record=kept_fact)
            kept = decide(connection, FACT, kept, action=action, author=author, fields=fields, at=self._db.now())
            self._count(connection, kept.row["car_id"])
            return kept_fact(kept)

    def undo_finding(self, finding_id: str, *, author: str, expected_version: int) -> KeptFinding:
        """Take back the last change a person made to a finding, by a new change; again takes back the one before it.

        A finding that a person entered and that has no change left to take back is struck.

        Raises
        ------
        StaleError
            Somebody changed it since `expected_version`.
        UserError
            There is nothing to take back (slug ``nothing-to-undo``).
        """
        with self._db.write() as connection:
            kept = load_one(connection, FINDING, finding_id, lock=True)
            expect(FINDING, kept, expected_version, wanted={}, record=kept_finding)
            kept = undo(connection, FINDING, kept, author=author, at=self._db.now())
            self._count(connection, kept.row["car_id"])
            return kept_finding(kept)

    def undo_fact(self, fact_id: str, *, author: str, expected_version: int) -> KeptFact:
        """Take back the last change a person made to a fact, as `undo_finding` does."""
        with self._db.write() as connection:
            kept = load_one(connection, FACT, fact_id, lock=True)
            expect(FACT, kept, expected_version, wanted={}, record=kept_fact)
            kept = undo(connection, FACT, kept, author=author, at=self._db.now())
            self._count(connection, kept.row["car_id"])
            return kept_fact(kept)

    def decisions_of(self, car: str, author: str) -> dict[str, str]:
        """Give the findings and facts of a car of which the last decision not taken back is a person's, and when.

        Parameters
        ----------
        car : str
            The car's whole name.
        author : str
            The person.

        Returns
        -------
        dict of str to str
            The time of that decision, ISO 8601, by the id of the finding or fact.
        """
        with self._db.read() as connection:
            cars = list(under(connection, self._car(connection, car)["id"]))
            return {
                **last_decisions(connection, FINDING, cars, author),
                **last_decisions(connection, FACT, cars, author),
            }

    def attach_stills(self, recording: str, stills: Mapping[str, Sequence[Still]]) -> None:
        """Let the stills that the program chose from a recording show findings, the best first.

        Where a person has chosen, the program's choice is left out. No change of the finding: nobody decided anything.

        Parameters
        ----------
        recording : str
            Id of the recording the stills are frames of.
        stills : mapping of str to sequence of Still
            By the id of the finding.
        """
        with self._db.write() as connection:
            self._recording(connection, recording)
            at = self._db.now()
            for finding_id, chosen in stills.items():
                row = load_one(connection, FINDING, finding_id).row
                wanted = [{**plain(still), "recording": recording} for still in chosen]
                if wanted == named_stills(connection, row["id"]) or chosen_by(connection, row["id"]) - {PROGRAM}:
                    continue
                set_stills(connection, row["id"], wanted, author=PROGRAM, at=at)

    def choose_stills(
        self, finding_id: str, recording: str, stills: Sequence[Still], *, author: str, expected_version: int
    ) -> KeptFinding:
        """Let the stills that a person chose show a finding; the others are put aside and can be had back by undo."""
        check_person(author)
        with self._db.write() as connection:
            self._recording(connection, recording)
            kept = load_one(connection, FINDING, finding_id, lock=True)
            expect(FINDING, kept, expected_version, wanted={}, record=kept_finding)
            before = named_stills(connection, kept.row["id"])
            after = [{**plain(still), "recording": recording} for still in stills]
            if before != after:
                at = self._db.now()
                set_stills(connection, kept.row["id"], after, author=author, at=at)
                write_change(
                    connection,
                    FINDING,
                    kept.row,
                    before={"stills": before},
                    after={"stills": after},
                    author=author,
                    action="still chosen",
                    at=at,
                )
            return kept_finding(load_one(connection, FINDING, finding_id))

    def _add(
        self, connection: Connection, sort: Sort[S], car: str, statement: S, *, author: str, token: str | None
    ) -> Kept[S]:
        row = self._car(connection, car, lock=True)
        names = under(connection, row["id"])
        # Of cars that are joined, it is of the one whose film or picture it stands on, and goes with that one.
        sources = {footing.source for footing in statement.footings}
        of = owner(connection, sources, names) if len(names) > 1 else row["id"]
        if of != row["id"]:
            row = self._car(connection, names[of], own=True)
        kept = add(
            connection,
            sort,
            row,
            statement,
            author=author,
            token=token,
            at=self._db.now(),
            names=tuple(names.values()),
        )
        self._count(connection, row["id"])
        return kept

    def _put(self, sort: Sort[S], recording: str, statements: Sequence[S]) -> Drawn:
        for statement in statements:
            if statement.state is not State.HEARD:
                raise ValueError(f"{statement} is not in state heard; what a person decided is not put but changed")
            check(statement)
        with self._db.write() as connection:
            row = self._recording(connection, recording, lock=True)
            drawn = put(connection, sort, row, statements, at=self._db.now())
            self._count(connection, row["car_id"])
            return drawn
