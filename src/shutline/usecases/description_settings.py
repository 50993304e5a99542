"""How the house's descriptions speak: their voice and closing lines, and sentences and words of its own."""

from __future__ import annotations

import hashlib
import json
import os
from dataclasses import asdict, dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any

from shutline.car.errors import BadInputError, NotFoundError, Problem, ShutlineError, UserError
from shutline.usecases.kept_files import FileState, KeptFile, former_text, keep, look_at
from shutline.usecases.kept_settings import KeptSettings
from shutline.usecases.settings import settings_file
from shutline.words.wording import VOICES

if TYPE_CHECKING:
    from shutline.words import Wording

WORDING_VARIABLE = "SHUTLINE_WORDING"
"""Environment variable that names another folder of the house's own sentences and words."""

LONGEST_LINE = 300
MOST_LINES = 6


@dataclass(frozen=True, slots=True)
class DescriptionDetails:
    """How descriptions speak.

    `voice` is one of `VOICES` of the wording, `closing` lines told at the end, `headings` whether each section has one,
    `marks` whether the chassis number goes out in data for other programs.
    """

    voice: str = VOICES[0]
    closing: tuple[str, ...] = ()
    headings: bool = True
    marks: bool = False


@dataclass(frozen=True, slots=True)
class WordingFile:
    """One file of the house's own words: its text (None where it is not UTF-8), its mark, and what is wrong with it."""

    name: str
    text: str | None
    mark: str
    problems: tuple[Problem, ...]
    states: tuple[FileState, ...]


@dataclass(frozen=True, slots=True)
class WordingShown:
    """The folder of the house's own words, and its files, each whether it is there or not.

    `problems` tell of files that have another name; nothing is drafted while they lie there.
    """

    folder: str
    files: tuple[WordingFile, ...]
    problems: tuple[Problem, ...] = ()


@dataclass(frozen=True, slots=True)
class DescriptionShown:
    """The details with their file, its mark and its states; `problems` where the file cannot be used."""

    file: str
    details: DescriptionDetails
    mark: str
    states: tuple[FileState, ...]
    problems: tuple[Problem, ...] = ()


def description_file() -> Path:
    """Give where the details lie: ``description.toml`` beside the settings."""
    return _KEPT.path()


def wording_folder() -> Path:
    """Give where the house's own words lie: what the environment names, else `wording` beside the settings."""
    named = os.environ.get(WORDING_VARIABLE)
    return Path(named) if named else settings_file().parent / "wording"


def wording_names() -> tuple[str, ...]:
    """Give the files there may be."""
    from shutline.words.wording import FILES

    return FILES


def description_details() -> DescriptionDetails:
    """Read the details.

    Raises
    ------
    UserError
        The file is no TOML (slug ``settings-not-toml``) or holds what it may not (``description-refused``).
    """
    return _KEPT.present()


def description_shown() -> DescriptionShown:
    """Give the details to be shown, with what is wrong with their file, if anything is."""
    return DescriptionShown(*_KEPT.shown())


def wording_shown() -> WordingShown:
    """Give the house's own words to be shown, broken ones too."""
    odd = [Path(file).name for file, _ in _files(None) if Path(file).name not in wording_names()]
    problems = tuple(_odd_file(name) for name in odd)
    return WordingShown(str(wording_folder()), tuple(_file(name) for name in wording_names()), problems)


def keep_description(details: DescriptionDetails, *, author: str, expected: str | None = None) -> DescriptionShown:
    """Keep the details; what stood before is kept beside them.

    Raises
    ------
    UserError
        Something in them is not allowed (slug ``description-refused``); `ChangedMeanwhileError` where somebody changed
        them since the state whose mark is `expected`.
    """
    _KEPT.keep(_tidy(asdict(details)), author=author, expected=expected)
    return description_shown()


def description_of(state: str) -> DescriptionDetails:
    """Give the details of a former state; raises NotFoundError where there is none, UserError where it is broken."""
    return _KEPT.former(state)


def description_back(state: str, *, author: str, expected: str | None = None) -> DescriptionShown:
    """Let a former state stand again, as a new one."""
    return keep_description(description_of(state), author=author, expected=expected)


def own_wording(folder: Path | None = None) -> Wording:
    """Give the wording of descriptions: ours in the house's voice, with the house's own files laid over it.

    Raises
    ------
    BadInputError
        A file is no UTF-8 or has another name, or a line of it is wrong (slug ``house-words``), with file and line.
    UserError
        As `description_details`.
    """
    from shutline.words.wording import voiced, with_house_wording

    voice = description_details().voice
    texts: dict[str, str] = {}
    for file, data in _files(folder):
        try:
            texts[file] = data.decode("utf-8-sig")
        except UnicodeDecodeError as error:
            raise _no_utf8(file, error.start) from None
    return with_house_wording(texts, voice=voice) if texts else voiced(voice)


def description_mark() -> str:
    """Give a mark that changes with the details and with what the house's files hold; they are not read."""
    digest = hashlib.sha256(look_at(description_file()).mark.encode())
    for file, data in _files(None):
        digest.update(Path(file).name.encode() + b"\0" + data + b"\0")
    return digest.hexdigest()[:16]


def check_wording(name: str, text: str) -> tuple[Problem, ...]:
    """Tell what is wrong with a text as one of the files; nothing is kept. Raises NotFoundError for another name."""
    from shutline.words.wording import with_house_wording

    _known(name)
    if not text.strip():
        return ()
    try:
        with_house_wording({name: text})
    except ShutlineError as error:
        return (error.problem,)
    return ()


def keep_wording(name: str, text: str, *, author: str, expected: str | None = None) -> WordingFile:
    """Keep a text as one of the files, and what stood there before beside it; an empty one takes the file away.

    Raises
    ------
    NotFoundError
        There is no such file (slug ``wording-file-unknown``).
    BadInputError
        A line is wrong (slug ``house-words``); `ChangedMeanwhileError` where somebody changed it.
    """
    problems = check_wording(name, text)
    if problems:
        raise BadInputError(problems[0])
    tidy = text if not text or text.endswith("\n") else f"{text}\n"
    keep(wording_folder() / name, tidy if tidy.strip() else "", author=author, expected=expected)
    return _file(name)


def wording_of(name: str, state: str) -> str:
    """Give the text of a former state of a file."""
    _known(name)
    return former_text(wording_folder() / name, state)


def wording_back(name: str, state: str, *, author: str, expected: str | None = None) -> WordingFile:
    """Let a former state of a file stand again, as a new one."""
    return keep_wording(name, wording_of(name, state), author=author, expected=expected)


def _file(name: str) -> WordingFile:
    kept: KeptFile = look_at(wording_folder() / name)
    problems = (_no_utf8(name, 0).problem,) if kept.text is None else check_wording(name, kept.text)
    return WordingFile(name, kept.text, kept.mark, problems, kept.states)


def _files(folder: Path | None) -> list[tuple[str, bytes]]:
    there = folder or wording_folder()
    found = sorted((*there.glob("*.csv"), *there.glob("*.toml")))
    return [(str(file), file.read_bytes()) for file in found]


def _tidy(raw: dict[str, Any]) -> DescriptionDetails:
    """Hold values to what is allowed."""
    from shutline.words.checks import forbidden_in

    kinds = {"voice": str, "closing": (list, tuple), "headings": bool, "marks": bool}
    for entry, value in raw.items():
        if entry not in kinds or not isinstance(value, kinds[entry]):  # type: ignore[arg-type]
            raise _refused(entry, "an entry that there is not, or of another kind", ", ".join(kinds))
    voice = raw.get("voice", VOICES[0])
    if voice not in VOICES:
        raise _refused("voice", f"'{voice[:40]}'", " or ".join(VOICES))
    if not all(isinstance(line, str) for line in raw.get("closing", ())):
        raise _refused("closing", "something that is no text", "a list of lines")
    closing = tuple(line for line in (" ".join(line.split()) for line in raw.get("closing", ())) if line)
    if len(closing) > MOST_LINES:
        raise _refused("closing", f"{len(closing)} lines", f"at most {MOST_LINES}")
    for line in closing:
        if len(line) > LONGEST_LINE or not line.isprintable():
            raise _refused("closing", "a line too long, or one that cannot be printed", f"{LONGEST_LINE} letters")
        said = forbidden_in(line)
        if said is not None:
            raise _refused("closing", f"'{said[0]}'", f"words that a car file can bear out: {said[1]}")
    return DescriptionDetails(voice, closing, raw.get("headings", True), raw.get("marks", False))


def _toml(details: DescriptionDetails) -> str:
    """Write the details as TOML; a string of JSON is one of TOML too, for all that `_tidy` lets through."""
    if details == DescriptionDetails():
        return ""
    lines = ", ".join(json.dumps(line, ensure_ascii=False) for line in details.closing)
    return (
        f'voice = "{details.voice}"\n'
        f"closing = [{lines}]\n"
        f"headings = {str(details.headings).lower()}\n"
        f"marks = {str(details.marks).lower()}\n"
    )


def _known(name: str) -> None:
    if name not in wording_names():
        raise NotFoundError(
            Problem(
                slug="wording-file-unknown",
                where=name[:40],
                found="no such file of wording",
                allowed=f"one of {', '.join(wording_names())}",
                advice="Take one of those.",
            )
        )


def _odd_file(name: str) -> Problem:
    allowed = ", ".join(wording_names())
    return Problem("house-words", name, "a file of another name", allowed, "Rename it, or move it away.")


def _no_utf8(name: str, at: int) -> BadInputError:
    return BadInputError(
        Problem("house-words", name, f"byte {at} is no UTF-8", "UTF-8", "Save the file as UTF-8, and try again.")
    )


def _refused(entry: str, found: str, allowed: str) -> UserError:
    return UserError(
        Problem(
            slug="description-refused",
            where=f"descriptions, {entry[:40]}",
            found=found,
            allowed=allowed,
            advice="Mend it, and keep it again.",
        )
    )


_KEPT = KeptSettings(
    "description.toml",
    read=_tidy,
    shipped=DescriptionDetails,
    write=_toml,
    example='voice = "we"',
    advice="Mend the file, or keep the details anew.",
)
