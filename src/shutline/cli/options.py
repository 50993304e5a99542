"""Options that several commands share, and the store that they open."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

if TYPE_CHECKING:
    from shutline.store import Store

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
CarName = Annotated[str, typer.Argument(metavar="CAR", help="Name of a car, or the start of one.")]
Author = Annotated[
    str | None,
    typer.Option("--by", envvar="SHUTLINE_AUTHOR", help="Who says so. [default: the name you are logged in with]"),
]


@contextmanager
def opened(folder: Path | None) -> Iterator[Store]:
    """Open the store of a command, and close it at its end."""
    from shutline.usecases.settings import open_store

    with open_store(folder) as store:
        yield store
