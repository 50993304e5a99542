"""The verb of preparation: what to put right on a car, what it costs, what pays, and who does it when."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING, Annotated

import typer

from shutline.cli import output
from shutline.cli.options import AsJson, Author, CarName, StoreFolder, opened
from shutline.cli.prep_done_words import Said, keep_said, told, works_lines
from shutline.cli.prep_plan_words import Changes, day_of, decide, hours_of, plan_lines

if TYPE_CHECKING:
    from shutline.usecases.prep import LookShown, Pence, PrepShown, TaskShown

app = typer.Typer()
"""Its command is one of the whole command line; see `commands`."""

_MOST_LOOKS = 5


@app.command(epilog="Example: shutline prep blue-saloon --asking 8500")
def prep(
    *,
    car: CarName,
    asking: Annotated[
        float | None,
        typer.Option(
            "--asking",
            help="What is to be asked for it, pounds: then leaving a fault as it is counts as a choice when it is "
            "worked out what a look is worth.",
        ),
    ] = None,
    plan: Annotated[bool, typer.Option("--plan", help="Choose what pays, and put it in a calendar.")] = False,
    budget: Annotated[
        float | None, typer.Option("--budget", help="The most that may be spent, pounds without tax; with --plan.")
    ] = None,
    sure: Annotated[
        int | None,
        typer.Option(
            "--sure",
            help="In how many of a hundred the budget is to be kept to, 50 to 99; otherwise, or with 0, the average "
            "cost is held against it.",
        ),
    ] = None,
    start: Annotated[
        str | None, typer.Option("--start", help="The day on which work begins, as 2026-12-01; tomorrow otherwise.")
    ] = None,
    film_by: Annotated[
        str | None, typer.Option("--film-by", help="The day on which it has to be filmed at the latest, as 2026-12-11.")
    ] = None,
    hours: Annotated[
        list[str] | None,
        typer.Option(
            "--hours",
            help="The most hours of a trade, as paint=6; may be given again. With --done the hours that were taken, "
            "without setting up, as 3.5.",
        ),
    ] = None,
    refuse: Annotated[
        list[str] | None, typer.Option("--refuse", help="The id of a task that is not to be done; give --why.")
    ] = None,
    promise: Annotated[
        list[str] | None,
        typer.Option(
            "--promise", help="The id of a finding that somebody was promised would be put right; give --why."
        ),
    ] = None,
    take_back: Annotated[
        list[str] | None, typer.Option("--take-back", help="What was refused or promised, by its id, no longer is.")
    ] = None,
    why: Annotated[str, typer.Option("--why", help="Why it is refused, or what was promised.")] = "",
    keep: Annotated[
        bool,
        typer.Option("--keep", help="Keep the budget, how sure it is, and the asking price as given, with your name."),
    ] = False,
    done: Annotated[
        list[str] | None, typer.Option("--done", help="The id of a task that is done; may be given again.")
    ] = None,
    not_done: Annotated[
        list[str] | None, typer.Option("--not-done", help="The id of a task that is not done after all.")
    ] = None,
    trade: Annotated[
        str, typer.Option("--trade", help="The trade whose work is done; with --done, the whole task otherwise.")
    ] = "",
    setup: Annotated[str | None, typer.Option("--setup", help="The hours that setting up took; with --done.")] = None,
    places: Annotated[
        int | None, typer.Option("--places", help="At how many places it was done, all otherwise; with --done.")
    ] = None,
    picture: Annotated[
        str, typer.Option("--picture", help="The id of a picture of the car, taken after it; with --done.")
    ] = "",
    besides: Annotated[str, typer.Option("--found", help="What was found besides, in words; with --done.")] = "",
    on: Annotated[
        str | None, typer.Option("--on", help="The day on which it was done, as 2026-11-26; today otherwise.")
    ] = None,
    by: Author = None,
    store: StoreFolder = None,
    as_json: AsJson = False,
) -> None:
    """Work out what to put right on a car and what it costs, with ranges; with --plan what pays, and when.

    With --done work is ticked off.
    """
    said = Said(
        tuple(done or ()), tuple(not_done or ()), trade, tuple(hours or ()), setup, places, picture, besides, on
    )
    if told(said):
        with opened(store) as there:
            works = keep_said(there, car, said, author=by)
        if as_json:
            output.show_json(works)
            return
        for line in works_lines(works):
            output.print_line(line)
        return
    asking_pence = None if asking is None else round(100 * asking)
    given = (budget, sure, start, film_by, hours, refuse, promise, take_back)
    chosen = plan or keep or any(one is not None for one in given)
    with opened(store) as there:
        if not chosen:
            from shutline.usecases.prep import prep as run_prep

            found = run_prep(there, car, asking_pence=asking_pence)
            if as_json:
                output.show_json(found)
                return
            for line in _lines(found):
                output.print_line(line)
            return
        from shutline.usecases.prep_done import works_of
        from shutline.usecases.prep_plan import planned
        from shutline.usecases.prep_worked import PlanAsked

        asked = PlanAsked(
            asking_pence=asking_pence,
            budget_pence=None if budget is None else round(100 * budget),
            start=day_of(start, "--start"),
            by=day_of(film_by, "--film-by"),
            hours=hours_of(hours or ()),
            sure=sure,
        )
        changes = Changes(tuple(refuse or ()), tuple(promise or ()), tuple(take_back or ()), why)
        decide(there, car, changes, asked if keep else None, author=by)
        made = planned(there, car, asked)
        works = works_of(made.file, there.works_done(made.file.name), made.tasks, made.tables)
    shown = made.shown
    if as_json:
        output.show_json(shown)
        return
    for line in plan_lines(shown):
        output.print_line(line)
    if works.done:
        for line in works_lines(works):
            output.print_line(line)


def _lines(found: PrepShown) -> Iterator[str]:
    if not found.tasks:
        yield "Nothing to put right was found."
    for task in found.tasks:
        yield from _task_lines(task)
    if found.tasks:
        yield f"Without tax: {_range(found.total)}, on average {_pounds(found.total.mean)}"
        yield f"Tax on what is bought in: {_range(found.vat)}; with it {_range(found.with_vat)}"
        yield output.wrapped(
            f"{found.draws:,} draws, seed {found.seed}; the average is right to about {_pounds(found.errors.mean)}; "
            f"{found.draws_enough:,} draws bring every figure to a hundredth. Prices are examples until you set yours."
        )
        hours = ", ".join(f"{trade} {h[1]:.1f} to {h[3]:.1f}" for trade, h in found.hours.items())
        yield output.wrapped(f"Hours: {hours}")
        yield "Most of the doubt"
        for task in sorted(found.tasks, key=lambda one: (-one.doubt, one.id))[:3]:
            yield output.wrapped(f"{task.doubt:.0%}  {_called(task)}", indent="  ")
    if found.looks:
        yield "Looks, the most worth first"
        names = {task.id: _called(task) for task in found.tasks}
        for look in found.looks[:_MOST_LOOKS]:
            yield from _look_lines(look, names[look.task])
    if found.untouched:
        yield "No task"
        for one in found.untouched:
            yield output.wrapped(output.printable(f"{one.found.place}, {one.found.words}: {one.why}"), indent="  ")
    for words in found.unanswered:
        yield output.wrapped(output.printable(f"Wished, and no job does that there: «{words}»"))


def _task_lines(task: TaskShown) -> Iterator[str]:
    heard = "  (heard only)" if task.heard_only else ""
    yield output.wrapped(output.printable(f"{_called(task)}  {_range(task.cost)}{heard}"))
    yield output.wrapped(output.printable("; ".join(f"{one.place}: {one.words}" for one in task.findings)), indent="  ")
    if task.must:
        yield output.wrapped(output.printable(f"must: {task.must}"), indent="  ")
    if task.wished:
        yield output.wrapped(output.printable(f"wished: «{task.wished}»"), indent="  ")
    if task.others:
        others = ", ".join(f"{one.words} ({_pounds(one.pence)})" for one in task.others[:3])
        yield output.wrapped(output.printable(f"or: {others}"), indent="  ")


def _look_lines(look: LookShown, called: str) -> Iterator[str]:
    worth = f"worth {_pounds(look.value)}" if look.value else "worth nothing: the same is done either way"
    yield output.wrapped(
        output.printable(
            f"{called}: {worth}; it costs {_pounds(look.price)}, more is found {look.chance:.0%} of the time, and to "
            f"know takes {look.narrows:.0%} of the doubt away"
        ),
        indent="  ",
    )
    for change in look.changes[:3]:
        yield output.wrapped(output.printable(change), indent="    ")


def _called(task: TaskShown) -> str:
    return f"{task.place}: {task.words}" if task.place else task.words


def _range(pence: Pence) -> str:
    if pence.p05 == pence.p95:
        return _pounds(pence.p50)
    return f"{_pounds(pence.p50)} ({_pounds(pence.p05)} to {_pounds(pence.p95)})"


def _pounds(pence: int) -> str:
    return f"£{pence / 100:,.0f}"
