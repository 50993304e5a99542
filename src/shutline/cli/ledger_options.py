"""Options and words that the verbs of the ledger share."""

from __future__ import annotations

from datetime import UTC, date, datetime
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from shutline.car.errors import Problem, UserError
from shutline.cli import output

if TYPE_CHECKING:
    from shutline.ledger import Entry

Stock = Annotated[int, typer.Argument(metavar="STOCK", help="Stock number, as `ledger stock` lists it.")]
Number = Annotated[int, typer.Argument(metavar="ENTRY", help="Number of an entry, as `ledger entries` lists it.")]
Amount = Annotated[str, typer.Argument(metavar="AMOUNT", help="Such as 8500 or 8,500.00; tax included.")]
Day = Annotated[str, typer.Option("--day", help="When it was: 2026-11-26. [default: today]", metavar="DAY")]
Vat = Annotated[str, typer.Option("--vat", help="The VAT that the invoice shows, within the amount.", metavar="AMOUNT")]
Rate = Annotated[
    str,
    typer.Option(
        "--rate", help="Its rate, in per cent; the VAT is worked out where it is left out.", metavar="PERCENT"
    ),
]
Paper = Annotated[str, typer.Option("--paper", help="Number of the invoice.", metavar="NUMBER")]
Address = Annotated[str, typer.Option("--address", help="Address of the other side, on one line.")]
VatNumber = Annotated[str, typer.Option("--vat-number", help="VAT registration number of the other side.")]
Against = Annotated[int, typer.Option("--against", help="Entry that a part exchange is set against.", metavar="ENTRY")]
Pdf = Annotated[Path | None, typer.Option("--pdf", help="Write it to this file as a PDF.", metavar="FILE")]
Out = Annotated[Path | None, typer.Option("--out", help="Write it to this file. [default: print it]", metavar="FILE")]


def entry_line(entry: Entry, reversed_by: int = 0) -> str:
    """Give an entry on one line."""
    words = [entry.party.name, entry.paper, entry.what]
    vat = "" if entry.vat is None else f" with VAT of {entry.vat.told()}"
    if entry.rate is not None:
        vat += f" at {entry.rate:f} %"
    about = f", entry {entry.against}" if entry.against else ""
    end = f"  [reversed by entry {reversed_by}]" if reversed_by else ""
    text = (
        f"{entry.number}  {entry.day.isoformat()}  stock {entry.stock}  {entry.kind}{about}  {entry.amount.told()}{vat}"
    )
    return output.printable(f"{text}  {', '.join(one for one in words if one)}{end}")


def day_of(text: str, where: str = "--day") -> date | None:
    """Read a day of an option; None for none."""
    try:
        return date.fromisoformat(text) if text else None
    except ValueError:
        raise refused(f"{where} {text[:40]!r}", "a day such as 2026-11-26") from None


def today() -> date:
    """Give the present day, UTC."""
    return datetime.now(UTC).date()


def refused(found: str, allowed: str) -> UserError:
    """Make the refusal of what was given with a command."""
    return UserError(
        Problem(
            slug="command-line", where="ledger", found=found, allowed=allowed, advice="Give it so; nothing was done."
        )
    )
