"""What `shutline prep --done` takes and prints."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from datetime import date
from decimal import Decimal, InvalidOperation
from typing import TYPE_CHECKING

from shutline.car.errors import Problem, UserError
from shutline.cli import output
from shutline.cli.prep_plan_words import day_of

if TYPE_CHECKING:
    from shutline.car.prep_done import WorkDone
    from shutline.store import Store
    from shutline.usecases.prep_done import DoneAsked, TaskDone, WorksShown


@dataclass(frozen=True, slots=True)
class Said:
    """What a command says of work: ids of tasks that are done, and of those that are not done after all."""

    done: tuple[str, ...]
    not_done: tuple[str, ...]
    trade: str = ""
    hours: tuple[str, ...] = ()
    setup: str | None = None
    places: int | None = None
    picture: str = ""
    found: str = ""
    on: str | None = None


def keep_said(store: Store, car: str, said: Said, *, author: str | None) -> WorksShown:
    """Tick off and take back what is said, all or nothing, and give what is done then.

    A line that is there already is corrected: whoever gives a command has the last word on what was said before it, and
    what they do not speak of stays.
    """
    from shutline.usecases.look import find_car
    from shutline.usecases.prep_done import DoneAsked, take_back_tick, tick_off, works_done

    hours = [_hours(one, "--hours") for one in said.hours]
    if len(hours) > 1:
        raise _refused("--hours", f"{len(hours)} times", "once, with --done")
    with store.together():
        name = find_car(store, car).name
        for task in said.done:
            asked = DoneAsked(
                task=task,
                trade=said.trade,
                hours=hours[0] if hours else None,
                setup_hours=None if said.setup is None else _hours(said.setup, "--setup"),
                places=said.places,
                picture=said.picture,
                found=said.found,
                on=day_of(said.on, "--on"),
            )
            kept = store.works_done(name)
            there = [one for one in kept if (one.task, one.trade) == (task, said.trade) and one.holds]
            tick_off(store, name, _over(asked, there[-1]) if there else asked, author=author)
        for task in said.not_done:
            lines = [one for one in store.works_done(name) if one.holds and one.task == task]
            mine = [one for one in lines if not said.trade or one.trade == said.trade]
            if not mine:
                known = ", ".join(dict.fromkeys(one.task for one in store.works_done(name) if one.holds))
                raise _refused(f"--not-done {task[:80]}", "nothing of it is ticked off", known or "nothing is")
            for one in mine:
                take_back_tick(store, name, one.id, version=one.version, author=author)
    return works_done(store, car)


def _over(asked: DoneAsked, there: WorkDone) -> DoneAsked:
    return replace(
        asked,
        hours=there.hours if asked.hours is None else asked.hours,
        setup_hours=there.setup_hours if asked.setup_hours is None else asked.setup_hours,
        places=there.places if asked.places is None else asked.places,
        picture=asked.picture or there.picture,
        found=asked.found or there.found,
        on=asked.on or date.fromisoformat(there.done_on),
        version=there.version,
    )


def works_lines(found: WorksShown) -> Iterator[str]:
    """Print what is done and what is not yet."""
    if found.done:
        yield "Done"
    for task in found.done:
        yield from _task(task)
    if found.to_do:
        yield "Still to do"
    for trade in found.to_do:
        tasks = "; ".join(f"{_called(one.place, one.words)} [{one.task}]" for one in trade.tasks)
        yield output.wrapped(output.printable(f"{trade.name}: {tasks}"), indent="  ")
    if found.to_film:
        places = "; ".join(f"{one.place}: {one.words}" for one in found.to_film)
        yield output.wrapped(output.printable(f"No picture after it yet, so film or photograph: {places}"))


def _task(task: TaskDone) -> Iterator[str]:
    from shutline.usecases.prep_done import work_words

    state = "" if task.whole else "  (in part)"
    yield output.wrapped(output.printable(f"{_called(task.place, task.words)}  [{task.task}]{state}"), indent="  ")
    for one in task.trades:
        if one.line is not None:
            yield output.wrapped(output.printable(work_words(one.line)), indent="    ")
        elif not task.whole:
            yield output.wrapped(output.printable(f"{one.name}: not yet"), indent="    ")


def _called(place: str, words: str) -> str:
    return f"{place}: {words}" if place else words


def _hours(text: str, option: str) -> Decimal:
    try:
        return Decimal(text)
    except InvalidOperation:
        raise _refused(option, repr(text[:60]), "hours, as 3.5") from None


def _refused(where: str, found: str, allowed: str) -> UserError:
    return UserError(Problem("work-refused", where, found, allowed[:600], "Give the command again."))


def told(said: Said) -> bool:
    """Tell whether a command says anything of work; raises UserError where it says how, and not of what."""
    if said.done or said.not_done:
        return True
    how = {"trade": said.trade, "setup": said.setup, "places": said.places, "picture": said.picture}
    how |= {"found": said.found, "on": said.on}
    for option, given in how.items():
        if given:
            raise _refused(f"--{option}", "no task that is done", "--done TASK or --not-done TASK with it")
    return False
