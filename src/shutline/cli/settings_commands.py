"""The verbs that show what is of your own: words and settings."""

from __future__ import annotations

import typer

from shutline.cli import output
from shutline.cli.options import AsJson

app = typer.Typer()
"""Its commands are those of the whole command line; see `commands`."""


@app.command(epilog="Example: shutline words")
def words(*, as_json: AsJson = False) -> None:
    """Check the words of your own that remarks are read with, and say where they lie."""
    from shutline.cli.words import own_words_lines
    from shutline.usecases.own_words import own_words

    own = own_words()
    if as_json:
        output.show_json({"folder": str(own.folder), "edition": own.edition, "rows": own.rows})
        return
    for line in own_words_lines(own):
        output.print_line(line)


@app.command(epilog="Example: shutline settings --json")
def settings(*, as_json: AsJson = False) -> None:
    """Show all that you may set: the house, words of your own, what is taken from the film, the second reader."""
    from shutline.cli.words import settings_lines
    from shutline.usecases.user_settings import user_settings

    shown = user_settings()
    if as_json:
        output.show_json(shown)
        return
    for line in settings_lines(shown):
        output.print_line(line)
