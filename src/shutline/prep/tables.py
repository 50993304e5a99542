"""What preparation goes by: jobs, trades, cautions, what must be done, and what no job puts right."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from functools import cache
from graphlib import CycleError, TopologicalSorter

from shutline.car.findings import Finding, Remedy, Severity
from shutline.car.vocabulary import vocabulary
from shutline.prep.model import Cure, Job, Labour, Range, Worse
from shutline.prep.rows import Laid, Row, laid, refused

FILES = ("jobs.toml", "trades.toml", "cautions.toml", "musts.toml", "no_jobs.toml")
"""Each may have a file of the user's laid over it."""

_JOB = (
    *("id", "name", "remedy", "cures", "labour", "materials", "outside", "whole", "after", "waits", "holds_bay"),
    *("bay", "worse", "cause", "cautions", "supplier", "source"),
)
_LONGEST_WAIT_H = 2000.0


@dataclass(frozen=True, slots=True)
class Trade:
    """A trade, what its hour costs in pounds without tax, and whether it comes with tax on top."""

    id: str
    name: str
    rate: Range
    taxed: bool
    source: str


@dataclass(frozen=True, slots=True)
class Caution:
    """A warning that goes with jobs."""

    id: str
    title: str
    text: str
    source: str


@dataclass(frozen=True, slots=True)
class Ground:
    """Findings that a row speaks of: parts, conditions and degrees of severity, empty for all."""

    parts: frozenset[str]
    conditions: frozenset[str]
    severities: frozenset[str]

    def holds(self, finding: Finding, severity: str) -> bool:
        """Tell whether a finding is among them, taken as of a degree of severity."""
        return (
            (not self.parts or finding.part in self.parts)
            and (not self.conditions or finding.condition in self.conditions)
            and (not self.severities or severity in self.severities)
        )


@dataclass(frozen=True, slots=True)
class Must:
    """Findings that have to be put right; `reason` is safety or roadworthiness, `why` says more."""

    id: str
    of: Ground
    reason: str
    why: str
    source: str


@dataclass(frozen=True, slots=True)
class NoJob:
    """Findings that no job puts right, and why."""

    id: str
    of: Ground
    why: str
    source: str


@dataclass(frozen=True, slots=True)
class PrepTables:
    """All of it, by id in the order of the files; `vat_percent` goes on what is bought in."""

    jobs: Mapping[str, Job]
    trades: Mapping[str, Trade]
    vat_percent: float
    cautions: Mapping[str, Caution]
    musts: tuple[Must, ...]
    no_jobs: tuple[NoJob, ...]

    @property
    def rates(self) -> dict[str, Range]:
        """What an hour of each trade costs, in pounds without tax."""
        return {trade.id: trade.rate for trade in self.trades.values()}


@cache
def prep_tables() -> PrepTables:
    """Read the shipped tables once."""
    return with_own_rows({})


def with_own_rows(own: Mapping[str, str], *, names: Mapping[str, str] | None = None) -> PrepTables:
    """Lay rows of the user's own over the shipped tables.

    Parameters
    ----------
    own : mapping of str to str
        The user's files by their name, any of `FILES`. A row with the id of ours changes the entries that it gives;
        ``left_out`` at the top of a file names rows of ours that do not count.
    names : mapping of str to str, optional
        What to call each file when a row of it is refused; its name when left out.

    Raises
    ------
    UserError
        A file is called otherwise, a row is not as it should be, or jobs come before each other in a ring (slug
        ``prep-table-refused``), with file and line.
    """
    called = {name: (names or {}).get(name, name) for name in own}
    for name in own:
        if name not in FILES:
            raise refused(called[name], "a file of that name", ", ".join(FILES))

    def file(name: str, heading: str, *head: str) -> Laid:
        return laid(name, heading=heading, own=own.get(name, ""), called=called.get(name, name), head=head)

    trades_file = file("trades.toml", "trade", "vat")
    trades = {id_: _trade(row) for id_, row in trades_file.rows.items()}
    cautions = {id_: _caution(row) for id_, row in file("cautions.toml", "caution").rows.items()}
    jobs_file = file("jobs.toml", "job", "sets")
    sets = _sets(jobs_file.head.get("sets"))
    read = {id_: _job(row, sets, trades, cautions) for id_, row in jobs_file.rows.items()}
    jobs = _ordered(read, jobs_file.rows, trades)
    vat = trades_file.head["vat"]
    vat.allow(("percent",))
    return PrepTables(
        jobs=jobs,
        trades=trades,
        vat_percent=vat.number("percent", most=100.0),
        cautions=cautions,
        musts=tuple(_must(row, sets) for row in file("musts.toml", "must").rows.values()),
        no_jobs=tuple(_no_job(row, sets) for row in file("no_jobs.toml", "no_job").rows.values()),
    )


def _trade(row: Row) -> Trade:
    row.allow(("id", "name", "rate", "taxed", "source"))
    rate = row.span("rate", must=True)
    return Trade(row.text("id"), row.text("name"), rate, row.flag("taxed"), row.text("source"))


def _caution(row: Row) -> Caution:
    row.allow(("id", "title", "text", "source"))
    return Caution(row.text("id"), row.text("title"), row.text("text"), row.text("source"))


def _must(row: Row, sets: Mapping[str, tuple[str, ...]]) -> Must:
    row.allow(("id", "parts", "conditions", "severities", "reason", "why", "source"))
    reason = row.text("reason")
    if reason not in ("safety", "roadworthiness"):
        raise row.refuse("reason", f"reason '{reason}'", "safety or roadworthiness")
    return Must(row.text("id"), _ground(row, sets), reason, row.text("why"), row.text("source"))


def _no_job(row: Row, sets: Mapping[str, tuple[str, ...]]) -> NoJob:
    row.allow(("id", "parts", "conditions", "severities", "why", "source"))
    return NoJob(row.text("id"), _ground(row, sets), row.text("why"), row.text("source"))


def _ground(row: Row, sets: Mapping[str, tuple[str, ...]]) -> Ground:
    cure = _cure(row, sets)
    return Ground(frozenset(cure.parts), frozenset(cure.conditions), frozenset(cure.severities))


def _job(
    row: Row, sets: Mapping[str, tuple[str, ...]], trades: Mapping[str, Trade], cautions: Mapping[str, Caution]
) -> Job:
    row.allow(_JOB)
    remedy = row.text("remedy")
    if remedy not in [one.value for one in Remedy if one is not Remedy.MONITOR]:
        raise row.refuse("remedy", f"remedy '{remedy}'", ", ".join(one for one in Remedy if one is not Remedy.MONITOR))
    for caution in row.texts("cautions"):
        if caution not in cautions:
            raise row.refuse("cautions", f"caution '{caution}'", ", ".join(cautions))
    labour = tuple(_labour(one, trades) for one in row.parts_of("labour"))
    if len({line.trade for line in labour}) != len(labour):
        raise row.refuse("labour", "a trade a second time", "each trade once")
    cures = []
    for one in row.parts_of("cures"):
        one.allow(("parts", "conditions", "severities"))
        cures.append(_cure(one, sets))
    if not cures or not all(cure.conditions for cure in cures):
        raise row.refuse("cures", "nothing that it cures", "at least one table with conditions")
    return Job(
        id=row.text("id"),
        name=row.text("name"),
        cures=tuple(cures),
        labour=labour,
        materials=row.span("materials"),
        outside=row.span("outside"),
        whole=row.flag("whole", otherwise=False),
        after=row.texts("after"),
        waits=row.number("waits", most=_LONGEST_WAIT_H),
        holds_bay=row.flag("holds_bay", otherwise=False),
        bay=row.text("bay", must=False),
        worse=_worse(row.part("worse")),
        cause=row.text("cause", must=False),
        cautions=row.texts("cautions"),
        source=row.text("source"),
        remedy=remedy,
        supplier=row.text("supplier", must=False),
    )


def _labour(row: Row, trades: Mapping[str, Trade]) -> Labour:
    row.allow(("trade", "each", "setup", "before"))
    trade = row.text("trade")
    if trade not in trades:
        raise row.refuse("trade", f"trade '{trade}'", ", ".join(trades))
    before = row.span("before") if "before" in row.values else None
    return Labour(trade, row.span("each", must=True), row.span("setup"), before)


def _worse(row: Row | None) -> Worse | None:
    if row is None:
        return None
    row.allow(("chance", "factor"))
    return Worse(row.number("chance", most=1.0), row.span("factor", least=1.0, must=True))


def _cure(row: Row, sets: Mapping[str, tuple[str, ...]]) -> Cure:
    known = vocabulary()
    parts: dict[str, None] = {}
    for name in row.texts("parts"):
        if name in known.parts:
            parts[name] = None
        elif name.startswith("@") and name[1:] in sets:
            parts |= dict.fromkeys(sets[name[1:]])
        else:
            raise row.refuse("parts", f"part '{name}'", "ids of the vocabulary, or @ and the name of a group or a set")
    defects = [one.id for one in known.conditions.values() if one.defect]
    conditions: dict[str, None] = {}
    for name in row.texts("conditions"):
        if name != "@defect" and name not in defects:
            raise row.refuse("conditions", f"condition '{name}'", f"@defect, or {', '.join(defects)}")
        conditions |= dict.fromkeys(defects if name == "@defect" else (name,))
    for name in row.texts("severities"):
        if name not in list(Severity):
            raise row.refuse("severities", f"severity '{name}'", ", ".join(Severity))
    return Cure(tuple(parts), tuple(conditions), row.texts("severities"))


def _sets(row: Row | None) -> dict[str, tuple[str, ...]]:
    """Give the parts of each group of the vocabulary and of each set of the table."""
    known = vocabulary()
    found: dict[str, tuple[str, ...]] = {
        group: tuple(part.id for part in known.parts.values() if part.group == group) for group in known.groups
    }
    for name in () if row is None else row.values:
        if row is not None:
            unknown = [part for part in row.texts(name) if part not in known.parts]
            if unknown or name in known.groups:
                raise row.refuse(name, f"set '{name}' with '{', '.join(unknown)}'", "ids of parts; a name of its own")
            found[name] = row.texts(name)
    return found


def _ordered(jobs: Mapping[str, Job], rows: Mapping[str, Row], trades: Mapping[str, Trade]) -> dict[str, Job]:
    """Give the jobs with all that come first named one by one; refuse a ring."""
    found = {id_: _with_after(job, rows[id_], jobs, trades) for id_, job in jobs.items()}
    try:
        TopologicalSorter({id_: job.after for id_, job in found.items()}).prepare()
    except CycleError as error:
        ring: list[str] = error.args[1]
        raise rows[ring[0]].refuse(
            "after", f"jobs that come before each other: {' → '.join(ring)}", "an order without a ring"
        ) from None
    return found


def _with_after(job: Job, row: Row, jobs: Mapping[str, Job], trades: Mapping[str, Trade]) -> Job:
    from dataclasses import replace

    names: dict[str, None] = {}
    for name in job.after:
        if name.startswith("@") and name[1:] in trades:
            names |= dict.fromkeys(_of_trade(name[1:], jobs.values()))
        elif name in jobs or name in shipped_jobs():
            names[name] = None
        else:
            raise row.refuse("after", f"job '{name}'", "ids of jobs, or @ and a trade")
    return replace(job, after=tuple(name for name in names if name in jobs and name != job.id))


def _of_trade(trade: str, jobs: Iterable[Job]) -> Iterable[str]:
    return (job.id for job in jobs if job.labour and job.labour[0].trade == trade)


@cache
def shipped_jobs() -> frozenset[str]:
    """Give the ids of our jobs: one that the user left out may still be named as coming first."""
    return frozenset(laid("jobs.toml", heading="job", head=("sets",)).rows)
