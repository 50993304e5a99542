"""What hours that were taken say of the house's own ranges: shown move by move, and written down once accepted."""

from __future__ import annotations

import json
import re
import tomllib
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime
from decimal import Decimal
from typing import TYPE_CHECKING, Any

from shutline.car.errors import Problem, UserError
from shutline.usecases.kept_files import ChangedMeanwhileError, keep, look_at, mark_of
from shutline.usecases.own_prep import own_prep, prep_folder
from shutline.usecases.prep_accepted import SAID, AcceptedBefore, accepted_before
from shutline.usecases.settings import author as present_author

if TYPE_CHECKING:
    from shutline.car.prep_done import WorkDone
    from shutline.prep.learning import Learnt, Moved, Taken
    from shutline.prep.model import Job, Labour, Range
    from shutline.prep.tables import PrepTables
    from shutline.store import Store

FILE = "jobs.toml"

_BLOCK = re.compile(r"\s*\[")
_ROW = re.compile(r"\s*\[\[\s*job\s*\]\]")


@dataclass(frozen=True, slots=True)
class MoveShown:
    """How the hours of one trade of a job would move: `id` is ``job/trade``.

    `start` are low, likely and high before any hours were counted, `before` what they are now and `after` what they
    would be: hours for one place, without setting up, before more is found on opening. `count` tasks were done, in the
    middle in `taken_hours`, which is `middle_hours` without what is found on opening on average; they weigh `weight`,
    from 0 to 1, and the table counts as `table_count` tasks.
    """

    id: str
    job: str
    words: str
    trade: str
    trade_name: str
    start: tuple[float, float, float]
    before: tuple[float, float, float]
    after: tuple[float, float, float]
    count: int
    table_count: float
    weight: float
    taken_hours: float
    middle_hours: float


@dataclass(frozen=True, slots=True)
class LearningShown:
    """What was learnt of all cars of the store.

    `lines` is how much ticked work was counted, `left` says what was not, and why. `settled` ranges stand where the
    hours want them. `scatter` and `distance` are as `prep.learning.Learnt` has them. `accepted` is what was accepted
    before, the newest first. `file` is where accepted ranges go, and `mark` that of its state now and of the moves.
    """

    moves: tuple[MoveShown, ...]
    lines: int
    settled: int
    left: tuple[str, ...]
    scatter: float
    distance: float
    accepted: tuple[AcceptedBefore, ...]
    file: str
    mark: str


@dataclass(frozen=True, slots=True)
class Accepted:
    """The moves that were written into `file`, and what is left to learn."""

    moves: tuple[MoveShown, ...]
    file: str
    learning: LearningShown


def learning(store: Store) -> LearningShown:
    """Show how ranges would move by the hours of work that was ticked off; nothing moves by that.

    Only lines with hours and a known job count, for one place and without setting up. Hours of a whole task count where
    it has one trade.

    Raises
    ------
    UserError
        A row of the user's own tables is wrong (slug ``prep-table-refused``).
    """
    mark = look_at(prep_folder() / FILE).mark
    tables, _ = own_prep()
    return _shown(*_learnt(store, tables), tables, mark)


def accept_moves(
    store: Store,
    ids: Sequence[str] = (),
    *,
    mark: str | None = None,
    author: str | None = None,
    on: date | None = None,
) -> Accepted:
    """Write ranges as they would move into the user's own table; what stood in it before is kept beside it.

    Rows of other jobs stay as they are, letter by letter, and of these jobs all but hours and source.

    Parameters
    ----------
    store : Store
        With the work that was ticked off.
    ids : sequence of str
        Those of the moves, each ``job/trade``, or a job for all its trades; all of them when empty.
    mark : str, optional
        Mark that the moves were shown with.
    author : str, optional
        Who accepts; whoever is logged in when left out.
    on : date, optional
        Today when left out.

    Raises
    ------
    ChangedMeanwhileError
        The file is in another state than `mark` says, or by hours that came since ranges would move otherwise (slug
        ``stale-settings``).
    UserError
        There is no such move, or none at all (``learning-refused``); or a row of the tables is wrong, or is written
        so that hours cannot be put into it (``prep-table-refused``).
    """
    who = author or present_author()
    path = prep_folder() / FILE
    present = look_at(path)
    tables, _ = own_prep()
    learnt, lines, left = _learnt(store, tables)
    shown = _shown(learnt, lines, left, tables, present.mark)
    if mark is not None and mark != shown.mark:
        where = f"{FILE} or the hours that were taken"
        raise ChangedMeanwhileError(
            where=where, expected_version=mark, present=present.text, wanted=", ".join(ids) or "all moves"
        )
    chosen = [one for one in shown.moves if not ids or one.id in ids or one.job in ids]
    known = {name for one in shown.moves for name in (one.id, one.job)}
    wrong = [id_ for id_ in ids if id_ not in known]
    if wrong or not chosen:
        raise UserError(
            Problem(
                "learning-refused",
                "accepted hours",
                f"no move of {', '.join(wrong)[:200]}" if wrong else "nothing would move",
                f"one of: {', '.join(one.id for one in shown.moves)[:600]}" if shown.moves else "hours that were taken",
                "Show what was learnt: shutline learn.",
            )
        )
    text = present.text or ""
    day = (on or datetime.now().astimezone().date()).isoformat()
    for job in dict.fromkeys(one.job for one in chosen):
        moves = {one.trade: one for one in chosen if one.job == job}
        tasks = max(one.count for one in moves.values())
        said = f"hours taken, {tasks} task{'s' if tasks > 1 else ''}, {day}, accepted by {' '.join(who.split())}"
        text = _with_hours(text, tables.jobs[job], moves, said)
    _check(present.text or "", text, {one.job for one in chosen}, str(path))
    keep(path, text, author=who, expected=present.mark)
    return Accepted(tuple(chosen), str(path), learning(store))


def _learnt(store: Store, tables: PrepTables) -> tuple[Learnt, int, tuple[str, ...]]:
    from shutline.prep.learning import learn

    taken: list[Taken] = []
    left: list[str] = []
    for car, work in store.every_work_done():
        if work.hours is not None:
            one, why = _taken(work, tables)
            if one is None:
                left.append(f"{car}, {work.task}: {why}")
            else:
                taken.append(one)
    learnt = learn(tables.jobs, taken)
    return learnt, len(taken), (*left, *learnt.left)


def _taken(work: WorkDone, tables: PrepTables) -> tuple[Taken | None, str]:
    from shutline.prep.learning import Taken

    job = tables.jobs.get(work.job)
    if job is None:
        return None, f"no job '{work.job}' in the tables"
    trades = [line.trade for line in job.labour]
    trade = work.trade or (trades[0] if len(trades) == 1 else "")
    if not trade:
        return None, "hours of several trades together" if trades else "work outside has no hours of the house"
    if trade not in trades:
        return None, f"the job takes no hours of {trade}"
    return Taken(job.id, trade, float((work.hours or Decimal(0)) / work.places)), ""


def _shown(learnt: Learnt, lines: int, left: tuple[str, ...], tables: PrepTables, mark: str) -> LearningShown:
    every = [_move(one, tables) for one in learnt.moved]
    moves = tuple(one for one in every if one.after != one.before)
    return LearningShown(
        moves=moves,
        lines=lines,
        settled=len(every) - len(moves),
        left=left,
        scatter=learnt.scatter,
        distance=learnt.distance,
        accepted=accepted_before(prep_folder() / FILE, tables),
        file=str(prep_folder() / FILE),
        mark=mark_of(repr((mark, [(one.id, one.after) for one in moves])).encode()),
    )


def _move(one: Moved, tables: PrepTables) -> MoveShown:
    from shutline.prep.outlay import expected_growth

    return MoveShown(
        id=f"{one.job}/{one.trade}",
        job=one.job,
        words=tables.jobs[one.job].name,
        trade=one.trade,
        trade_name=tables.trades[one.trade].name,
        start=_hours(one.start),
        before=_hours(one.before),
        after=_hours(one.after),
        count=one.count,
        table_count=one.table_count,
        weight=one.weight,
        taken_hours=one.middle_hours * expected_growth(tables.jobs[one.job].worse),
        middle_hours=one.middle_hours,
    )


def _hours(values: Range) -> tuple[float, float, float]:
    """Give hours to the hundredth, about half a minute: so they are written down, and so they are compared."""
    return round(values.low, 2), round(values.likely, 2), round(values.high, 2)


# Into the user's own file ---------------------------------------------------------------------------------------------


def _with_hours(text: str, job: Job, moves: dict[str, MoveShown], said: str) -> str:
    """Put the moved hours of a job into the text of the user's file: into its row, or into a new one at the end."""
    labour = ", ".join(_labour(line, moves.get(line.trade)) for line in job.labour)
    lines, ends = text.splitlines(), "\r\n" if "\r\n" in text else "\n"
    starts = [at for at, line in enumerate(lines) if _ROW.match(line)]
    for start in starts:
        end = next((at for at in range(start + 1, len(lines)) if _BLOCK.match(lines[at])), len(lines))
        row = _row(lines[start:end])
        if row.get("id") == job.id:
            source = SAID.sub("", str(row.get("source", "")))
            said = f"{source}; {said}" if source else said
            block = _put(lines[start:end], "labour", f"[{labour}]")
            block = _put(block, "source", json.dumps(said, ensure_ascii=False))
            return ends.join((*lines[:start], *block, *lines[end:], ""))
    new = ["[[job]]", f'id = "{job.id}"', f"labour = [{labour}]", f"source = {json.dumps(said, ensure_ascii=False)}"]
    return ends.join((*lines, *([""] if lines else []), *new, ""))


def _labour(line: Labour, move: MoveShown | None) -> str:
    spans = {"each": _plain(line.each), "setup": _plain(line.setup), "before": _plain(line.before)}
    if move is not None:
        spans |= {"each": move.after, "before": move.start}
    written = (
        f"{name} = [{', '.join(map(repr, span))}]" for name, span in spans.items() if name == "each" or any(span)
    )
    return f"{{ trade = {json.dumps(line.trade)}, {', '.join(written)} }}"


def _plain(values: Range | None) -> tuple[float, ...]:
    return () if values is None else (values.low, values.likely, values.high)


def _row(lines: Sequence[str]) -> dict[str, Any]:
    try:
        found: dict[str, Any] = tomllib.loads("\n".join(lines))["job"][0]
    except (tomllib.TOMLDecodeError, KeyError, IndexError):
        return {}
    return found


def _put(block: Sequence[str], entry: str, value: str) -> list[str]:
    """Put a value in the place of an entry of a row, however many lines it takes, or behind the row's heading."""
    begins = re.compile(rf"\s*{entry}\s*=")
    at = next((number for number, line in enumerate(block) if begins.match(line)), None)
    if at is None:
        last = max(number for number, line in enumerate(block) if line.strip() and not line.lstrip().startswith("#"))
        return [*block[: last + 1], f"{entry} = {value}", *block[last + 1 :]]
    for end in range(at + 1, len(block) + 1):
        try:
            tomllib.loads("\n".join(block[at:end]))
        except tomllib.TOMLDecodeError:
            continue
        return [*block[:at], f"{entry} = {value}", *block[end:]]
    return list(block)


def _check(before: str, after: str, jobs: set[str], where: str) -> None:
    """Refuse a text that changed anything else: then a row is written in a way that hours cannot be put into."""

    def rest(text: str) -> list[Any]:
        raw = tomllib.loads(text)
        rows = [
            {
                name: value
                for name, value in row.items()
                if row.get("id") not in jobs or name not in {"labour", "source"}
            }
            for row in raw.pop("job", [])
        ]
        return [raw, [row for row in rows if row.get("id") not in jobs or len(row) > 1]]

    try:
        same = rest(before) == rest(after)
    except tomllib.TOMLDecodeError:
        same = False
    if not same:
        raise UserError(
            Problem(
                "prep-table-refused",
                where,
                f"hours cannot be put into the row of {', '.join(sorted(jobs))[:200]}",
                "labour = [{ trade = …, each = [low, likely, high] }] and source as entries of the row",
                "Write the row so, and accept again; nothing was written.",
            )
        )
