"""What the firm says of its ledger: country, quarters, VAT number, cost of a day; and its own rows over the tables."""

from __future__ import annotations

import json
import re
from dataclasses import asdict, dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any

from shutline.car.errors import BadInputError, Problem, UserError
from shutline.usecases.house import house
from shutline.usecases.kept_settings import KeptSettings
from shutline.usecases.settings import settings_file

if TYPE_CHECKING:
    from shutline.ledger import Money, Party, Rules
    from shutline.ledger.rules import Country
    from shutline.usecases.kept_files import FileState

_VAT_NUMBER = re.compile(r"[A-Z]{0,3} ?[0-9][0-9A-Z .-]{3,20}|", re.ASCII)
_KINDS = {"country": str, "take_from_memory": bool, "stagger": int, "holding_a_day": str, "vat_number": str}


@dataclass(frozen=True, slots=True)
class LedgerSettings:
    """What is chosen.

    `country` names the rules, of which those from memory hold only with `take_from_memory`; `stagger` are the quarters
    the firm was given; `holding_a_day` is what a car costs each day it stands, as an amount, empty for nothing.
    """

    country: str = "gb"
    take_from_memory: bool = False
    stagger: int = 1
    holding_a_day: str = ""
    vat_number: str = ""


@dataclass(frozen=True, slots=True)
class LedgerSettingsShown:
    """What is chosen, the file it lies in, and the folder of the firm's own rows with the files there.

    `mark` and `states` are the file's; `countries` are those that may be chosen.
    """

    file: str
    chosen: LedgerSettings
    mark: str
    states: tuple[FileState, ...]
    folder: str
    tables: tuple[str, ...]
    countries: tuple[Country, ...]
    caution: str
    problems: tuple[Problem, ...] = ()


def ledger_settings() -> LedgerSettings:
    """Read what is chosen; raises UserError where the file holds what it may not (slug ``ledger-settings``)."""
    return _KEPT.present()


def ledger_settings_shown() -> LedgerSettingsShown:
    """Give what is chosen to be shown, with what is wrong with its file or with a row of the firm's own."""
    shown = _KEPT.shown()
    from shutline.ledger.rules import countries

    problems, caution = shown.problems, ""
    try:
        caution = _rules(shown.chosen).caution
    except UserError as error:
        problems = (*problems, error.problem)
    tables = tuple(name for name, _ in _own_tables())
    return LedgerSettingsShown(
        file=shown.file,
        chosen=shown.chosen,
        mark=shown.mark,
        states=shown.states,
        folder=str(tables_folder()),
        tables=tables,
        countries=countries(),
        caution=caution,
        problems=problems,
    )


def keep_ledger_settings(chosen: LedgerSettings, *, author: str, expected: str | None = None) -> LedgerSettingsShown:
    """Keep a choice; what stood before is kept beside it.

    Parameters
    ----------
    chosen : LedgerSettings
        What is chosen.
    author : str
        Who says so.
    expected : str, optional
        Mark of the file that the change was made to; `ChangedMeanwhileError` where another state is there.

    Raises
    ------
    UserError
        It may not be (slug ``ledger-settings``).
    """
    _KEPT.keep(_read(asdict(chosen)), author=author, expected=expected)
    return ledger_settings_shown()


def ledger_settings_of(state: str) -> LedgerSettings:
    """Give what was chosen in a former state; raises NotFoundError where there is none, UserError for a broken one."""
    return _KEPT.former(state)


def ledger_settings_back(state: str, *, author: str, expected: str | None = None) -> LedgerSettingsShown:
    """Let a former state stand again, as a new one."""
    return keep_ledger_settings(ledger_settings_of(state), author=author, expected=expected)


def ledger_rules() -> Rules:
    """Give the rules of the chosen country, the firm's own rows laid over them; raises as `ledger.rules_of` does."""
    return _rules(ledger_settings())


def holding_a_day(settings: LedgerSettings, currency: str) -> Money | None:
    """Give what a car costs each day it stands; None for nothing."""
    from shutline.ledger import Money

    return Money.of(settings.holding_a_day, currency, where="holding a day") if settings.holding_a_day else None


def firm() -> Party:
    """Give the firm as it stands on an invoice: the details of the house, and the VAT number."""
    from shutline.ledger import Party

    details = house()
    return Party(details.name, ", ".join(details.lines), ledger_settings().vat_number)


def tables_folder() -> Path:
    """Give where the firm's own rows lie: the folder ``ledger`` beside the settings."""
    return settings_file().parent / "ledger"


def _rules(chosen: LedgerSettings) -> Rules:
    from shutline.ledger import rules_of

    own = {}
    for name, data in _own_tables():
        try:
            own[name] = data.decode("utf-8-sig")
        except UnicodeDecodeError as error:
            raise BadInputError(
                Problem(
                    slug="ledger-table-refused",
                    where=f"{name}, line {data[: error.start].count(10) + 1}",
                    found=f"byte {error.start} is no UTF-8",
                    allowed="UTF-8",
                    advice="Save the file as UTF-8.",
                )
            ) from None
    return rules_of(chosen.country, own=own, take_from_memory=chosen.take_from_memory)


def _own_tables() -> tuple[tuple[str, bytes], ...]:
    return tuple((file.name, file.read_bytes()) for file in sorted(tables_folder().glob("*.csv")))


def _read(raw: dict[str, Any]) -> LedgerSettings:
    for entry, value in raw.items():
        if entry not in _KINDS or type(value) is not _KINDS[entry]:
            raise _refused(entry, "an entry that there is not, or of another kind", ", ".join(_KINDS))
    chosen = LedgerSettings(**raw)
    if not _VAT_NUMBER.fullmatch(chosen.vat_number):
        raise _refused("vat_number", repr(chosen.vat_number[:40]), "letters of the country and digits, or nothing")
    entry = "country"
    try:
        rules = _rules(chosen)
        entry = "holding_a_day"
        amount = holding_a_day(chosen, rules.currency)
    except BadInputError as error:
        if error.problem.slug == "ledger-table-refused":
            raise
        raise _refused(entry, error.problem.found, error.problem.allowed) from error
    if amount is not None and amount.amount < 0:
        raise _refused("holding_a_day", amount.told(), "nought or more")
    if chosen.stagger not in rules.staggers:
        raise _refused("stagger", str(chosen.stagger), ", ".join(map(str, rules.staggers)))
    return chosen


def _write(chosen: LedgerSettings) -> str:
    shipped = asdict(LedgerSettings())
    values = asdict(chosen)
    # A string of JSON is one of TOML too, and so are a whole number and true.
    return "".join(f"{name} = {json.dumps(value)}\n" for name, value in values.items() if value != shipped[name])


def _refused(entry: str, found: str, allowed: str) -> UserError:
    return UserError(
        Problem(
            slug="ledger-settings",
            where=f"settings of the ledger, {entry[:40]}",
            found=found,
            allowed=allowed,
            advice="Mend it, and keep it again.",
        )
    )


_KEPT = KeptSettings(
    "ledger.toml",
    read=_read,
    shipped=LedgerSettings,
    write=_write,
    example="stagger = 2",
    advice="Mend the file, or keep the settings anew.",
)
