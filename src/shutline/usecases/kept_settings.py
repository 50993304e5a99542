"""One way to keep a set of entries that a user chooses: a TOML file beside the settings, held to what is allowed."""

from __future__ import annotations

import tomllib
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Generic, NamedTuple, TypeVar

from shutline.car.errors import Problem, ShutlineError, UserError
from shutline.usecases.kept_files import FileState, former_text, keep, look_at
from shutline.usecases.settings import settings_file

T = TypeVar("T")

TEXT = "text"


class Shown(NamedTuple, Generic[T]):
    """What is chosen, with its file, the file's mark and states, and what is wrong with the file, if anything is."""

    file: str
    chosen: T
    mark: str
    states: tuple[FileState, ...]
    problems: tuple[Problem, ...] = ()


@dataclass(frozen=True, slots=True)
class KeptSettings(Generic[T]):
    """A set of entries in a file of its own.

    `name` is the file's; `read` makes what is chosen of its entries, and raises UserError for what is not allowed;
    `shipped` gives what is chosen where nobody has chosen, or where the file cannot be used; `write` gives the text of
    a choice, empty for the shipped one. `example` and `advice` are told where the file is no TOML. With `lines`, `read`
    is given the text as its entry `TEXT` instead of the entries, so that it can say on which line one stands.
    """

    name: str
    read: Callable[[dict[str, Any]], T]
    shipped: Callable[[], T]
    write: Callable[[T], str]
    example: str
    advice: str
    lines: bool = False

    def path(self) -> Path:
        """Give where the file lies."""
        return settings_file().parent / self.name

    def present(self) -> T:
        """Give what is chosen; raises UserError where the file is no TOML or holds what it may not."""
        return self._of(look_at(self.path()).text)

    def shown(self) -> Shown[T]:
        """Give what is chosen to be shown, with what is wrong with its file."""
        kept = look_at(self.path())
        try:
            return Shown(str(kept.path), self._of(kept.text), kept.mark, kept.states)
        except ShutlineError as error:
            return Shown(str(kept.path), self.shipped(), kept.mark, kept.states, (error.problem,))

    def keep(self, chosen: T, *, author: str, expected: str | None = None) -> None:
        """Keep a choice, what stood before beside it; raises as `kept_files.keep`."""
        keep(self.path(), self.write(chosen), author=author, expected=expected)

    def former(self, state: str) -> T:
        """Give the choice of a former state; raises NotFoundError where there is none, UserError for a broken one."""
        return self._of(former_text(self.path(), state))

    def _of(self, text: str | None) -> T:
        try:
            # What is not UTF-8 is no TOML either.
            raw = tomllib.loads("\0" if text is None else text)
        except ValueError as error:
            line = getattr(error, "lineno", None)
            raise UserError(
                Problem(
                    slug="settings-not-toml",
                    where=f"{self.name}, line {line}" if line else self.name,
                    found="it cannot be read as TOML",
                    allowed=f"entries such as {self.example}, in UTF-8",
                    advice=self.advice,
                )
            ) from error
        return self.read({TEXT: text} if self.lines else raw)
