"""What can go wrong, as values that gather beside a result and as exceptions that end a call.

ShutlineError
├── UserError        the caller can mend it: ends a command with exit code 2 and no traceback
│   ├── NotFoundError    a car, recording or finding that is not in the store
│   └── BadInputError    a file or a text that cannot be used at all
├── BrokenWorldError     disk full, store locked, library missing: exit code 1
└── StoppedError         the caller asked for a stop: exit code 1
"""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Problem:
    """Trouble in the data that does not stop the work.

    Parameters
    ----------
    slug : str
        Stable name, listed in `docs/problems.md`, for example ``no-sound-track``.
    where : str
        File, row, second or field.
    found : str
        What was found there.
    allowed : str
        What is allowed, or what follows from it.
    advice : str
        What to do.
    """

    slug: str
    where: str
    found: str
    allowed: str
    advice: str

    def sentence(self) -> str:
        """Give ``where: found; allowed. advice`` as one line to read."""
        return f"{self.where}: {self.found}; {self.allowed}. {self.advice}"


class ShutlineError(Exception):
    """The root of everything this package raises on purpose; carries the `Problem` that explains it."""

    exit_code = 1

    def __init__(self, problem: Problem) -> None:
        super().__init__(problem.sentence())
        self.problem = problem


class UserError(ShutlineError):
    """Something the caller can mend."""

    exit_code = 2


class NotFoundError(UserError):
    """A car, recording or finding was asked for that the store does not hold."""


class BadInputError(UserError):
    """A file or a text that nothing can be taken from."""


class BrokenWorldError(ShutlineError):
    """The disk, the database or the machine failed, not the data."""


class StoppedError(ShutlineError):
    """The work was asked to stop; what was done before is kept.

    `goes_on` tells that the same command goes on where it was; else it begins anew.
    """

    def __init__(self, where: str, *, goes_on: bool = True) -> None:
        super().__init__(
            Problem(
                slug="stopped",
                where=where,
                found="stopped on request",
                allowed="everything done so far is kept" if goes_on else "nothing half done is left",
                advice="Give the same command again to go on."
                if goes_on
                else "Given again, the command begins anew; only what is brought in or read goes on where it was.",
            )
        )
