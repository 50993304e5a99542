"""What the house chooses of what goes to a buyer: the sound of what was struck, and who stamps sealed files."""

from __future__ import annotations

import json
import tomllib
from dataclasses import asdict, dataclass
from pathlib import Path

from shutline.car.errors import Problem, ShutlineError, UserError
from shutline.usecases.kept_files import FileState, former_text, keep, look_at
from shutline.usecases.settings import settings_file


@dataclass(frozen=True, slots=True)
class BuyerChoice:
    """What goes out, and how.

    `silent` tells that the film is silent where something is said that was struck; else it can be heard, and the page
    says that it was withdrawn. `stamp` is the address of a service (RFC 3161) that stamps what the workbench seals, ""
    for none.
    """

    silent: bool = False
    stamp: str = ""


@dataclass(frozen=True, slots=True)
class BuyerChoiceShown:
    """What is chosen, with the file it lies in, its mark and its states; `problems` where it cannot be used."""

    file: str
    chosen: BuyerChoice
    mark: str
    states: tuple[FileState, ...]
    problems: tuple[Problem, ...] = ()


def buyer_choice_file() -> Path:
    """Give where it is chosen: ``buyer.toml`` beside the settings."""
    return settings_file().parent / "buyer.toml"


def buyer_choice() -> BuyerChoice:
    """Give what is chosen; as shipped where nobody has chosen.

    Raises
    ------
    UserError
        The file cannot be read as TOML (slug ``settings-not-toml``), holds what it may not (``buyer-refused``), or
        names a service by what is no address (``stamp-address``).
    """
    return _read(look_at(buyer_choice_file()).text)


def buyer_choice_shown() -> BuyerChoiceShown:
    """Give what is chosen to be shown, with what is wrong with its file, if anything is."""
    kept = look_at(buyer_choice_file())
    try:
        return BuyerChoiceShown(str(kept.path), _read(kept.text), kept.mark, kept.states)
    except ShutlineError as error:
        return BuyerChoiceShown(str(kept.path), BuyerChoice(), kept.mark, kept.states, (error.problem,))


def keep_buyer_choice(chosen: BuyerChoice, *, author: str, expected: str | None = None) -> BuyerChoiceShown:
    """Keep what is chosen; what stood before is kept beside it.

    Parameters
    ----------
    chosen : BuyerChoice
        What shall hold from now on.
    author : str
        Who says so.
    expected : str, optional
        Mark of the file that the change was made to; `ChangedMeanwhileError` where another state is there.

    Raises
    ------
    UserError
        The address is none (slug ``stamp-address``).
    """
    from shutline.sealed.stamp import check_address

    if chosen.stamp:
        check_address(chosen.stamp)
    text = "".join(f"{name} = {json.dumps(value)}\n" for name, value in asdict(chosen).items())
    keep(buyer_choice_file(), "" if chosen == BuyerChoice() else text, author=author, expected=expected)
    return buyer_choice_shown()


def buyer_choice_of(state: str) -> BuyerChoice:
    """Give what was chosen in a former state; raises NotFoundError where there is none, UserError for a broken one."""
    return _read(former_text(buyer_choice_file(), state))


def buyer_choice_back(state: str, *, author: str, expected: str | None = None) -> BuyerChoiceShown:
    """Let a former state stand again, as a new one."""
    return keep_buyer_choice(buyer_choice_of(state), author=author, expected=expected)


def _read(text: str | None) -> BuyerChoice:
    from shutline.sealed.stamp import check_address

    name = buyer_choice_file().name
    try:
        raw = tomllib.loads("\0" if text is None else text)
    except tomllib.TOMLDecodeError as error:
        line = getattr(error, "lineno", None)
        raise UserError(
            Problem(
                slug="settings-not-toml",
                where=f"{name}, line {line}" if line else name,
                found="it cannot be read as TOML",
                allowed="entries such as silent = true, in UTF-8",
                advice="Mend the file, or choose anew.",
            )
        ) from error
    kinds = {"silent": bool, "stamp": str}
    for entry, value in raw.items():
        if entry not in kinds or type(value) is not kinds[entry]:
            raise UserError(
                Problem(
                    slug="buyer-refused",
                    where=f"{name}, {entry[:40]}",
                    found="an entry that there is not, or of another kind",
                    allowed="silent (true or false) and stamp (a text)",
                    advice="Mend that entry (docs/settings.md).",
                )
            )
    chosen = BuyerChoice(**raw)
    if chosen.stamp:
        check_address(chosen.stamp)
    return chosen
