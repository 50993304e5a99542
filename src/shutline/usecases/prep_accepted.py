"""Hours that were accepted before: by whom, on which day, and what stood there until then."""

from __future__ import annotations

import re
import tomllib
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from shutline.usecases.kept_files import BY_HAND, former_text, look_at

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path

    from shutline.prep.tables import PrepTables

SAID = re.compile(r"(?:; )?hours taken, \d+ tasks?, (\d{4}-\d{2}-\d{2}), accepted by (.*)$")
"""How the source of a row says that its hours were accepted: the day, and by whom."""

Hours = tuple[float, float, float]


@dataclass(frozen=True, slots=True)
class AcceptedBefore:
    """The hours of one trade of a job as somebody accepted them: `id` is ``job/trade``, `on` the day, ISO 8601.

    `before` are low, likely and high until then, `after` what was accepted. `holds` says whether the tables have it so
    now.
    """

    id: str
    job: str
    words: str
    trade: str
    trade_name: str
    before: Hours
    after: Hours
    on: str
    author: str
    holds: bool


@dataclass(frozen=True, slots=True)
class _Row:
    said: tuple[str, ...]
    each: dict[str, Hours]
    start: dict[str, Hours]


def accepted_before(path: Path, tables: PrepTables) -> tuple[AcceptedBefore, ...]:
    """Give what was accepted into a file of jobs, the newest first, from its states and from what it is now.

    Hours that somebody wrote by hand afterwards are nobody's acceptance, though the row still names who accepted.

    Raises
    ------
    BrokenWorldError
        The file or a state of it cannot be read (slug ``settings-not-read``).
    """
    present = look_at(path)
    texts = [(former_text(path, state.id), state.author) for state in reversed(present.states)]
    if not present.states or present.states[0].mark != present.mark:
        texts.append((present.text or "", BY_HAND))
    found: dict[tuple[object, ...], AcceptedBefore] = {}
    rows: dict[str, _Row] = {}
    for text, author in texts:
        new = _rows(text)
        if new is not None:
            for one in _accepted(rows, new, tables, by_hand=author == BY_HAND):
                # A row that was gone and came back was accepted once.
                found.setdefault((one.id, one.on, one.author, one.after), one)
            rows = new
    return tuple(reversed(found.values()))


def _accepted(
    rows: dict[str, _Row], new: dict[str, _Row], tables: PrepTables, *, by_hand: bool
) -> Iterator[AcceptedBefore]:
    for id_, row in new.items():
        former = rows.get(id_, _Row((), {}, {}))
        if not row.said or (by_hand and row.said == former.said):
            continue
        on, author = row.said
        job = tables.jobs.get(id_)
        for trade, start in row.start.items():
            after = row.each[trade]
            before = former.each.get(trade, start)
            if after == before:
                continue
            line = next((one for one in job.labour if one.trade == trade), None) if job else None
            yield AcceptedBefore(
                id=f"{id_}/{trade}",
                job=id_,
                words=job.name if job else id_,
                trade=trade,
                trade_name=tables.trades[trade].name if trade in tables.trades else trade,
                before=before,
                after=after,
                on=on,
                author=author,
                holds=line is not None and (line.each.low, line.each.likely, line.each.high) == after,
            )


def _rows(text: str) -> dict[str, _Row] | None:
    """Read the rows of jobs, those that are as we write them; None where the text is no TOML."""
    try:
        rows: Any = tomllib.loads(text).get("job", [])
    except tomllib.TOMLDecodeError:
        return None
    found = {}
    for row in _tables(rows):
        said = SAID.search(str(row.get("source", "")))
        each, start = (
            {str(line.get("trade")): hours for line in _tables(row.get("labour")) if (hours := _hours(line.get(name)))}
            for name in ("each", "before")
        )
        start = {trade: hours for trade, hours in start.items() if trade in each}
        found[str(row.get("id"))] = _Row(said.groups() if said else (), each, start)
    return found


def _tables(value: object) -> list[dict[str, Any]]:
    return [one for one in value if isinstance(one, dict)] if isinstance(value, list) else []


def _hours(value: object) -> Hours | None:
    if not isinstance(value, list) or len(value) != 3 or not all(isinstance(one, int | float) for one in value):
        return None
    low, likely, high = map(float, value)
    return low, likely, high
