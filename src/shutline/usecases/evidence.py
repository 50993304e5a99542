"""What is taken from the film itself without being asked: figures read off it, and the engine's note."""

from __future__ import annotations

import tomllib
from dataclasses import asdict, dataclass
from pathlib import Path

from shutline.car.errors import Problem, ShutlineError, UserError
from shutline.usecases.kept_files import FileState, former_text, keep, look_at
from shutline.usecases.settings import settings_file


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
    return settings_file().parent / "evidence.toml"


def evidence() -> Evidence:
    """Give what is chosen; all of it where nobody has chosen.

    Raises
    ------
    UserError
        The file cannot be read as TOML (slug ``settings-not-toml``) or holds what it may not (``evidence-refused``).
    """
    return _read(look_at(evidence_file()).text)


def chosen_evidence(*, figures: bool | None = None, engine: bool | None = None) -> Evidence:
    """Give what is asked for, and what is chosen where nothing is; errors as for `evidence`."""
    if figures is not None and engine is not None:
        return Evidence(figures, engine)
    usual = evidence()
    return Evidence(usual.figures if figures is None else figures, usual.engine if engine is None else engine)


def evidence_shown() -> EvidenceShown:
    """Give what is chosen to be shown, with what is wrong with its file, if anything is."""
    kept = look_at(evidence_file())
    try:
        return EvidenceShown(str(kept.path), _read(kept.text), kept.mark, kept.states)
    except ShutlineError as error:
        return EvidenceShown(str(kept.path), Evidence(), kept.mark, kept.states, (error.problem,))


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
    text = "".join(f"{name} = {str(value).lower()}\n" for name, value in asdict(chosen).items())
    keep(evidence_file(), "" if chosen == Evidence() else text, author=author, expected=expected)
    return evidence_shown()


def evidence_of(state: str) -> Evidence:
    """Give what was chosen in a former state; raises NotFoundError where there is none, UserError for a broken one."""
    return _read(former_text(evidence_file(), state))


def evidence_back(state: str, *, author: str, expected: str | None = None) -> EvidenceShown:
    """Let a former state stand again, as a new one."""
    return keep_evidence(evidence_of(state), author=author, expected=expected)


def _read(text: str | None) -> Evidence:
    name = evidence_file().name
    try:
        raw = tomllib.loads("\0" if text is None else text)
    except tomllib.TOMLDecodeError as error:
        line = getattr(error, "lineno", None)
        raise UserError(
            Problem(
                slug="settings-not-toml",
                where=f"{name}, line {line}" if line else name,
                found="it cannot be read as TOML",
                allowed="entries such as figures = false, in UTF-8",
                advice="Mend the file, or choose anew.",
            )
        ) from error
    for entry, value in raw.items():
        if entry not in asdict(Evidence()) or not isinstance(value, bool):
            raise UserError(
                Problem(
                    slug="evidence-refused",
                    where=f"{name}, {entry[:40]}",
                    found="an entry that there is not, or of another kind",
                    allowed="figures and engine, each true or false",
                    advice="Mend that entry (docs/settings.md).",
                )
            )
    return Evidence(**raw)
