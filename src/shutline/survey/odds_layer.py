"""The tables of what cannot be true together: the shipped rows, and the user's own laid over them."""

from __future__ import annotations

import re
import tomllib
from collections.abc import Callable, Mapping, Sequence
from functools import cache
from typing import Any, Protocol, TypeVar

from shutline.survey.odds_data import (
    Cue,
    OddsLimits,
    OddsTables,
    read_cues,
    read_exclusions,
    read_facts,
    read_not_fitted,
    read_traits,
    read_wholes,
)
from shutline.survey.tables import holds_phrase, parts_of, refused, shipped, table_rows, words_of

TABLES = (
    *("odds_exclusions.csv", "odds_within.csv", "odds_cues.csv", "odds_facts.csv", "odds_traits.csv"),
    "odds_not_fitted.csv",
)
LEFT_OUT, LIMITS = "odds_left_out.csv", "odds.toml"
LEFT_OUT_COLUMNS = ("id", "why", "source")

LONGEST_S, LONGEST_H, MOST_WORDS = 600.0, 24.0 * 366, 50
"""The most that a limit of seconds, of hours or of words may be."""

Texts = Mapping[str, str]


class _Named(Protocol):
    @property
    def id(self) -> str: ...


Row = TypeVar("Row", bound=_Named)


@cache
def odds_tables() -> OddsTables:
    """Read the shipped tables once."""
    return with_own_rows({})


def with_own_rows(own: Texts, *, names: Texts | None = None) -> OddsTables:
    """Lay rows of the user's own over the shipped tables.

    Parameters
    ----------
    own : mapping of str to str
        The user's files by their name, each of the form of ours: any of `TABLES`, and further `LEFT_OUT`, whose `id`
        names rows of ours that do not count (``odds_exclusions/denied``), and `LIMITS`, of which what is given counts.
        A row with the id of one of ours takes its place.
    names : mapping of str to str, optional
        What to call each file when a row of it is refused; its name when left out.

    Raises
    ------
    UserError
        A file is called otherwise, or a row is not as it should be (slug ``survey-table-refused``), with file and line.
    """
    called = {name: (names or {}).get(name, name) for name in own}
    for name in own:
        if name not in (*TABLES, LEFT_OUT, LIMITS):
            raise refused(called[name], "a file of that name", ", ".join((*TABLES, LEFT_OUT, LIMITS)))
    gone = _left_out(own.get(LEFT_OUT, ""), called.get(LEFT_OUT, LEFT_OUT))

    def laid(name: str, read: Callable[..., tuple[Row, ...]], **more: Any) -> tuple[Row, ...]:
        table = name.removesuffix(".csv")
        ours = read(shipped(name), source=name, **more)
        for id_, where in gone.items():
            if id_.partition("/")[0] == table and id_.partition("/")[2] not in {row.id for row in ours}:
                raise refused(where, f"id '{id_}', which no row of ours has", "the table and the id of a row of ours")
        theirs = read(own[name], source=called[name], **more) if name in own else ()
        rows = {row.id: row for row in ours if f"{table}/{row.id}" not in gone}
        return tuple((rows | {row.id: row for row in theirs}).values())

    traits = laid("odds_traits.csv", read_traits)
    every = (*traits, *read_traits(shipped("odds_traits.csv"), source="odds_traits.csv"))
    not_fitted = laid("odds_not_fitted.csv", read_not_fitted, traits=every)
    cues = laid("odds_cues.csv", read_cues)
    if "odds_cues.csv" in own:
        _try_cues(own["odds_cues.csv"], called["odds_cues.csv"])
    changing = read_facts(shipped("odds_facts.csv"), source="odds_facts.csv")
    if "odds_facts.csv" in own:
        changing |= read_facts(own["odds_facts.csv"], source=called["odds_facts.csv"])
    kept = {name: why for name, why in changing.items() if f"odds_facts/{name}" not in gone}
    limits = _limits(own.get(LIMITS, ""), called.get(LIMITS, LIMITS))
    return OddsTables(
        exclusions=laid("odds_exclusions.csv", read_exclusions),
        wholes=laid("odds_within.csv", read_wholes),
        cues=cues,
        traits=traits,
        # What such a car does not have goes with the trait that was left out.
        not_fitted=tuple(row for row in not_fitted if row.trait in {trait.id for trait in traits}),
        limits=OddsLimits(**limits["limits"]),
        changing=kept,
        several=limits["parts"],
        plain=limits["plain"],
        whole=limits["whole"],
    )


def _left_out(text: str, source: str) -> dict[str, str]:
    """Give the rows of ours that do not count, as table and id, each with where that is said."""
    if not text:
        return {}
    found = {}
    for where, row in table_rows(text, source=source, columns=LEFT_OUT_COLUMNS):
        table, _, name = row["id"].partition("/")
        if f"{table}.csv" not in TABLES or not name:
            raise refused(where, f"id '{row['id']}'", f"{'/ID, '.join(one.removesuffix('.csv') for one in TABLES)}/ID")
        found[row["id"]] = where
    return found


def _try_cues(text: str, source: str) -> None:
    """Refuse a row of the user's whose phrases are not in its example, or are in its counter-example."""
    from shutline.survey.odds_data import CUE_COLUMNS

    rows = table_rows(text, source=source, columns=CUE_COLUMNS, needed=("phrases", "example", "counter_example"))
    cues: Mapping[str, Cue] = {cue.id: cue for cue in read_cues(text, source=source)}
    for where, row in rows:
        cue = cues[row["id"]]
        if not holds_phrase(words_of(cue.example), cue.phrases):
            raise refused(where, f"no phrase of the row in its example {cue.example!r}", "an example that has one")
        if holds_phrase(words_of(cue.counter_example), cue.phrases):
            allowed = "words that sound alike and hold none"
            raise refused(where, f"a phrase of the row in its counter-example {cue.counter_example!r}", allowed)


def _limits(text: str, source: str) -> dict[str, Any]:
    ours = tomllib.loads(shipped(LIMITS))
    theirs = _toml(text, source)
    for table, entries in theirs.items():
        if table not in ours or not isinstance(entries, dict):
            raise refused(_line(text, source, table), f"'{table}'", "the tables [limits] and [several]")
        for name, value in entries.items():
            where = _line(text, source, name)
            if name not in ours[table]:
                raise refused(where, f"'{name}' in [{table}]", ", ".join(ours[table]))
            _check(name, value, where)
            ours[table][name] = value
    steps = ours["limits"]["round_steps"]
    return {
        "limits": {**ours["limits"], "round_steps": tuple(sorted(steps, reverse=True))},
        "parts": parts_of(" ".join(ours["several"]["parts"]), where=_line(text, source, "parts")),
        "plain": frozenset(ours["several"]["plain"]),
        "whole": parts_of(" ".join(ours["several"]["whole"]), where=_line(text, source, "whole")),
    }


def _check(name: str, value: Any, where: str) -> None:
    """Refuse a limit that can be none."""
    if name in ("parts", "plain", "whole"):
        if not isinstance(value, list) or not all(isinstance(one, str) for one in value):
            raise refused(where, f"{name} = {str(value)[:60]}", f'{name} = ["…", "…"]')
    elif name == "round_steps":
        if not isinstance(value, list) or not all(_is_whole(one, 100_000) for one in value):
            raise refused(where, f"{name} = {str(value)[:60]}", "a list of whole numbers from 1 to 100,000")
    elif name == "words_beside":
        if not _is_whole(value, MOST_WORDS):
            raise refused(where, f"{name} = {str(value)[:60]}", f"a whole number from 1 to {MOST_WORDS}")
    else:
        most = LONGEST_H if name.endswith("_h") else LONGEST_S
        if isinstance(value, bool) or not isinstance(value, int | float) or not 0 <= value <= most:
            raise refused(where, f"{name} = {str(value)[:60]}", f"a number from 0 to {most:g}")


def _is_whole(value: Any, most: int) -> bool:
    return isinstance(value, int) and not isinstance(value, bool) and 1 <= value <= most


def _toml(text: str, source: str) -> dict[str, Any]:
    try:
        return tomllib.loads(text)
    except tomllib.TOMLDecodeError as error:
        told = re.search(r"line (\d+)", str(error))
        line = told[1] if told else text.count("\n") + 1
        raise refused(f"{source}, line {line}", "it cannot be read as TOML", "tables and entries of TOML") from None


def _line(text: str, source: str, name: str) -> str:
    lines: Sequence[str] = text.splitlines()
    found = re.compile(rf"\s*\[?\s*{re.escape(name)}\b")
    return f"{source}, line {next((n for n, line in enumerate(lines, start=1) if found.match(line)), 1)}"
