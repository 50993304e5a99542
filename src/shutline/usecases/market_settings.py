"""What the firm says of its market: entries in place of those shipped, premiums of auctions, an index of prices."""

from __future__ import annotations

import csv
import io
import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING

from shutline.car.errors import BadInputError, Problem, UserError
from shutline.market.firm import NAME, Firm, Value, entries, firm_of, firm_text, shipped_value
from shutline.usecases.comparables_intake import text_of
from shutline.usecases.kept_settings import TEXT, KeptSettings

if TYPE_CHECKING:
    from shutline.market import Premium, Tier
    from shutline.market.firm import IndexRow
    from shutline.usecases.kept_files import FileState

INDEX_COLUMNS = ("day", "level", "source")


@dataclass(frozen=True, slots=True)
class MarketEntry:
    """One entry: what it is, what is shipped, what the firm says (None where nothing), and from where to where."""

    id: str
    words: str
    shipped: Value
    own: Value | None
    form: str
    low: float
    high: float


@dataclass(frozen=True, slots=True)
class PremiumShown:
    """What an auction takes of its buyer, as `market.Premium`; `cap` is None where there is none."""

    name: str
    tiers: tuple[Tier, ...]
    vat_percent: float
    cap: float | None
    counts: bool


@dataclass(frozen=True, slots=True)
class MarketSettingsShown:
    """All entries, ours and theirs, the premiums and the index, with the file, its mark and its states."""

    file: str
    entries: tuple[MarketEntry, ...]
    premiums: tuple[PremiumShown, ...]
    index: tuple[IndexRow, ...]
    mark: str
    states: tuple[FileState, ...]
    problems: tuple[Problem, ...] = ()


def firm_market() -> Firm:
    """Read what the firm says; with nothing said it is as shipped.

    Raises
    ------
    UserError
        Its file ``market.toml`` beside the settings is no TOML (slug ``settings-not-toml``) or holds what it may not
        (``market-settings``), with file and line.
    """
    return _KEPT.present()


def market_settings_shown() -> MarketSettingsShown:
    """Give all that is set, with what is wrong with the file, if anything is; then what is shipped holds."""
    shown = _KEPT.shown()
    firm = shown.chosen
    found = (
        MarketEntry(one.id, one.words, shipped_value(one.id), firm.own.get(one.id), one.form, one.low, one.high)
        for one in entries().values()
    )
    premiums = (
        PremiumShown(name, one.tiers, one.vat_percent, None if math.isinf(one.cap) else one.cap, one.counts)
        for name, one in firm.premiums.items()
    )
    told = (shown.mark, shown.states, shown.problems)
    return MarketSettingsShown(shown.file, tuple(found), tuple(premiums), firm.rows, *told)


def keep_market_settings(firm: Firm, *, author: str, expected: str | None = None) -> MarketSettingsShown:
    """Keep what the firm says, what stood before beside it.

    Raises
    ------
    UserError
        It may not be (slug ``market-settings``), or somebody changed it since `expected` (``stale-settings``).
    """
    try:
        checked = firm_of(firm_text(firm))
    except UserError as error:
        # It stands in no file yet: which entry it is tells enough.
        where = error.problem.where.rpartition(", ")[2]
        raise UserError(replace(error.problem, where=where)) from error
    _KEPT.keep(checked, author=author, expected=expected)
    return market_settings_shown()


def change_market_settings(
    entries_said: Mapping[str, str | None],
    *,
    premiums: Mapping[str, Premium | None] | None = None,
    index: tuple[IndexRow, ...] | None = None,
    author: str,
    expected: str | None = None,
) -> MarketSettingsShown:
    """Change some of what the firm says, and leave the rest.

    Parameters
    ----------
    entries_said : mapping of str to str or None
        Entries by their ids as text, ``money.interest`` and "8.5", ranges as "50, 100, 200"; None for what is shipped.
    premiums : mapping of str to Premium or None, optional
        Auctions by name; None takes one away.
    index : tuple of IndexRow, optional
        The whole index anew; an empty one takes it away.
    author, expected
        As `keep_market_settings`, which tells also what is raised.
    """
    present = firm_market()
    own = {**present.own, **{id_: entry_of(id_, text) for id_, text in entries_said.items() if text is not None}}
    for id_, text in entries_said.items():
        if text is None:
            _known(id_)
            own.pop(id_, None)
    there = {**present.premiums, **(premiums or {})}
    kept = {name: one for name, one in there.items() if one is not None}
    rows = present.rows if index is None else index
    return keep_market_settings(Firm(own, kept, rows), author=author, expected=expected)


def former_market_settings(state: str) -> Firm:
    """Give what the firm said in a former state of the file; raises NotFoundError where there is none."""
    return _KEPT.former(state)


def market_settings_back(state: str, *, author: str, expected: str | None = None) -> MarketSettingsShown:
    """Let a former state stand again, as a new one."""
    return keep_market_settings(former_market_settings(state), author=author, expected=expected)


def premium_of(tiers: Sequence[str], *, vat: str = "", cap: str = "", counts: bool = False) -> Premium:
    """Make what an auction takes of its buyer of entries as text.

    Parameters
    ----------
    tiers : sequence of str
        Each from which hammer price on, per cent of what is above, and pounds: ``1000:5:20``; the last may be left out.
    vat, cap : str
        Per cent of tax on it, and the most it takes; empty for none.
    counts : bool
        It is part of the price that the margin is counted from.

    Raises
    ------
    UserError
        It cannot be (slug ``market-settings``).
    """
    from shutline.market import Premium, Tier

    try:
        found = [Tier(*(float(part) for part in one.split(":"))) for one in tiers]
        return Premium(tuple(found), float(vat or 0), float(cap) if cap else math.inf, counts)
    except (TypeError, ValueError):
        told = ", ".join(tiers)[:60] or "no tiers"
        allowed = "rising tiers as 0:10 or 1000:5:20, from 0 to 100 per cent, and figures of nought or more"
        raise _refused("premium", told, allowed) from None


def entry_of(id_: str, text: str) -> Value:
    """Read an entry as text; raises UserError for one that is no number (slug ``market-settings``)."""
    known = entries()[_known(id_)]
    try:
        if known.form == "range":
            low, likely, high = (float(one) for one in text.split(","))
            return low, likely, high
        return int(text) if known.form == "whole" else float(text)
    except ValueError:
        allowed = {"range": "three numbers: 50, 100, 200", "whole": "a whole number", "number": "a number"}[known.form]
        raise _refused(id_, repr(text[:40]), allowed) from None


def index_of(file: Path) -> tuple[IndexRow, ...]:
    """Read an index of prices: CSV with the headings day, level and source.

    Raises
    ------
    NotFoundError
        There is no such file, or it cannot be read.
    BadInputError
        A row is not as it should be (slug ``market-settings``), with file and line.
    """
    return index_of_text(text_of(file), called=file.name)


def index_of_text(text: str, *, called: str = "index") -> tuple[IndexRow, ...]:
    """As `index_of`, of the text of a file; an empty one is no index."""
    reader = csv.reader(io.StringIO(text.removeprefix("\ufeff"), newline=""), strict=True)
    if not text.strip():
        return ()
    try:
        found = tuple(_index_rows(reader))
        return firm_of(firm_text(Firm(rows=found)), called=called).rows
    except UserError as error:
        # It was read anew from a text of our own, whose lines are not those of the file.
        raise BadInputError(replace(error.problem, where=called)) from error
    except (ValueError, csv.Error) as error:
        what, _, allowed = str(error).partition("; ")
        where = f"{called}, line {max(1, reader.line_num)}"
        allowed = allowed or "rows such as 2026-11-01, 104.5, our own sales"
        raise BadInputError(Problem("market-settings", where, what, allowed, "Mend the line.")) from None


def _index_rows(reader: Iterator[list[str]]) -> Iterator[IndexRow]:
    from shutline.market.firm import IndexRow

    heading = tuple(one.strip().casefold() for one in next(reader, ()))
    if heading != INDEX_COLUMNS:
        raise ValueError(f"the headings {', '.join(heading)[:100]}; {', '.join(INDEX_COLUMNS)}")
    for row in reader:
        if any(one.strip() for one in row):
            if len(row) != len(INDEX_COLUMNS):
                raise ValueError(f"{len(row)} entries; {', '.join(INDEX_COLUMNS)}")
            yield IndexRow(_day(row[0]), _level(row[1]), row[2])


def _day(text: str) -> date:
    try:
        return date.fromisoformat(text.strip())
    except ValueError:
        raise ValueError(f"day {text[:40]!r}; a day as 2026-11-01") from None


def _level(text: str) -> float:
    try:
        return float(text)
    except ValueError:
        raise ValueError(f"level {text[:40]!r}; a number, such as 104.5") from None


def _known(id_: str) -> str:
    if id_ not in entries():
        raise _refused(id_[:80], "there is no such entry", ", ".join(entries()))
    return id_


def _refused(where: str, found: str, allowed: str) -> UserError:
    return UserError(Problem("market-settings", where, found, allowed, "Give it so; nothing was changed."))


_KEPT = KeptSettings(
    NAME,
    read=lambda raw: firm_of(raw[TEXT]),
    shipped=Firm,
    write=firm_text,
    example="interest = 8.5 under [money]",
    advice="Mend the file, or keep the settings anew.",
    lines=True,
)
