"""Masks: what is covered in pictures and films that go out, who found it, and what people decided about it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from typing import Any, Literal

from sqlalchemy import Connection, RowMapping, select

from shutline.car.masks import Box, BoxAt, KeptMask, Mask, MaskKind, MaskLook, MaskState
from shutline.store import errors, tables
from shutline.store.base import PROGRAM, Base, check_source
from shutline.store.database import in_chunks, insert_missing
from shutline.store.decisions import check_person
from shutline.store.joins import twins_for
from shutline.store.rows import Plain, digest
from shutline.store.versions import Versions

MaskAction = Literal["confirm", "strike", "amend", "restore"]
"""What a person may do: say that it stands, reject it, change it (it stands then), take back a rejection."""

_WORDS = {"confirm": "confirmed", "strike": "struck", "amend": "amended", "restore": "restored"}


class Masks(Base):
    """The part of the store that keeps masks; each by the id of the picture or recording that it is in."""

    def put_masks(self, look: MaskLook, masks: Sequence[Mask]) -> tuple[str, ...]:
        """Keep that the program looked at a picture or a stretch of film, and what it proposes there.

        What is kept already is left as it is, whatever a person has made of it: the same look again changes nothing.

        Parameters
        ----------
        look : MaskLook
            Its `at` is set by the store's clock.
        masks : sequence of Mask
            All of the source of the look, and proposed.

        Returns
        -------
        tuple of str
            Their ids.

        Raises
        ------
        ValueError
            A mask is of another source, or not proposed.
        NotFoundError
            The store holds no such picture or recording (slug ``mask-source-unknown``).
        """
        if any(mask.source != look.source or mask.state is not MaskState.PROPOSED for mask in masks):
            raise ValueError("a look proposes masks of its own source")
        ids = tuple(_id(mask, look.finder) for mask in masks)
        with self._db.write() as connection:
            check_source(connection, look.source, what="mask")
            at = self._db.now()
            kept = set(connection.execute(select(tables.mask.c.ref).where(tables.mask.c.ref.in_(ids))).scalars())
            for ref, mask in dict(zip(ids, masks, strict=True)).items():
                if ref not in kept:
                    _enter(connection, ref, mask, author=PROGRAM, action="proposed", at=at)
            values = {
                "source": look.source,
                "start_s": look.start_s,
                "end_s": look.end_s,
                "finder": look.finder,
                "looks": look.looks,
                "found": dict(look.found),
                "created_at": at,
            }
            insert_missing(connection, tables.mask_look, [values], unique=("source", "start_s", "end_s", "finder"))
        return ids

    def masks(self, sources: Sequence[str]) -> tuple[KeptMask, ...]:
        """Give all masks of these pictures and recordings, struck ones too, by source and in the order of time.

        Those of the same picture or film that a car joined with theirs has are among them: it is shown once.
        """
        table = tables.mask
        with self._db.read() as connection:
            twins = twins_for(connection, sources)
            rows = [
                row
                for some in in_chunks(list(dict.fromkeys((*sources, *twins))))
                for row in connection.execute(select(table).where(table.c.source.in_(some))).mappings()
            ]
            order = {source: number for number, source in enumerate(sources)}
            rows.sort(key=lambda row: (order[twins.get(row["source"], row["source"])], row["start_s"], row["id"]))
            kept = _MASKS.kept(connection, rows)
            return tuple(
                replace(one, mask=replace(one.mask, source=twins.get(one.mask.source, one.mask.source))) for one in kept
            )

    def mask(self, ref: str) -> KeptMask:
        """Give one mask by its id; raises NotFoundError (slug ``mask-unknown``)."""
        with self._db.read() as connection:
            return _MASKS.one(connection, ref)

    def mask_looks(self, sources: Sequence[str]) -> tuple[MaskLook, ...]:
        """Give what was looked at among these pictures and recordings, in the order it was."""
        table = tables.mask_look
        with self._db.read() as connection:
            rows = [
                row
                for some in in_chunks(list(dict.fromkeys(sources)))
                for row in connection.execute(select(table).where(table.c.source.in_(some))).mappings()
            ]
        return tuple(_look_of(row) for row in sorted(rows, key=lambda row: row["id"]))

    def add_mask(self, mask: Mask, *, author: str, token: str) -> KeptMask:
        """Keep a mask that a person drew; it stands. The same token again adds nothing, and gives what is kept.

        Raises
        ------
        NotFoundError
            The store holds no such picture or recording (slug ``mask-source-unknown``).
        """
        check_person(author)
        drawn = replace(mask, state=MaskState.STANDS, sureness=None)
        ref = digest("mask", "token", mask.source, token)
        with self._db.write() as connection:
            check_source(connection, mask.source, what="mask")
            if connection.execute(select(tables.mask.c.id).where(tables.mask.c.ref == ref)).first() is None:
                _enter(connection, ref, drawn, author=author, action="drawn", at=self._db.now())
            return _MASKS.one(connection, ref)

    def change_mask(
        self,
        ref: str,
        *,
        action: MaskAction,
        author: str,
        expected_version: int | None = None,
        kind: MaskKind | None = None,
        way: tuple[BoxAt, ...] | None = None,
    ) -> KeptMask:
        """Do what a person decided about a mask.

        Parameters
        ----------
        ref : str
            Its id.
        action : MaskAction
            What is done.
        author : str
            Who decided.
        expected_version : int, optional
            Refuse it when the mask is at another version.
        kind, way : optional
            What changes; with ``amend`` only.

        Raises
        ------
        NotFoundError
            There is no such mask (slug ``mask-unknown``).
        StaleError
            Somebody changed it since `expected_version`.
        UserError
            It was not struck and cannot be restored (slug ``nothing-to-restore``).
        """
        check_person(author)
        with self._db.write() as connection:
            kept, _ = _MASKS.change(
                connection,
                _MASKS.row(connection, ref, lock=True),
                lambda present: replace(present, mask=_decided(present, action, kind=kind, way=way)),
                author=author,
                action=_WORDS[action],
                at=self._db.now(),
                expected_version=expected_version,
            )
            return kept


def _decided(present: KeptMask, action: MaskAction, *, kind: MaskKind | None, way: tuple[BoxAt, ...] | None) -> Mask:
    mask = present.mask
    if action != "amend" and (kind is not None or way is not None):
        raise ValueError(f"{action} changes neither kind nor place")
    match action:
        case "confirm":
            return replace(mask, state=MaskState.STANDS)
        case "strike":
            return replace(mask, state=MaskState.STRUCK)
        case "amend":
            # The program's sureness was of the place that it found.
            return replace(mask, kind=kind or mask.kind, way=way or mask.way, state=MaskState.STANDS, sureness=None)
        case "restore":
            if mask.state is not MaskState.STRUCK:
                raise errors.refused(
                    slug="nothing-to-restore",
                    where=f"mask {present.id!r}",
                    found=f"it is {mask.state.value}, not struck",
                    allowed="what was struck can be restored",
                    advice="Confirm or amend it instead.",
                )
            before = (change.before.get("state") for change in reversed(present.changes))
            return replace(mask, state=MaskState(next(str(state) for state in before if state)))
        case _:
            raise ValueError(f"{action!r} is none of confirm, strike, amend, restore")


def _id(mask: Mask, finder: str) -> str:
    first = mask.way[0]
    return digest(
        "mask", mask.source, mask.kind.value, finder, *(repr(value) for value in (first.at_s, *first.box.edges))
    )


def _enter(connection: Connection, ref: str, mask: Mask, *, author: str, action: str, at: str) -> None:
    columns = _columns(mask)
    values = {"ref": ref, "source": mask.source, "created_by": author, **columns}
    _MASKS.enter(connection, values, columns, author=author, action=action, at=at)


def _columns(mask: Mask) -> Plain:
    return {
        "kind": mask.kind.value,
        "state": mask.state.value,
        "sureness": mask.sureness,
        "start_s": mask.start_s,
        "end_s": mask.end_s,
        "way": [[one.at_s, *one.box.edges] for one in mask.way],
    }


def _mask_of(row: RowMapping) -> Mask:
    way: list[list[Any]] = row["way"]
    return Mask(
        source=row["source"],
        kind=MaskKind(row["kind"]),
        way=tuple(BoxAt(at_s, Box(*edges)) for at_s, *edges in way),
        state=MaskState(row["state"]),
        sureness=row["sureness"],
    )


def _look_of(row: RowMapping) -> MaskLook:
    return MaskLook(
        source=row["source"],
        start_s=row["start_s"],
        end_s=row["end_s"],
        finder=row["finder"],
        looks=row["looks"],
        found=row["found"],
        at=row["created_at"],
    )


_MASKS: Versions[KeptMask] = Versions(
    name="mask",
    table=tables.mask,
    changes=tables.mask_change,
    record=lambda row, changes: KeptMask(row["ref"], _mask_of(row), row["version"], changes),
    columns=lambda kept: _columns(kept.mask),
    slug="mask-unknown",
    advice="List the masks of the car.",
)
