"""What of the buyer's page and of sealed files is handed out as one file."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

from shutline.car.errors import NotFoundError, Problem
from shutline.usecases.buyers_page import FOLDER
from shutline.usecases.sealing import sheet_path
from shutline.usecases.shares import make_shared_page
from shutline.usecases.zipped import write_zip

if TYPE_CHECKING:
    from shutline.car.going_out import SealedFile
    from shutline.store import Store


def shared_zip(store: Store, name: str) -> Path:
    """Give the zip of the buyer's page of a car as it is now; both are made first where they are not there."""
    page = Path(make_shared_page(store, name).folder)
    path = page.with_name(f"{FOLDER}.zip")
    if not path.is_file():
        write_zip(path, page, top=FOLDER)
    return path


def sealed_zip(store: Store, name: str, number: str) -> Path:
    """Give the zip of a sealed file, made first where it is not there.

    Raises
    ------
    NotFoundError
        Nothing of that number was sealed of the car, or it is gone from where it was written (slug ``seal-unknown``).
    """
    folder = Path(_sealed(store, name, number).folder)
    path = folder.with_name(f"{folder.name}.zip")
    if not path.is_file():
        write_zip(path, folder, top=folder.name)
    return path


def sealed_sheet(store: Store, name: str, number: str) -> Path:
    """Give the handover sheet of a sealed file; raises NotFoundError as `sealed_zip` does, or where it has none."""
    folder = Path(_sealed(store, name, number).folder)
    # Sheets made before the edition stood in their names.
    former = folder.with_name(f"handover-{folder.name.rpartition('-')[2]}.pdf")
    path = next((one for one in (sheet_path(folder), former) if one.is_file()), None)
    if path is None:
        raise _unknown(name, "there is no handover sheet to it")
    return path


def _sealed(store: Store, name: str, number: str) -> SealedFile:
    there = [one for one in store.sealed_files(store.find_car("-".join(name.split())).name) if one.number == number]
    if not there:
        raise _unknown(name, "nothing of that number was sealed of it")
    if not Path(there[0].folder).is_dir():
        raise _unknown(name, "it is gone from where it was written")
    return there[0]


def _unknown(name: str, found: str) -> NotFoundError:
    return NotFoundError(
        Problem(
            slug="seal-unknown",
            where=name,
            found=found,
            allowed="a sealed file that lies where it was written",
            advice=f"List them: shutline seal {name} --kept",
        )
    )
