"""Where a user's things lie, and who is speaking."""

from __future__ import annotations

import getpass
from pathlib import Path
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from shutline.store import Store

NOBODY = "unnamed"
"""Author where the system does not tell who is logged in."""

LOCK_TIMEOUT_S = 10.0
"""How long a run waits for another one that is writing, seconds."""


def default_folder() -> Path:
    """Give the folder of the store in the user's data folder, as the system has it."""
    import platformdirs

    return Path(platformdirs.user_data_dir("shutline", appauthor=False)) / "store"


def open_store(folder: Path | None = None) -> Store:
    """Open the store in `folder`, or the user's own; made if it is not there.

    Raises
    ------
    UserError
        The folder holds something else, or a store of a newer version.
    BrokenWorldError
        The store is locked by another run, or the disk refuses.
    """
    from shutline.store import Store

    return Store.open(folder or default_folder(), lock_timeout_s=LOCK_TIMEOUT_S)


def author() -> str:
    """Give the name changes are signed with unless another is given."""
    try:
        return getpass.getuser()
    except (OSError, KeyError, ImportError):
        return NOBODY
