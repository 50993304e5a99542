"""What is taken from the film itself without being asked: figures read off it, and the engine's note."""

from __future__ import annotations

from dataclasses import asdict, dataclass
from pathlib import Path
from typing import Any

from shutline.car.errors import Problem, UserError
from shutline.usecases.kept_files import FileState
from shutline.usecases.kept_settings import KeptSettings


@dataclass(frozen=True, slots=True)
class Evidence:
    """Whether `figures` are read off films and pictures that come in, and whether the `engine` is listened to."""

    figures: bool = True
    engine: bool = True


@dataclass(frozen=True, slots=True)
class EvidenceShown:
    """What is chosen, with the file it lies in, its mark and its states; `problems` where it cannot be used."""

    file: str
    chosen: Evidence
    mark: str
    states: tuple[FileState, ...]
    problems: tuple[Problem, ...] = ()


def evidence_file() -> Path:
    """Give where it is chosen: ``evidence.toml`` beside the settings."""
    return _KEPT.path()


def evidence() -> Evidence:
    """Give what is chosen; all of it where nobody has chosen.

    Raises
    ------
    UserError
        The file cannot be read as TOML (slug ``settings-not-toml``) or holds what it may not (``evidence-refused``).
    """
    return _KEPT.present()


def chosen_evidence(*, figures: bool | None = None, engine: bool | None = None) -> Evidence:
    """Give what is asked for, and what is chosen where nothing is; errors as for `evidence`."""
    if figures is not None and engine is not None:
        return Evidence(figures, engine)
    usual = evidence()
    return Evidence(usual.figures if figures is None else figures, usual.engine if engine is None else engine)


def evidence_shown() -> EvidenceShown:
    """Give what is chosen to be shown, with what is wrong with its file, if anything is."""
    return EvidenceShown(*_KEPT.shown())


def keep_evidence(chosen: Evidence, *, author: str, expected: str | None = None) -> EvidenceShown:
    """Keep what is chosen; what stood before is kept beside it.

    Parameters
    ----------
    chosen : Evidence
        What shall be done without being asked.
    author : str
        Who says so.
    expected : str, optional
        Mark of the file that the change was made to; `ChangedMeanwhileError` where another state is there.
    """
    _KEPT.keep(chosen, author=author, expected=expected)
    return evidence_shown()


def evidence_of(state: str) -> Evidence:
    """Give what was chosen in a former state; raises NotFoundError where there is none, UserError for a broken one."""
    return _KEPT.former(state)


def evidence_back(state: str, *, author: str, expected: str | None = None) -> EvidenceShown:
    """Let a former state stand again, as a new one."""
    return keep_evidence(evidence_of(state), author=author, expected=expected)


def _read(raw: dict[str, Any]) -> Evidence:
    """Hold values to what is allowed."""
    for entry, value in raw.items():
        if entry not in asdict(Evidence()) or not isinstance(value, bool):
            raise UserError(
                Problem(
                    slug="evidence-refused",
                    where=f"{evidence_file().name}, {entry[:40]}",
                    found="an entry that there is not, or of another kind",
                    allowed="figures and engine, each true or false",
                    advice="Mend that entry (docs/settings.md).",
                )
            )
    return Evidence(**raw)


def _write(chosen: Evidence) -> str:
    entries = (f"{name} = {str(value).lower()}\n" for name, value in asdict(chosen).items())
    return "" if chosen == Evidence() else "".join(entries)


_KEPT = KeptSettings(
    "evidence.toml",
    read=_read,
    shipped=Evidence,
    write=_write,
    example="figures = false",
    advice="Mend the file, or choose anew.",
)
