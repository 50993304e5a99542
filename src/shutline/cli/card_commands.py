"""The verb of job cards: what each trade has to do on a car, and what it has done."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING, Annotated

import typer

from shutline.cli import output
from shutline.cli.options import AsJson, CarName, StoreFolder, opened

if TYPE_CHECKING:
    from shutline.usecases.job_cards import TradeCard

app = typer.Typer()
"""Its command is one of the whole command line; see `commands`."""


@app.command("job-cards", epilog="Example: shutline job-cards blue-saloon --trade paint")
def job_cards(
    *,
    car: CarName,
    trade: Annotated[str | None, typer.Option("--trade", help="The card of this trade alone, by its id.")] = None,
    store: StoreFolder = None,
    as_json: AsJson = False,
) -> None:
    """Show the job cards of what is chosen, trade by trade, with what is ticked off."""
    from shutline.usecases.job_cards import card_of, show_job_cards

    with opened(store) as there:
        found = show_job_cards(there, car)
    one = None if trade is None else card_of(found, trade)
    if as_json:
        output.show_json(found if one is None else one)
        return
    if not found.cards:
        output.print_line("Nothing is to be done.")
    for card in found.cards if one is None else (one,):
        for line in _lines(card):
            output.print_line(output.wrapped(output.printable(line)) if line else "")
    for left in found.to_film:
        output.print_line(output.wrapped(output.printable(f"To be filmed again: {left.place}, {left.words}")))


def _lines(card: TradeCard) -> Iterator[str]:
    yield f"{card.name} ({card.trade}): {card.counts or 'nothing left to do'}"
    for job in card.jobs:
        yield f"{job.number}. {job.name} ({job.task})"
        for words in (*(spot.words for spot in job.spots), *job.notes, *job.facts):
            yield f"   {words}"
    for done in card.done:
        hours = "" if done.line.hours is None else f", {done.line.hours:f} hours"
        waits = f"; it still waits for {', '.join(done.others)}" if done.others else ""
        who = f"{done.line.author}, {done.line.done_on}"
        yield f"Done: {done.place or 'the whole car'}, {done.name}{hours}, {who}{waits}"
    for title, words in card.cautions:
        yield f"{title}. {words}"
    yield ""
