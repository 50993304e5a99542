"""Sealed files, share links and private words: what was made or said of each is kept, and an end is added to it."""

from __future__ import annotations

import secrets
from typing import Any

from sqlalchemy import Connection, RowMapping, insert, select, update

from shutline.car.going_out import Edition, Occasion, PrivateKind, PrivateWords, SealedFile, Share
from shutline.store import errors, tables
from shutline.store.base import Base, under
from shutline.store.decisions import check_person

_TOKEN_BYTES = 24


class GoingOut(Base):
    """The part of the store that keeps what goes out, and what may not."""

    def add_sealed(self, car: str, sealed: SealedFile) -> SealedFile:
        """Keep that a sealed file was made, at the moment that it speaks of itself; without one, now.

        Raises
        ------
        NotFoundError
            The store holds no such car.
        """
        check_person(sealed.author)
        with self._db.write() as connection:
            row = self._car(connection, car)
            values = {name: getattr(sealed, name) for name in _SEALED}
            connection.execute(
                insert(tables.sealed_file).values(
                    **values,
                    car_id=row["id"],
                    occasion=sealed.occasion.value,
                    edition=sealed.edition.value,
                    created_at=sealed.at or self._db.now(),
                    created_by=sealed.author,
                )
            )
            made = connection.execute(_newest(row["id"])).mappings().first()
        if made is None:
            raise RuntimeError("a row that was written is not there")
        return _sealed_of(made)

    def sealed_files(self, car: str) -> tuple[SealedFile, ...]:
        """Give the sealed files of a car, and of those joined with it, the newest first."""
        table = tables.sealed_file
        with self._db.read() as connection:
            cars = list(under(connection, self._car(connection, car)["id"]))
            query = select(table).where(table.c.car_id.in_(cars)).order_by(table.c.id.desc())
            return tuple(_sealed_of(row) for row in connection.execute(query).mappings())

    def add_share(self, car: str, *, author: str, until: str | None = None) -> Share:
        """Make a share link; its token is 32 letters that nobody can guess.

        Raises
        ------
        NotFoundError
            The store holds no such car.
        """
        check_person(author)
        token = secrets.token_urlsafe(_TOKEN_BYTES)
        with self._db.write() as connection:
            row = self._car(connection, car)
            values = {"car_id": row["id"], "token": token, "until": until}
            connection.execute(insert(tables.share).values(**values, created_at=self._db.now(), created_by=author))
            return self._share(connection, token)

    def shares(self, car: str) -> tuple[Share, ...]:
        """Give the share links of a car, ended ones too, the newest first."""
        with self._db.read() as connection:
            cars = list(under(connection, self._car(connection, car)["id"]))
            query = select(tables.share.c.token).where(tables.share.c.car_id.in_(cars))
            tokens = connection.execute(query.order_by(tables.share.c.id.desc())).scalars().all()
            return tuple(self._share(connection, token) for token in tokens)

    def share(self, token: str) -> Share:
        """Give the share link of a token.

        Raises
        ------
        NotFoundError
            There is none (slug ``share-unknown``).
        """
        with self._db.read() as connection:
            return self._share(connection, token)

    def end_share(self, token: str, *, author: str) -> Share:
        """End a share link; one that has ended stays as it was."""
        check_person(author)
        table = tables.share
        with self._db.write() as connection:
            self._share(connection, token)
            connection.execute(
                update(table)
                .where(table.c.token == token, table.c.ended_at.is_(None))
                .values(ended_at=self._db.now(), ended_by=author)
            )
            return self._share(connection, token)

    def _share(self, connection: Connection, token: str) -> Share:
        table, car = tables.share, tables.car
        query = select(table, car.c.name.label("car")).join(car, car.c.id == table.c.car_id)
        row = connection.execute(query.where(table.c.token == token)).mappings().one_or_none()
        if row is None:
            raise errors.not_found(
                slug="share-unknown",
                where="the link",
                found="there is no such link",
                allowed="a link as it was given",
                advice="Ask whoever gave it.",
            )
        ends = {name: row[name] for name in ("until", "ended_at", "ended_by")}
        return Share(row["token"], row["car"], row["created_at"], row["created_by"], **ends)

    def add_private(self, car: str, kind: PrivateKind, words: str, *, author: str) -> PrivateWords:
        """Keep words of a car that may not leave; those that are there already are not kept twice."""
        check_person(author)
        table = tables.private_words
        with self._db.write() as connection:
            row = self._car(connection, car)
            there = [one for one in self._private(connection, row["id"]) if one.ended_at is None]
            same = next((one for one in there if (one.kind, one.words) == (kind, words)), None)
            if same is not None:
                return same
            connection.execute(
                insert(table).values(
                    car_id=row["id"], kind=kind.value, words=words, created_at=self._db.now(), created_by=author
                )
            )
            return self._private(connection, row["id"])[-1]

    def private_words(self, car: str) -> tuple[PrivateWords, ...]:
        """Give the words of a car, and of those joined with it, that may not leave; taken back ones too."""
        with self._db.read() as connection:
            return self._private(connection, self._car(connection, car)["id"])

    def end_private(self, car: str, number: int, *, author: str) -> PrivateWords:
        """Take private words back, by their number.

        Raises
        ------
        NotFoundError
            The car has none of that number (slug ``private-unknown``).
        """
        check_person(author)
        table = tables.private_words
        with self._db.write() as connection:
            row = self._car(connection, car)
            there = {one.id: one for one in self._private(connection, row["id"])}
            if number not in there:
                raise errors.not_found(
                    slug="private-unknown",
                    where=f"{car}, private words {number}",
                    found="there are none of that number",
                    allowed=f"one of {', '.join(map(str, there))}" if there else "none were kept",
                    advice=f"List them: shutline private {car}",
                )
            connection.execute(
                update(table)
                .where(table.c.id == number, table.c.ended_at.is_(None))
                .values(ended_at=self._db.now(), ended_by=author)
            )
            return {one.id: one for one in self._private(connection, row["id"])}[number]

    def _private(self, connection: Connection, car_id: int) -> tuple[PrivateWords, ...]:
        table = tables.private_words
        cars = list(under(connection, car_id))
        rows = connection.execute(select(table).where(table.c.car_id.in_(cars)).order_by(table.c.id)).mappings()
        return tuple(
            PrivateWords(
                row["id"],
                PrivateKind(row["kind"]),
                row["words"],
                row["created_at"],
                row["created_by"],
                row["ended_at"],
                row["ended_by"],
            )
            for row in rows
        )


_SEALED = ("number", "former", "originals", "fingerprint", "folder", "files", "byte_size", "stamped")


def _newest(car_id: int) -> Any:
    table = tables.sealed_file
    return select(table).where(table.c.car_id == car_id).order_by(table.c.id.desc()).limit(1)


def _sealed_of(row: RowMapping) -> SealedFile:
    return SealedFile(
        **{name: row[name] for name in _SEALED},
        occasion=Occasion(row["occasion"]),
        edition=Edition(row["edition"]),
        at=row["created_at"],
        author=row["created_by"],
    )
