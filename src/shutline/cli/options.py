"""Options that several commands share, and the store that they open."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from contextvars import ContextVar
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from shutline.cli import output

if TYPE_CHECKING:
    from shutline.store import Store

_asked_for: ContextVar[str | None] = ContextVar("_asked_for", default=None)
"""The car that the command at hand was given."""


def note_car(name: str | None) -> str | None:
    """Keep which car a command was given, so that it can be said where that name leads by now."""
    _asked_for.set(name)
    return name


AsJson = Annotated[bool, typer.Option("--json", help="Print JSON instead of words.")]
StoreFolder = Annotated[
    Path | None,
    typer.Option(
        "--store",
        envvar="SHUTLINE_STORE",
        help="Folder of the store. [default: in the user's data folder]",
        metavar="DIR",
    ),
]
CarName = Annotated[str, typer.Argument(metavar="CAR", help="Name of a car, or the start of one.", callback=note_car)]
Author = Annotated[
    str | None,
    typer.Option("--by", envvar="SHUTLINE_AUTHOR", help="Who says so. [default: the name you are logged in with]"),
]


@contextmanager
def opened(folder: Path | None, *, begin: bool = False) -> Iterator[Store]:
    """Open the store of a command, and close it at its end; say whose a name is that was of a car joined since.

    Only a command that may `begin` a store makes one where there is none, and says so: a folder that was mistyped is
    otherwise told, and not filled.
    """
    from shutline.usecases.settings import default_folder, holds_store, open_store

    new = begin and not holds_store(folder)
    with open_store(folder, begin=begin) as store:
        if new:
            output.log_line(
                output.printable(f"There was no store at {folder or default_folder()}; one was begun there.")
            )
        name = _asked_for.get()
        old = None if name is None else store.shown_under("-".join(name.split()))
        if old is not None:
            output.log_line(f"{old[0]} was joined with {old[1]} and is shown under that name.")
        yield store
