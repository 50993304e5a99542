"""Which part a picture taken by hand is of: each thing that was said of it is kept, and the last one holds."""

from __future__ import annotations

from collections.abc import Sequence

from sqlalchemy import Connection, RowMapping, insert, select
from sqlalchemy.exc import IntegrityError

from shutline.car.errors import Problem, UserError
from shutline.car.findings import Position, Side
from shutline.car.picture_places import PicturePlace
from shutline.car.vocabulary import vocabulary
from shutline.store import errors, tables
from shutline.store.base import Base
from shutline.store.database import in_chunks
from shutline.store.decisions import check_person


class StalePlaceError(UserError):
    """A picture was placed by somebody who had not seen what another had said of it meanwhile; `present` is that."""

    def __init__(self, picture: str, *, expected_version: int, present: PicturePlace | None) -> None:
        super().__init__(
            Problem(
                slug="stale-picture",
                where=f"picture {picture[:12]}",
                found="somebody has said where it belongs since you opened it",
                allowed="a change is taken only to what is kept now; nothing was changed",
                advice="Look at where it is now, and move it again if you still want to.",
            )
        )
        self.expected_version = expected_version
        self.present = present


class PicturePlaces(Base):
    """The part of the store that keeps where pictures taken by hand belong."""

    def picture_places(self, pictures: Sequence[str]) -> dict[str, tuple[PicturePlace, ...]]:
        """Give all that was said of some pictures, by their ids, the oldest first; nothing for one that has none."""
        table = tables.picture_place
        found: dict[str, list[PicturePlace]] = {}
        with self._db.read() as connection:
            for some in in_chunks(list(dict.fromkeys(pictures))):
                query = select(table).where(table.c.picture.in_(some)).order_by(table.c.picture, table.c.version)
                for row in connection.execute(query).mappings():
                    found.setdefault(row["picture"], []).append(_place_of(row))
        return {picture: tuple(places) for picture, places in found.items()}

    def place_picture(
        self,
        picture: str,
        part: str | None,
        *,
        side: Side | None = None,
        position: Position | None = None,
        author: str,
        expected_version: int | None = None,
    ) -> PicturePlace:
        """Keep what a person says of a picture; what was said before is kept too.

        Parameters
        ----------
        picture : str
            Its id.
        part, side, position
            The place of the car; no part for one that is of none in particular.
        author : str
            Who says so.
        expected_version : int, optional
            How many things had been said of it when the person looked; 0 for none.

        Raises
        ------
        NotFoundError
            There is no such picture (slug ``picture-unknown``).
        UserError
            The part is not in the vocabulary (``unknown-part``), or there is no author.
        StalePlaceError
            Somebody else has said something of it since (``stale-picture``).
        """
        check_person(author)
        if part is not None and part not in vocabulary().parts:
            raise errors.refused(
                slug="unknown-part",
                where="picture",
                found=f"{part!r} is not in the vocabulary",
                allowed=f"one of the {len(vocabulary().parts)} ids of the vocabulary",
                advice="Choose the nearest of them.",
            )
        with self._db.write() as connection:
            _check_picture(connection, picture)
            last = _last(connection, picture)
            version = 0 if last is None else last.version
            if expected_version is not None and expected_version != version:
                raise StalePlaceError(picture, expected_version=expected_version, present=last)
            said = PicturePlace(
                picture,
                part,
                side if part else None,
                position if part else None,
                version=version + 1,
                at=self._db.now(),
                author=author,
            )
            if last is not None and (last.part, last.side, last.position) == (said.part, said.side, said.position):
                return last
            try:
                connection.execute(insert(tables.picture_place).values(_values(said)))
            except IntegrityError as trouble:
                raise StalePlaceError(picture, expected_version=version, present=last) from trouble
            return said


def _check_picture(connection: Connection, picture: str) -> None:
    here = select(tables.picture.c.id).where(tables.picture.c.ref == picture)
    if connection.execute(here).first() is None:
        raise errors.not_found(
            slug="picture-unknown",
            where=f"picture {picture[:40]!r}",
            found="the store holds no picture of that id",
            allowed="a picture is named by the id it got when it came in",
            advice="Look at the pictures of the car.",
        )


def _last(connection: Connection, picture: str) -> PicturePlace | None:
    table = tables.picture_place
    query = select(table).where(table.c.picture == picture).order_by(table.c.version.desc()).limit(1)
    row = connection.execute(query).mappings().one_or_none()
    return None if row is None else _place_of(row)


def _place_of(row: RowMapping) -> PicturePlace:
    return PicturePlace(
        row["picture"],
        row["part"],
        row["side"] and Side(row["side"]),
        row["position"] and Position(row["position"]),
        version=row["version"],
        at=row["at"],
        author=row["author"],
    )


def _values(said: PicturePlace) -> dict[str, object]:
    return {
        "picture": said.picture,
        "version": said.version,
        "part": said.part,
        "side": said.side and said.side.value,
        "position": said.position and said.position.value,
        "at": said.at,
        "author": said.author,
    }
