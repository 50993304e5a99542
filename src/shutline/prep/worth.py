"""What a buyer knocks off for a finding: the firm's own table, or the market's word, in one type."""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass
from functools import cache

from shutline.car.findings import Severity
from shutline.car.vocabulary import vocabulary
from shutline.prep.model import NOUGHT, Range
from shutline.prep.rows import Row, laid, refused

TABLE = "worth.toml"
_ENTRIES = ("id", "parts", "groups", "conditions", "severities", "pounds", "share", "source")


@dataclass(frozen=True, slots=True)
class Worth:
    """What one finding takes off what is paid for the car, in pounds, and who says so.

    `footing` names what it stands on: ``table:ID`` for a row of the firm's table, or whatever the market side gives.
    """

    pounds: Range
    footing: str


@dataclass(frozen=True, slots=True)
class WorthRow:
    """A row of the table; exactly one of `pounds` and `share` (of the asking price) is given, empty lists fit all."""

    id: str
    parts: frozenset[str]
    groups: frozenset[str]
    conditions: frozenset[str]
    severities: frozenset[str]
    pounds: Range | None
    share: Range | None
    source: str

    def closeness(self, part: str, condition: str, severity: Severity | None) -> tuple[int, int, int] | None:
        """Tell how closely the row fits, the closest last in order; None where it does not fit."""
        group = vocabulary().parts[part].group
        named = self.parts or self.groups
        if named and part not in self.parts and group not in self.groups:
            return None
        if (self.conditions and condition not in self.conditions) or (
            self.severities and str(severity or "") not in self.severities
        ):
            return None
        return (2 if part in self.parts else 1 if named else 0, int(bool(self.conditions)), int(bool(self.severities)))


def worth_of(
    rows: Iterable[WorthRow], part: str, condition: str, severity: Severity | None, *, asking_pounds: float
) -> Worth | None:
    """Give what a finding takes off, after the closest row; None where no row fits.

    Parameters
    ----------
    rows : iterable of WorthRow
        In the order of the table; of rows that fit equally closely the last counts.
    part, condition : str
        Ids of the vocabulary.
    severity : Severity or None
        None where it was not said: only rows for any severity fit then.
    asking_pounds : float
        What is asked for the car, pounds; shares are of it.

    Raises
    ------
    ValueError
        The asking price is below nought or no number.

    Examples
    --------
    >>> found = worth_of(worth_rows(), "tyre", "wear", None, asking_pounds=9000)
    >>> found.footing, found.pounds.likely
    ('table:tyre', 90.0)
    """
    if not math.isfinite(asking_pounds) or asking_pounds < 0:
        raise ValueError(f"asking price {asking_pounds!r}: nought or more is needed")
    best: tuple[tuple[int, int, int], WorthRow] | None = None
    for row in rows:
        close = row.closeness(part, condition, severity)
        if close is not None and (best is None or close >= best[0]):
            best = (close, row)
    if best is None:
        return None
    row = best[1]
    if row.pounds is not None:
        return Worth(row.pounds, f"table:{row.id}")
    share = row.share or NOUGHT
    return Worth(
        Range(share.low * asking_pounds, share.likely * asking_pounds, share.high * asking_pounds), f"table:{row.id}"
    )


@cache
def worth_rows() -> tuple[WorthRow, ...]:
    """Read the shipped table once."""
    return with_own_worth("")


def with_own_worth(text: str, *, name: str = f"your {TABLE}") -> tuple[WorthRow, ...]:
    """Lay a firm's own rows over the shipped ones.

    Parameters
    ----------
    text : str
        TOML of the form of ours. A row with the id of one of ours changes what it gives, others come after ours;
        ``left_out = ["ID"]`` above the rows names rows of ours that do not count.
    name : str
        What to call the file when a row is refused.

    Raises
    ------
    UserError
        A row is not as it should be, by file and line (slug ``prep-table-refused``).
    """
    return tuple(_row(row, name) for row in laid(TABLE, heading="worth", own=text, called=name).rows.values())


def _row(row: Row, own: str) -> WorthRow:
    row.allow(_ENTRIES)
    words = vocabulary()
    given = [name for name in ("pounds", "share") if name in row.values]
    if len(given) == 2:
        # A firm's own pounds stand in the place of our share, and the other way round.
        given = [name for name in given if row.at(name).startswith(f"{own}, ")]
    if len(given) != 1:
        raise refused(row.where, "both pounds and a share, or neither", "one of them")
    amount = row.span(given[0], must=True)
    if given == ["share"] and amount.high > 1:
        raise row.refuse("share", f"share up to {amount.high:g}", "at most 1: the whole price")
    return WorthRow(
        id=row.text("id"),
        parts=_some(row, "parts", words.parts),
        groups=_some(row, "groups", words.groups),
        conditions=_some(row, "conditions", [one.id for one in words.conditions.values() if one.defect]),
        severities=_some(row, "severities", [one.value for one in Severity]),
        pounds=amount if given == ["pounds"] else None,
        share=amount if given == ["share"] else None,
        source=row.text("source"),
    )


def _some(row: Row, name: str, known: Iterable[str]) -> frozenset[str]:
    given = row.texts(name)
    if unknown := [one for one in given if one not in set(known)]:
        kind = "defects" if name == "conditions" else name
        raise row.refuse(name, f"{name} '{unknown[0]}'", f"{kind} of the vocabulary (docs/glossary.md)")
    return frozenset(given)
