"""The `shutline` command: reads arguments, calls a use case, shows what came.

Takes words from a shell; gives text or JSON and an exit code: 0 done, 1 the world failed or the work was stopped, 2
something to mend. Decides nothing the use cases do not.
"""

from __future__ import annotations


def main(arguments: list[str] | None = None) -> int:
    """Run one command.

    Parameters
    ----------
    arguments : list of str, optional
        Words after `shutline`; those of the process when left out.

    Returns
    -------
    int
        0, 1 or 2.
    """
    from shutline.cli.commands import run

    return run(arguments)
