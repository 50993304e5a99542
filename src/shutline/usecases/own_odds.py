"""The user's own layer over the tables of what cannot be true together."""

from __future__ import annotations

import os
from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path
from typing import TYPE_CHECKING

from shutline.car.errors import BadInputError, Problem
from shutline.usecases.settings import settings_file

if TYPE_CHECKING:
    from shutline.survey.odds_data import OddsTables

ODDS_VARIABLE = "SHUTLINE_ODDS"
"""Environment variable that names another folder of such tables."""


@dataclass(frozen=True, slots=True)
class OwnOddsFile:
    """One file of the user's: its name, and how many rows or entries it has."""

    name: str
    rows: int


@dataclass(frozen=True, slots=True)
class OwnOdds:
    """The folder of the user's tables, its files, and how many rows count in all, ours and theirs."""

    folder: str
    files: tuple[OwnOddsFile, ...]
    counts: dict[str, int]


def odds_folder() -> Path:
    """Give where the user's tables lie: what the environment names, else the folder `odds` beside the settings."""
    named = os.environ.get(ODDS_VARIABLE)
    return Path(named) if named else settings_file().parent / "odds"


def own_odds_tables(folder: Path | None = None) -> OddsTables:
    """Give what tells what is at odds, the user's rows laid over the shipped ones.

    Parameters
    ----------
    folder : Path, optional
        Where the user's lie; see `odds_folder` when left out.

    Raises
    ------
    BadInputError
        A file is no UTF-8 (slug ``survey-table-refused``).
    UserError
        A file is called otherwise, or a row is not as it should be (the same slug), with file and line.
    """
    return _tables_of(_found(folder or odds_folder()))


def check_own_odds(folder: Path | None = None) -> OwnOdds:
    """Read the user's tables, and tell what there is; raises as `own_odds_tables` does."""
    there = folder or odds_folder()
    found = _found(there)
    tables = _tables_of(found)
    files = tuple(OwnOddsFile(name, _rows(name, data)) for name, data in found)
    counts = {
        "odds_exclusions": len(tables.exclusions),
        "odds_within": len(tables.wholes),
        "odds_cues": len(tables.cues),
        "odds_facts": len(tables.changing),
        "odds_traits": len(tables.traits),
        "odds_not_fitted": len(tables.not_fitted),
    }
    return OwnOdds(str(there), tuple(OwnOddsFile(Path(one.name).name, one.rows) for one in files), counts)


def _found(folder: Path) -> tuple[tuple[str, bytes], ...]:
    files = (file for file in sorted(folder.glob("*")) if file.suffix in (".csv", ".toml"))
    return tuple((str(file), file.read_bytes()) for file in files)


def _rows(name: str, data: bytes) -> int:
    import csv
    import tomllib

    text = data.decode("utf-8-sig")
    if name.endswith(".toml"):
        return sum(len(entries) for entries in tomllib.loads(text).values())
    return max(0, sum(1 for row in csv.reader(text.splitlines()) if row) - 1)


@lru_cache(maxsize=4)
def _tables_of(found: tuple[tuple[str, bytes], ...]) -> OddsTables:
    from shutline.survey.odds_layer import odds_tables, with_own_rows

    if not found:
        return odds_tables()
    texts: dict[str, str] = {}
    for name, data in found:
        try:
            texts[Path(name).name] = data.decode("utf-8-sig")
        except UnicodeDecodeError as error:
            raise BadInputError(
                Problem(
                    slug="survey-table-refused",
                    where=f"{name}, line {data[: error.start].count(10) + 1}",
                    found=f"byte {error.start} is no UTF-8",
                    allowed="UTF-8",
                    advice="Save the file as UTF-8 and give the command again.",
                )
            ) from None
    return with_own_rows(texts, names={Path(name).name: name for name, _ in found})
