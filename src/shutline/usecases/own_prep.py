"""The user's own layer over the tables of preparation: rates, jobs, cautions, musts, worths, people and bays."""

from __future__ import annotations

import hashlib
import os
from functools import lru_cache
from pathlib import Path
from typing import TYPE_CHECKING

from shutline.car.errors import BadInputError, Problem
from shutline.usecases.settings import settings_file

if TYPE_CHECKING:
    from shutline.prep.shop import ShopTables
    from shutline.prep.tables import PrepTables
    from shutline.prep.worth import WorthRow

PREP_VARIABLE = "SHUTLINE_PREP"
"""Environment variable that names another folder of such tables."""


def prep_folder() -> Path:
    """Give where the user's tables lie: what the environment names, else the folder `prep` beside the settings."""
    named = os.environ.get(PREP_VARIABLE)
    return Path(named) if named else settings_file().parent / "prep"


def own_prep(folder: Path | None = None) -> tuple[PrepTables, tuple[WorthRow, ...]]:
    """Give the tables of preparation and what a buyer knocks off, the user's rows laid over the shipped ones.

    Parameters
    ----------
    folder : Path, optional
        Where the user's lie; see `prep_folder` when left out.

    Raises
    ------
    BadInputError
        A file is no UTF-8 (slug ``prep-table-refused``).
    UserError
        A file is called otherwise, or a row is not as it should be (the same slug), with file and line.
    """
    return _tables_of(_files(folder))


def own_shop(folder: Path | None = None) -> ShopTables:
    """Give who works on a car and where, the user's rows laid over the shipped ones; raises as `own_prep` does."""
    return _shop_of(_files(folder))


def prep_mark() -> str:
    """Give a mark of all that the user has laid over the tables: another one means that something has changed."""
    return hashlib.sha256(repr(_files(None)).encode("utf-8", "replace")).hexdigest()


def _files(folder: Path | None) -> tuple[tuple[str, bytes], ...]:
    there = folder or prep_folder()
    return tuple((str(file), file.read_bytes()) for file in sorted(there.glob("*.toml")))


@lru_cache(maxsize=4)
def _tables_of(found: tuple[tuple[str, bytes], ...]) -> tuple[PrepTables, tuple[WorthRow, ...]]:
    from shutline.prep.shop import FILES as SHOP
    from shutline.prep.tables import prep_tables, with_own_rows
    from shutline.prep.worth import TABLE, with_own_worth, worth_rows

    texts = {Path(name).name: _text(name, data) for name, data in found if Path(name).name not in SHOP}
    names = {Path(name).name: name for name, _ in found}
    worth = texts.pop(TABLE, None)
    return (
        with_own_rows(texts, names=names) if texts else prep_tables(),
        worth_rows() if worth is None else with_own_worth(worth, name=names[TABLE]),
    )


@lru_cache(maxsize=4)
def _shop_of(found: tuple[tuple[str, bytes], ...]) -> ShopTables:
    from shutline.prep.shop import FILES, with_own_shop

    own = {Path(name).name: name for name, _ in found if Path(name).name in FILES}
    texts = {Path(name).name: _text(name, data) for name, data in found if Path(name).name in FILES}
    return with_own_shop(texts, names=own)


def _text(name: str, data: bytes) -> str:
    try:
        return data.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        raise BadInputError(
            Problem(
                slug="prep-table-refused",
                where=f"{name}, line {data[: error.start].count(10) + 1}",
                found=f"byte {error.start} is no UTF-8",
                allowed="UTF-8",
                advice="Save the file as UTF-8 and give the command again.",
            )
        ) from None
