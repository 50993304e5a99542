"""What `shutline prep --plan` takes and prints."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import date
from typing import TYPE_CHECKING

from shutline.car.errors import Problem, UserError
from shutline.car.prep_decisions import PrepKind
from shutline.cli import output

if TYPE_CHECKING:
    from shutline.store import Store
    from shutline.usecases.prep import Pence
    from shutline.usecases.prep_shown import PlanLine, PlanShown, WorthShown
    from shutline.usecases.prep_worked import PlanAsked


@dataclass(frozen=True, slots=True)
class Changes:
    """What is decided by one command: ids of tasks refused, of findings promised, of both taken back; and why."""

    refused: tuple[str, ...]
    promised: tuple[str, ...]
    taken_back: tuple[str, ...]
    why: str


def day_of(text: str | None, option: str) -> date | None:
    """Read a day; raises UserError where it is none (slug ``prep-refused``)."""
    if text is None:
        return None
    try:
        return date.fromisoformat(text)
    except ValueError:
        raise _refused(option, repr(text), "a day such as 2026-12-01") from None


def hours_of(given: Sequence[str]) -> dict[str, float]:
    """Read hours of trades, each as ``paint=6``; raises UserError as `day_of` does."""
    found = {}
    for one in given:
        trade, _, much = one.partition("=")
        try:
            found[trade.strip()] = float(much)
        except ValueError:
            raise _refused("--hours", repr(one), "a trade and its hours, as paint=6") from None
    return found


def decide(store: Store, car: str, changes: Changes, kept: PlanAsked | None, *, author: str | None) -> None:
    """Keep what was decided; `kept` has the sums to be kept, None for none."""
    from shutline.usecases.look import find_car
    from shutline.usecases.prep_deciding import decide_prep, keep_budget

    for id_ in changes.refused:
        decide_prep(store, car, PrepKind.REFUSED, id_, author=author, words=changes.why)
    for id_ in changes.promised:
        decide_prep(store, car, PrepKind.PROMISED, id_, author=author, words=changes.why)
    for id_ in changes.taken_back:
        decided = store.prep_decisions(find_car(store, car).name)
        kind = next((one.kind for one in decided if one.holds and one.about.startswith(id_)), PrepKind.REFUSED)
        decide_prep(store, car, kind, id_, author=author, holds=False)
    if kept is not None:
        if kept.asking_pence is not None:
            decide_prep(store, car, PrepKind.ASKING, author=author, pence=kept.asking_pence)
        if kept.budget_pence is not None or kept.sure is not None:
            keep_budget(store, car, kept.budget_pence, sure=kept.sure, author=author)


def plan_lines(found: PlanShown) -> Iterator[str]:
    """Print a plan in words."""
    if found.asking is None:
        yield "No asking price is known, so nothing is weighed: give --asking."
    for words in found.in_the_way:
        yield output.wrapped(output.printable(f"The musts cannot be done. {words}"))
    chosen = [line for line in found.lines if line.chosen]
    if chosen:
        yield "To be done"
    for line in chosen:
        yield from _task(line)
    if chosen:
        yield f"Without tax: {_range(found.total)}, on average {_pounds(found.total.mean)}"
        if found.sure_money:
            yield output.wrapped(f"{_pounds(found.sure_money)} is enough in {found.sure} of a hundred{_tried(found)}")
        if found.asking is not None:
            yield f"It is worth {_pounds(found.worth)}, so {_gain(found.gain)}{_gap(found.gap)}"
    yield from _left(found)
    yield from _calendar(found)
    if found.look is not None:
        worth = f"worth {_pounds(found.look.value)}, costs {_pounds(found.look.price)}"
        yield output.wrapped(output.printable(f"The look most worth taking: {found.look_task}, {worth}"))


def _left(found: PlanShown) -> Iterator[str]:
    left = [line for line in found.lines if not line.chosen]
    if left:
        yield "Left out"
    for line in left:
        words = f": {line.words}" if line.words else ""
        yield output.wrapped(output.printable(f"{_called(line)}  [{line.task.id}]  {line.left}{words}"), indent="  ")
    if found.told:
        yield "To be told, and left"
    for told in found.told:
        words = f"; a buyer knocks off {_worth(told.worth)}" if told.worth else ""
        yield output.wrapped(output.printable(f"{told.found.place}: {told.found.words}{words}"), indent="  ")


def _calendar(found: PlanShown) -> Iterator[str]:
    if found.calendar is not None:
        yield f"When, from {found.start}"
        for day in found.calendar.days:
            for piece in day.pieces:
                at = " in ".join(filter(None, (piece.person, piece.bay)))
                yield output.wrapped(
                    output.printable(f"{day.day} {piece.start[11:]}  {piece.trade}: {piece.words}, {at}"), indent="  "
                )
        yield f"It can be filmed again on {found.calendar.film_on}"
    if found.trouble is not None:
        yield output.wrapped(output.printable(f"No calendar: {found.trouble.where}: {found.trouble.found}"))


def _task(line: PlanLine) -> Iterator[str]:
    heard = "  (heard only)" if line.task.heard_only else ""
    worth = f", a buyer knocks off {_worth(line.worth)}" if line.worth else ""
    yield output.wrapped(
        output.printable(f"{_called(line)}  [{line.task.id}]  {_range(line.task.cost)}{worth}{heard}"), indent="  "
    )
    if line.task.must:
        yield output.wrapped(output.printable(f"must: {line.task.must}"), indent="    ")
    for one in line.task.findings:
        yield output.wrapped(output.printable(f"{one.place}: {one.words}  [{one.id}]"), indent="    ")


def _called(line: PlanLine) -> str:
    return f"{line.task.place}: {line.task.words}" if line.task.place else line.task.words


def _gain(pence: int) -> str:
    return f"it gains {_pounds(pence)}" if pence >= 0 else f"it costs {_pounds(-pence)} more than it is worth"


def _tried(found: PlanShown) -> str:
    if found.budget is None:
        return ""
    more = "" if found.whole else ", not all of them in the time there was"
    return f". Chosen from sets that were tried{more}: that no other gains more is not proven"


def _gap(pence: int | None) -> str:
    return f"; some other choice may gain up to {_pounds(pence)} more" if pence else ""


def _worth(worth: WorthShown | None) -> str:
    return "" if worth is None else f"{_pounds(worth.low)} to {_pounds(worth.high)}"


def _range(pence: Pence) -> str:
    return _pounds(pence.p50) if pence.p05 == pence.p95 else f"{_pounds(pence.p05)} to {_pounds(pence.p95)}"


def _pounds(pence: int) -> str:
    return f"£{pence / 100:,.0f}"


def _refused(where: str, found: str, allowed: str) -> UserError:
    return UserError(Problem("prep-refused", where, found, allowed, "Give the command again."))
