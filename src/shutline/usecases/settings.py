"""Where a user's things lie, and who is speaking."""

from __future__ import annotations

import getpass
import os
import tomllib
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from shutline.car.errors import Problem, UserError

if TYPE_CHECKING:
    from shutline.store import Store

NOBODY = "unnamed"
"""Author where the system does not tell who is logged in."""

LOCK_TIMEOUT_S = 10.0
"""How long a run waits for another one that is writing, seconds."""

SETTINGS_VARIABLE = "SHUTLINE_SETTINGS"
"""Environment variable that names another file of settings."""


@dataclass(frozen=True, slots=True)
class SecondReaderSettings:
    """The service for second readings; off while `address` is None.

    `key_variable` names the environment variable that the key is read from, None where the service wants none;
    `plain_http` allows http to another machine.
    """

    address: str | None = None
    model: str = ""
    key_variable: str | None = None
    plain_http: bool = False


def default_folder() -> Path:
    """Give the folder of the store in the user's data folder, as the system has it."""
    import platformdirs

    return Path(platformdirs.user_data_dir("shutline", appauthor=False)) / "store"


def open_store(folder: Path | None = None, *, begin: bool = True) -> Store:
    """Open the store in `folder`, or the user's own.

    Parameters
    ----------
    folder : Path, optional
        Where it lies.
    begin : bool
        Make one where there is none; otherwise that is an error.

    Raises
    ------
    UserError
        The folder holds no store and none is to be begun (slug ``no-store``), something else, or a store of a newer
        version.
    BrokenWorldError
        The store is locked by another run, or the disk refuses.
    """
    from shutline.store import Store

    return Store.open(folder or default_folder(), create=begin, lock_timeout_s=LOCK_TIMEOUT_S)


def holds_store(folder: Path | None = None) -> bool:
    """Tell whether a store lies in `folder`, or in the user's own."""
    from shutline.store.place import FILE

    return ((folder or default_folder()) / FILE).is_file()


def author() -> str:
    """Give the name changes are signed with unless another is given."""
    try:
        return getpass.getuser()
    except (OSError, KeyError, ImportError):
        return NOBODY


def settings_file() -> Path:
    """Give where the user's settings lie: what the environment names, else the user's folder for such things."""
    import platformdirs

    named = os.environ.get(SETTINGS_VARIABLE)
    return Path(named) if named else Path(platformdirs.user_config_dir("shutline", appauthor=False)) / "settings.toml"


def second_reader_settings(file: Path | None = None) -> SecondReaderSettings:
    """Read the table ``[second_reader]`` of the user's settings; all off where there is no file or no such table.

    Parameters
    ----------
    file : Path, optional
        The settings; see `settings_file` when left out.

    Raises
    ------
    UserError
        The file cannot be read as TOML (slug ``settings-not-toml``), or holds an entry that there is not, or one of
        another kind (``settings-refused``).
    """
    file = file or settings_file()
    try:
        text: str | None = file.read_text(encoding="utf-8-sig")
    except FileNotFoundError:
        return SecondReaderSettings()
    except (OSError, ValueError):
        text = None
    return second_reader_table(text, where=str(file))


def second_reader_table(text: str | None, *, where: str) -> SecondReaderSettings:
    """Read the table ``[second_reader]`` of a settings file's text, None where that is no UTF-8; raises as above."""
    try:
        raw = tomllib.loads("\0" if text is None else text)
    except ValueError as error:
        # What stands in the file is not repeated: somebody may have put a key there.
        place = f", line {line}" if (line := getattr(error, "lineno", None)) else ""
        raise UserError(
            Problem(
                slug="settings-not-toml",
                where=f"{where}{place}",
                found="it cannot be read as TOML",
                allowed='entries such as model = "name" under [second_reader], in UTF-8',
                advice="Mend the file, or move it away.",
            )
        ) from None
    table = raw.pop("second_reader", {})
    if raw or not isinstance(table, dict):
        raise _settings_refused(where, ", ".join(raw) or "second_reader", "the table [second_reader]")
    kinds = {"address": str, "model": str, "key_variable": str, "plain_http": bool}
    for name, value in table.items():
        if name not in kinds or type(value) is not kinds[name]:
            raise _settings_refused(
                where, f"second_reader.{name}", "address, model, key_variable (texts) and plain_http (true or false)"
            )
    return SecondReaderSettings(**table)


def _settings_refused(where: str, entry: str, allowed: str) -> UserError:
    return UserError(
        Problem(
            slug="settings-refused",
            where=where,
            found=f"an entry that there is not, or of another kind: {entry}",
            allowed=allowed,
            advice="Mend that entry (docs/second_reader.md).",
        )
    )
