"""The house: the firm that reports are made for, where it is reached, and how its descriptions sign."""

from __future__ import annotations

import json
import re
from dataclasses import asdict, dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any

from shutline.car.errors import Problem, UserError
from shutline.usecases.kept_files import FileState
from shutline.usecases.kept_settings import KeptSettings

if TYPE_CHECKING:
    from shutline.publish.report import House

LONGEST = 120
"""The longest line, characters."""

MOST_LINES = 6
"""The most lines of an address."""

_TELEPHONE = re.compile(r"\+?[0-9 ()./-]+(?:(?:ext\.?|x) ?[0-9]+)?")
_ALLOWED = "name, telephone and sign (texts) and lines (a list of texts)"


@dataclass(frozen=True, slots=True)
class HouseDetails:
    """What is said of the house; all empty until somebody says it. `lines` are those of its address."""

    name: str = ""
    lines: tuple[str, ...] = ()
    telephone: str = ""
    sign: str = ""

    def on_report(self) -> House | None:
        """Give what stands on the front of a report; None while the house has no name."""
        from shutline.publish.report import House

        if not self.name:
            return None
        return House(self.name, (*self.lines, *((self.telephone,) if self.telephone else ())), self.telephone)


@dataclass(frozen=True, slots=True)
class HouseShown:
    """The details with the file they lie in, its mark and its states; `problems` where the file cannot be used."""

    file: str
    details: HouseDetails
    mark: str
    states: tuple[FileState, ...]
    problems: tuple[Problem, ...] = ()


def house_file() -> Path:
    """Give where the details lie: ``house.toml`` beside the settings."""
    return _KEPT.path()


def house() -> HouseDetails:
    """Read the details.

    Raises
    ------
    UserError
        The file cannot be read as TOML (slug ``settings-not-toml``) or holds what it may not (``house-refused``).
    """
    return _KEPT.present()


def no_house(car: str, what: str) -> tuple[Problem, ...]:
    """Tell that what goes to a buyer names no seller; nothing where the house has a name."""
    if house().name:
        return ()
    return (
        Problem(
            slug="house-not-set",
            where=car,
            found=f"{what} names no seller, and no way to ask",
            allowed="the name of the house, its address and its telephone",
            advice="Set it in the workbench under Settings, or in house.toml (docs/settings.md), and make it again.",
        ),
    )


def house_shown() -> HouseShown:
    """Give the details to be shown, with what is wrong with their file, if anything is."""
    return HouseShown(*_KEPT.shown())


def keep_house(details: HouseDetails, *, author: str, expected: str | None = None) -> HouseShown:
    """Keep the details; what stood before is kept beside them.

    Parameters
    ----------
    details : HouseDetails
        Lines without anything in them are left out, and spaces around and between words closed up.
    author : str
        Who says so.
    expected : str, optional
        Mark of the file that the change was made to.

    Raises
    ------
    UserError
        Something in them is not allowed (slug ``house-refused``); `ChangedMeanwhileError` where somebody changed them.
    """
    _KEPT.keep(_tidy(asdict(details)), author=author, expected=expected)
    return house_shown()


def house_of(state: str) -> HouseDetails:
    """Give the details of a former state; raises NotFoundError where there is none, UserError where it is broken."""
    return _KEPT.former(state)


def house_back(state: str, *, author: str, expected: str | None = None) -> HouseShown:
    """Let a former state stand again, as a new one."""
    return keep_house(house_of(state), author=author, expected=expected)


def _tidy(raw: dict[str, Any]) -> HouseDetails:
    """Hold values to what is allowed."""
    kinds = {"name": str, "lines": (list, tuple), "telephone": str, "sign": str}
    for entry, value in raw.items():
        if entry not in kinds or not isinstance(value, kinds[entry]):  # type: ignore[arg-type]
            raise _refused(entry, "an entry that there is not, or of another kind", _ALLOWED)
    if not all(isinstance(line, str) for line in raw.get("lines", ())):
        raise _refused("lines", "something that is no text", _ALLOWED)
    lines = tuple(line for line in (_line("lines", line) for line in raw.get("lines", ())) if line)
    if len(lines) > MOST_LINES:
        raise _refused("lines", f"{len(lines)} lines", f"at most {MOST_LINES} lines of address")
    telephone = _line("telephone", raw.get("telephone", ""))
    if telephone and not (_TELEPHONE.fullmatch(telephone) and sum(letter.isdigit() for letter in telephone) >= 5):
        raise _refused(
            "telephone",
            "something else than a telephone number",
            "at least five digits, with spaces, brackets, hyphens, a + before and an extension (ext 12) after",
        )
    return HouseDetails(_line("name", raw.get("name", "")), lines, telephone, _line("sign", raw.get("sign", "")))


def _line(entry: str, text: str) -> str:
    tidy = " ".join(text.split())
    if not tidy.isprintable():
        raise _refused(entry, "characters that cannot be printed", "letters, digits and signs on one line")
    if len(tidy) > LONGEST:
        raise _refused(entry, f"{len(tidy)} characters", f"at most {LONGEST} characters on a line")
    return tidy


def _toml(details: HouseDetails) -> str:
    """Write the details as TOML; a string of JSON is one of TOML too, for all that `_line` lets through."""
    entries: list[str] = []
    for entry, value in asdict(details).items():
        if isinstance(value, str):
            entries.append(f"{entry} = {_quoted(value)}\n" if value else "")
        elif value:
            entries.append(f"{entry} = [{', '.join(map(_quoted, value))}]\n")
    return "".join(entries)


def _quoted(text: str) -> str:
    return json.dumps(text, ensure_ascii=False)


def _refused(entry: str, found: str, allowed: str) -> UserError:
    names = {"name": "name of the house", "lines": "address", "telephone": "telephone", "sign": "how descriptions sign"}
    return UserError(
        Problem(
            slug="house-refused",
            where=f"house, {names.get(entry, entry[:40])}",
            found=found,
            allowed=allowed,
            advice="Mend it, and keep it again.",
        )
    )


_KEPT = KeptSettings(
    "house.toml",
    read=_tidy,
    shipped=HouseDetails,
    write=_toml,
    example='name = "Halloran & Pike"',
    advice="Mend the file, or keep the details anew.",
)
