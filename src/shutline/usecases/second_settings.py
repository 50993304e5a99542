"""The settings of the second reader, shown and changed; never a key, only the name of where one is read from."""

from __future__ import annotations

import json
import os
import re
import tomllib
from dataclasses import asdict, dataclass, replace
from typing import Any

from shutline.car.errors import Problem, ShutlineError, UserError
from shutline.usecases.kept_files import FileState, former_text, keep, look_at
from shutline.usecases.settings import SecondReaderSettings, second_reader_table, settings_file

_TABLE = "second_reader"
_HIDDEN = "?…"
"""What is shown in place of the query of an address, which may hold a key."""
_VARIABLE = re.compile(r"[A-Z_][A-Z0-9_]{0,63}")
_HEAD = re.compile(r"\s*\[")
_OWN_HEAD = re.compile(rf"\s*\[\s*{_TABLE}\s*\]\s*(?:#.*)?")


@dataclass(frozen=True, slots=True)
class SecondShown:
    """The settings with the file they lie in, its mark and its states.

    `key_set` tells whether the variable that is to hold the key is set on this machine now, None where none is named.
    `problems` say why the file cannot be used, or why the service cannot be asked as things are.
    """

    file: str
    settings: SecondReaderSettings
    key_set: bool | None
    mark: str
    states: tuple[FileState, ...]
    problems: tuple[Problem, ...] = ()


def second_shown() -> SecondShown:
    """Give the settings to be shown, with what is wrong with their file, if anything is."""
    kept = look_at(settings_file())
    try:
        settings = second_reader_table(kept.text, where=kept.path.name)
    except ShutlineError as error:
        nothing = SecondReaderSettings()
        return SecondShown(str(kept.path), nothing, None, kept.mark, kept.states, (error.problem,))
    if settings.address and "?" in settings.address:
        settings = replace(settings, address=settings.address.partition("?")[0] + _HIDDEN)
    variable = settings.key_variable
    key_set = None if variable is None else bool(os.environ.get(variable, "").strip())
    return SecondShown(str(kept.path), settings, key_set, kept.mark, kept.states)


def keep_second(settings: SecondReaderSettings, *, author: str, expected: str | None = None) -> SecondShown:
    """Keep the settings of the second reader; all else in the file stays as it is, and its former state is kept.

    Parameters
    ----------
    settings : SecondReaderSettings
        Without an address it is off; the rest is kept for when it is on again.
    author : str
        Who says so.
    expected : str, optional
        Mark of the file that the change was made to.

    Raises
    ------
    UserError
        The address, the model or the name of the variable cannot be one (slugs ``second-address``, ``second-model``,
        ``second-key-variable``), or the file is broken; `ChangedMeanwhileError` where somebody changed it.
    """
    checked = _checked(settings)
    kept = look_at(settings_file())
    text = with_table(kept.text, checked, where=kept.path.name)
    keep(kept.path, text, author=author, expected=expected)
    return second_shown()


def second_of(state: str) -> SecondReaderSettings:
    """Give the settings in a former state of the file."""
    return second_reader_table(former_text(settings_file(), state), where=settings_file().name)


def second_back(state: str, *, author: str, expected: str | None = None) -> SecondShown:
    """Let former settings of the second reader stand again, as a new state."""
    return keep_second(second_of(state), author=author, expected=expected)


def with_table(text: str | None, settings: SecondReaderSettings, *, where: str) -> str:
    """Give the text of a settings file with another table ``[second_reader]`` and all else as it stands.

    Raises
    ------
    UserError
        The text is no TOML, or the table is written in another way than under a heading of its own.
    """
    before = _loaded(text, where)
    lines = (text or "").splitlines(keepends=True)
    start = next((number for number, line in enumerate(lines) if _OWN_HEAD.fullmatch(line.rstrip("\r\n"))), len(lines))
    end = next((number for number, line in enumerate(lines[start + 1 :], start + 1) if _HEAD.match(line)), len(lines))
    table = _toml(settings)
    rest = lines[end:]
    head = lines[:start]
    if head and table and not head[-1].endswith("\n"):
        head[-1] += "\n"
    if table and ((head and head[-1].strip()) or rest):
        table = ("\n" if head and head[-1].strip() else "") + table + ("\n" if rest else "")
    new = "".join([*head, table, *rest])
    wanted = {**before, _TABLE: _entries(settings)}
    if not wanted[_TABLE]:
        del wanted[_TABLE]
    try:
        same = tomllib.loads(new) == wanted
    except tomllib.TOMLDecodeError:
        same = False
    if not same:
        raise UserError(
            Problem(
                slug="settings-refused",
                where=where,
                found=f"{_TABLE} is not written under a heading [{_TABLE}] of its own",
                allowed=f"a heading [{_TABLE}] and its entries under it",
                advice="Write it so by hand once.",
            )
        )
    return new


def _checked(settings: SecondReaderSettings) -> SecondReaderSettings:
    from shutline.second.address import service_at

    address = (settings.address or "").strip() or None
    variable = (settings.key_variable or "").strip() or None
    model = settings.model.strip()
    if variable is not None and not _VARIABLE.fullmatch(variable):
        # What was given is not repeated: it may be the key itself.
        raise UserError(
            Problem(
                slug="second-key-variable",
                where="second reader, name of the variable",
                found="something that is no name of an environment variable",
                allowed="capital letters, digits and _, at most 64, such as READER_KEY; never the key itself",
                advice="Set the key in the environment that Shutline is started in, and give its name here.",
            )
        )
    if not model.isprintable() or len(model) > 200:
        raise UserError(
            Problem(
                slug="second-model",
                where="second reader",
                found="a name of a model that cannot be one",
                allowed="one line of at most 200 characters",
                advice="Give the name that the service knows its model by.",
            )
        )
    if address is not None and "?" in address:
        raise UserError(
            Problem(
                slug="second-address",
                where="second reader, address",
                found="a question mark and what follows, which may be a key",
                allowed="an address without a query; one that needs it is written into the file by hand",
                advice="Leave it out, or write it into the settings file yourself.",
            )
        )
    if address is not None:
        service_at(address, model=model, plain_http=settings.plain_http)
    return replace(settings, address=address, model=model, key_variable=variable)


def _entries(settings: SecondReaderSettings) -> dict[str, Any]:
    usual = asdict(SecondReaderSettings())
    return {name: value for name, value in asdict(settings).items() if value != usual[name]}


def _toml(settings: SecondReaderSettings) -> str:
    entries = _entries(settings)
    if not entries:
        return ""
    lines = (f"{name} = {json.dumps(value, ensure_ascii=False)}\n" for name, value in entries.items())
    return f"[{_TABLE}]\n" + "".join(lines)


def _loaded(text: str | None, where: str) -> dict[str, Any]:
    second_reader_table(text, where=where)
    return tomllib.loads(text or "")
