"""Comparables as a table that a spreadsheet opens and that comes in again as it went out."""

from __future__ import annotations

import csv
import io
from collections.abc import Iterable
from dataclasses import dataclass
from typing import TYPE_CHECKING

from shutline.usecases.comparables import fields_of

if TYPE_CHECKING:
    from pathlib import Path

    from shutline.car.comparables import Comparable
    from shutline.store import Store


@dataclass(frozen=True, slots=True)
class ComparablesFile:
    """A table of comparables as text, how many rows it has, and where it was written; empty where it was not."""

    text: str
    rows: int
    path: str = ""


def comparables_file(store: Store, *, path: Path | None = None) -> ComparablesFile:
    """Give the comparables that were noted and hold as CSV, and write it.

    Parameters
    ----------
    store : Store
        Where they are kept.
    path : Path, optional
        Where it is written, whole or not at all; nowhere when left out.

    Raises
    ------
    BrokenWorldError
        The file cannot be written (slug ``output-not-written``).
    """
    from shutline.usecases.report import write_whole

    kept = [one for _, one in store.comparables_that_hold()]
    text = comparables_csv(kept)
    written = "" if path is None else write_whole(path, text.encode(), "comparables").path
    return ComparablesFile(text, len(kept), written)


def comparables_csv(comparables: Iterable[Comparable]) -> str:
    """Write comparables as CSV, a column for each field and each attribute; no cell of it is a formula."""
    from shutline.market import FIELDS, guarded

    kept = list(comparables)
    names = sorted({name for one in kept for name in one.attributes})
    # An attribute that is called like a field would be taken for it.
    headings = [f"{name} (attribute)" if name.casefold() in FIELDS else name for name in names]
    text = io.StringIO()
    writer = csv.writer(text, lineterminator="\r\n")
    writer.writerow([guarded(one) for one in (*FIELDS, *headings)])
    for one in kept:
        fields = fields_of(one)
        cells = (*(fields[name] for name in FIELDS), *(one.attributes.get(name, "") for name in names))
        writer.writerow([guarded(cell) for cell in cells])
    return text.getvalue()
