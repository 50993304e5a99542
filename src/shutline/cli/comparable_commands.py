"""The verbs of comparables: taken in from files, noted by hand, listed, amended, taken back, written out."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from shutline.car.errors import BadInputError, Problem
from shutline.cli import output
from shutline.cli.options import AsJson, Author, StoreFolder, opened
from shutline.cli.stopping import stoppable

if TYPE_CHECKING:
    from shutline.car.comparables import Comparable, KeptComparable
    from shutline.usecases.comparables import ComparablesShown
    from shutline.usecases.comparables_intake import TakenIn

MOST_TOLD = 20
"""So many notes are shown; the rest is in the JSON."""

app = typer.Typer(
    name="comparables",
    help="What like cars were sold or offered for: taken in from tables, noted by hand, kept.",
    epilog="Example: shutline comparables list ninety",
    no_args_is_help=True,
)

Id = Annotated[str, typer.Argument(metavar="ID", help="Its id, or the start of one.")]
Day = Annotated[str | None, typer.Option("--day", help="When it was sold, or asked for so: 2026-11-26.", metavar="DAY")]
Car = Annotated[str | None, typer.Option("--car", help="Its registration mark or stock number.", metavar="MARK")]
Miles = Annotated[str | None, typer.Option("--mileage", help="61000, or 98000 km.", metavar="FIGURE")]
Condition = Annotated[str | None, typer.Option("--condition", help="Its condition, in your words.", metavar="WORDS")]
Where = Annotated[str | None, typer.Option("--where", help="Where it was sold or offered.", metavar="PLACE")]
Days = Annotated[str | None, typer.Option("--days", help="How many days it stood until then.", metavar="N")]
Source = Annotated[str | None, typer.Option("--source", help="Who says so.", metavar="WORDS")]
Currency = Annotated[str | None, typer.Option("--currency", help="Three letters. [default: GBP]", metavar="GBP")]
Attributes = Annotated[
    list[str] | None,
    typer.Option(
        "--attribute", help="What else tells of the car, as model=Ninety; may be given again.", metavar="NAME=WORDS"
    ),
]
Version = Annotated[int | None, typer.Option("--version", help="Only if it still is at this version.", metavar="N")]


@app.command(name="take-in", epilog="Example: shutline comparables take-in prices.csv --column price=Paid")
def take_in(
    file: Annotated[Path, typer.Argument(metavar="FILE", help="A table of prices (CSV).")],
    *,
    column: Annotated[
        list[str] | None,
        typer.Option(
            "--column", help="Which column is what, as price=Paid; may be given again.", metavar="FIELD=HEADING"
        ),
    ] = None,
    leave_out: Annotated[
        list[str] | None,
        typer.Option("--leave-out", help="A column that tells nothing of the car.", metavar="HEADING"),
    ] = None,
    day_form: Annotated[
        str | None, typer.Option("--day-form", help="How days are written in it; %d/%m/%Y for 3/5/2026.")
    ] = None,
    currency: Currency = None,
    unit: Annotated[str | None, typer.Option("--unit", help="What mileages are in: miles or km.")] = None,
    sold_word: Annotated[
        list[str] | None, typer.Option("--sold-word", help="An entry that means sold.", metavar="WORD")
    ] = None,
    asked: Annotated[
        bool | None, typer.Option("--asked/--sold", help="Whether the prices were asked or paid, without a column.")
    ] = None,
    by: Author = None,
    store: StoreFolder = None,
    as_json: AsJson = False,
) -> None:
    """Take in a table of prices; which column is what is said once for the same headings, and no row counts twice."""
    from shutline.usecases import comparables_intake as intake

    given = {
        "day_form": day_form,
        "currency": None if currency is None else currency.upper(),
        "unit": unit,
        "sold_words": tuple(word.casefold() for word in sold_word) if sold_word else None,
        "sold": None if asked is None else not asked,
    }
    others = {name: value for name, value in given.items() if value is not None}
    fields = dict(pair(one, "--column") for one in column or ())
    text = intake.text_of(file)
    with opened(store, begin=True) as there, stoppable() as stop, output.progress(quiet=as_json) as tell:
        said = fields or leave_out or others
        columns = intake.columns_for(there, text, fields, leave_out=leave_out or (), **others) if said else None
        made = intake.take_in(there, text, columns, name=file.name, author=by, tell=tell, stop=stop)
    if as_json:
        output.show_json(made)
        return
    _show_taken(made)


@app.command(name="list", epilog="Example: shutline comparables list ninety")
def list_(
    words: Annotated[list[str] | None, typer.Argument(metavar="[WORDS]", help="Only those with these words.")] = None,
    *,
    currency: Annotated[
        str, typer.Option("--currency", help="Prices in this one count. [default: that of the ledger]")
    ] = "",
    store: StoreFolder = None,
    as_json: AsJson = False,
) -> None:
    """List what is kept, whether each counts, and why not."""
    from shutline.usecases.comparables import comparables_shown

    with opened(store) as there:
        shown = comparables_shown(there, words=" ".join(words or ()), currency=currency.upper())
    if as_json:
        output.show_json(shown)
        return
    _show_list(shown)


@app.command(epilog="Example: shutline comparables show 3f2a")
def show(ref: Id, *, store: StoreFolder = None, as_json: AsJson = False) -> None:
    """Show one with all that was done to it."""
    from shutline.usecases.comparables import comparable_shown

    with opened(store) as there:
        _show_one(comparable_shown(there, ref), as_json=as_json)


@app.command(
    epilog='Example: shutline comparables note 8500 --day 2026-10-03 --car "FGY 412H" --attribute model=Ninety'
)
def note(
    price: Annotated[str, typer.Argument(metavar="PRICE", help="What was paid for it, or with --asked, asked.")],
    *,
    day: Day = None,
    asked: Annotated[bool, typer.Option("--asked", help="It was asked, not paid.")] = False,
    car: Car = None,
    mileage: Miles = None,
    condition: Condition = None,
    where: Where = None,
    days: Days = None,
    source: Source = None,
    currency: Currency = None,
    attribute: Attributes = None,
    by: Author = None,
    store: StoreFolder = None,
    as_json: AsJson = False,
) -> None:
    """Note by hand what a car was sold or offered for; the same a second time changes nothing."""
    from shutline.cli.ledger_options import today
    from shutline.usecases.comparables import ASKED, SOLD, note_comparable

    fields = _fields(
        price=price,
        when=day or today().isoformat(),
        car=car,
        mileage=mileage,
        condition=condition,
        where=where,
        days=days,
        source=source,
        currency=currency,
    ) | {"sold": ASKED if asked else SOLD}
    with opened(store, begin=True) as there:
        made = note_comparable(there, fields, dict(pair(one, "--attribute") for one in attribute or ()), author=by)
    _show_one(made, as_json=as_json)


@app.command(epilog="Example: shutline comparables amend 3f2a --price 8400")
def amend(
    ref: Id,
    *,
    price: Annotated[str | None, typer.Option("--price", help="What was paid or asked.", metavar="AMOUNT")] = None,
    day: Day = None,
    asked: Annotated[bool | None, typer.Option("--asked/--sold", help="It was asked, or it was paid.")] = None,
    car: Car = None,
    mileage: Miles = None,
    condition: Condition = None,
    where: Where = None,
    days: Days = None,
    source: Source = None,
    currency: Currency = None,
    attribute: Attributes = None,
    version: Version = None,
    by: Author = None,
    store: StoreFolder = None,
    as_json: AsJson = False,
) -> None:
    """Say something of it otherwise, an empty entry to leave it out; without any it counts again."""
    from shutline.usecases.comparables import ASKED, SOLD, amend_comparable

    fields = _fields(
        price=price,
        when=day,
        car=car,
        mileage=mileage,
        condition=condition,
        where=where,
        days=days,
        source=source,
        currency=currency,
        sold=None if asked is None else ASKED if asked else SOLD,
    )
    attributes = dict(pair(one, "--attribute", empty=True) for one in attribute or ())
    with opened(store) as there:
        made = amend_comparable(there, ref, fields, attributes, version=version, author=by)
    _show_one(made, as_json=as_json)


@app.command(name="take-back", epilog="Example: shutline comparables take-back 3f2a")
def take_back(
    ref: Id, *, version: Version = None, by: Author = None, store: StoreFolder = None, as_json: AsJson = False
) -> None:
    """Let one count no longer; it is kept, and `amend` lets it count again."""
    from shutline.usecases.comparables import take_comparable_back

    with opened(store) as there:
        _show_one(take_comparable_back(there, ref, version=version, author=by), as_json=as_json)


@app.command(epilog="Example: shutline comparables write --out prices.csv")
def write(
    *,
    out: Annotated[
        Path | None, typer.Option("--out", help="Write it to this file. [default: print it]", metavar="FILE")
    ] = None,
    store: StoreFolder = None,
    as_json: AsJson = False,
) -> None:
    """Give those that were noted and hold as a table (CSV), which can be taken in again."""
    from shutline.usecases.comparables_out import comparables_file

    missing = None if out is None else output.first_missing(out.parent)
    with opened(store) as there:
        made = comparables_file(there, path=out)
    if as_json:
        output.show_json(made)
    elif made.path:
        for line in output.new_folder(missing):
            output.print_line(line)
        output.print_line(f"Written: {output.printable(made.path)}")
    else:
        output.print_line(output.printable(made.text.replace("\r\n", "\n").rstrip("\n")))


def pair(text: str, option: str, *, empty: bool = False) -> tuple[str, str]:
    """Read a name, = and what it is."""
    name, sign, value = (part.strip() for part in text.partition("="))
    if not (name and sign and (value or empty)):
        raise BadInputError(
            Problem("command-line", option, repr(text[:40]), "a name, = and what it is", "Give the command again so.")
        )
    return name, value


def _words(one: Comparable) -> str:
    from shutline.usecases.comparables import comparable_words

    return output.printable(comparable_words(one))


def _fields(**given: str | None) -> dict[str, str]:
    """Give what was given, with the unit of a mileage by itself."""
    fields = {name: text for name, text in given.items() if text is not None}
    if "mileage" in fields:
        figure, _, unit = fields["mileage"].strip().partition(" ")
        fields |= {"mileage": figure, "unit": unit.strip()}
    return fields


def _show_taken(made: TakenIn) -> None:
    for problem in made.problems[:MOST_TOLD]:
        output.show_problem(problem)
    if len(made.problems) > MOST_TOLD:
        output.log_line(f"note: and {len(made.problems) - MOST_TOLD} more; with --json all of them")
    columns = made.columns
    output.print_line(
        f"{made.rows} rows: {made.new} new, {made.anew} read anew, {made.there} there already, {made.apart} kept apart"
    )
    taken = [*columns.fields.items(), *((f"attribute {name}", head) for name, head in columns.attributes.items())]
    words = ", ".join(name if name == head else f"{name} = {head}" for name, head in taken)
    output.print_line(output.wrapped(output.printable(f"Columns: {words}; days as {columns.day_form}")))


def _show_list(shown: ComparablesShown) -> None:
    for one in shown.lines:
        why = "" if one.counts else f"  ({one.why_not})"
        output.print_line(f"{one.id[:8]}  {_words(one.comparable)}{why}")
    for problem in shown.problems[:MOST_TOLD]:
        output.show_problem(problem)
    count = len(shown.files)
    files = f"; {count} table{'s' * (count > 1)} taken in" if count else ""
    output.print_line(f"{shown.counting} of {shown.all} count{files}")


def _show_one(kept: KeptComparable, *, as_json: bool) -> None:
    if as_json:
        output.show_json(kept)
        return
    output.print_line(f"{kept.id}  {_words(kept.comparable)}{'' if kept.holds else '  (taken back)'}")
    if kept.comparable.line:
        output.print_line(output.printable(f"  from {kept.comparable.line}"))
    for change in kept.changes:
        output.print_line(output.printable(f"  {change.at[:10]} {change.action} by {change.author}"))
