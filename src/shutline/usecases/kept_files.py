"""Files that a user writes, kept whole, with every former state beside them: who, when, and a way back.

A file ``conditions.csv`` has its states in ``former/conditions.csv/``, one dated copy each, and who kept them in
``who.json``. A state that somebody wrote by other means is found and kept too, before it is written over.
"""

from __future__ import annotations

import contextlib
import hashlib
import json
import os
import re
import secrets
import threading
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from pathlib import Path

from shutline.car.errors import BrokenWorldError, NotFoundError, Problem, UserError

BY_HAND = ""
"""Author of a state that was not written by the program."""

LARGEST = 1_000_000
"""The longest file that is kept in this way, bytes."""

NOTHING = hashlib.sha256(b"").hexdigest()
"""Mark of a file that is not there, which is the same as an empty one."""

_FORMER, _WHO = "former", "who.json"
_STATE = re.compile(r"\d{4}-\d{2}-\d{2}T\d{2}-\d{2}-\d{2}\.\d{6}Z")
_STAMP = "%Y-%m-%dT%H-%M-%S.%fZ"
_turn = threading.RLock()


@dataclass(frozen=True, slots=True)
class FileState:
    """One state of a file: its id, when it came about (ISO 8601, UTC), by whom (empty: by hand), and its mark."""

    id: str
    at: str
    author: str
    mark: str


@dataclass(frozen=True, slots=True)
class KeptFile:
    """A file as it is: its text, None where it is not UTF-8; the mark of its bytes; its states, the newest first."""

    path: Path
    text: str | None
    mark: str
    states: tuple[FileState, ...]


class ChangedMeanwhileError(UserError):
    """A change was made to a state of a file that somebody has changed since; nothing was written.

    `present` is what stands there now, `wanted` what the caller would have written.
    """

    def __init__(self, *, where: str, expected_version: str, present: str | None, wanted: str) -> None:
        super().__init__(
            Problem(
                slug="stale-settings",
                where=where,
                found="somebody has changed it since you opened it",
                allowed="a change is taken only to what is there now; nothing was written",
                advice="Look at what is there now, and change it again if you still want to.",
            )
        )
        self.expected_version = expected_version
        self.present = present
        self.wanted = wanted


def mark_of(data: bytes) -> str:
    """Give the mark of some bytes."""
    return hashlib.sha256(data).hexdigest()


def look_at(path: Path) -> KeptFile:
    """Read a file with its states; one that is not there is empty.

    Raises
    ------
    BrokenWorldError
        It cannot be read (slug ``settings-not-read``).
    """
    data = _read(path)
    try:
        text: str | None = data.decode("utf-8-sig")
    except UnicodeDecodeError:
        text = None
    return KeptFile(path, text, mark_of(data), _states(path))


def keep(path: Path, text: str, *, author: str, expected: str | None = None) -> KeptFile:
    """Put a text in a file's place, whole, and keep what stood there before. An empty text takes the file away.

    Parameters
    ----------
    path : Path
        The file; its folder is made if it is not there.
    text : str
        What shall stand in it, in UTF-8.
    author : str
        Who says so.
    expected : str, optional
        Mark of the state that the change was made to; refused where another one is there now.

    Raises
    ------
    ChangedMeanwhileError
        Another state is there.
    UserError
        The text is too long (slug ``settings-too-long``).
    BrokenWorldError
        It cannot be written (``settings-not-written``) or read.
    """
    data = text.encode("utf-8")
    if len(data) > LARGEST:
        raise _too_long(path.name, len(data))
    with _turn:
        present = _read(path)
        if expected is not None and expected != mark_of(present):
            shown = present.decode("utf-8-sig", "replace")
            raise ChangedMeanwhileError(where=path.name, expected_version=expected, present=shown, wanted=text)
        if data == present:
            return look_at(path)
        try:
            former = _states(path)
            if present and (not former or former[0].mark != mark_of(present)):
                _remember(path, present, author=BY_HAND, at=datetime.fromtimestamp(path.stat().st_mtime, UTC))
            if data:
                write_whole(path, data)
            else:
                path.unlink()
            _remember(path, data, author=author, at=datetime.now(UTC))
        except OSError as trouble:
            raise _not_written(path, trouble) from trouble
        return look_at(path)


def former_text(path: Path, state: str) -> str:
    """Give the text of a former state of a file.

    Raises
    ------
    NotFoundError
        There is no such state (slug ``settings-state-unknown``).
    """
    if not _STATE.fullmatch(state) or all(known.id != state for known in _states(path)):
        raise NotFoundError(
            Problem(
                slug="settings-state-unknown",
                where=path.name,
                found=f"no former state {state[:40]!r}",
                allowed="one of those that are listed with it",
                advice="Open its former states again.",
            )
        )
    return _read(_copy(path, state)).decode("utf-8-sig", "replace")


def write_whole(path: Path, data: bytes) -> None:
    """Write a file whole under another name, then put it in its place; raises OSError where that cannot be done."""
    path.parent.mkdir(parents=True, exist_ok=True)
    part = path.with_name(f".{path.name}.{secrets.token_hex(4)}.part")
    try:
        with part.open("wb") as file:
            file.write(data)
            file.flush()
            os.fsync(file.fileno())
        part.replace(path)
    finally:
        with contextlib.suppress(OSError):
            part.unlink(missing_ok=True)


def _read(path: Path) -> bytes:
    try:
        return path.read_bytes()
    except FileNotFoundError:
        return b""
    except OSError as trouble:
        raise BrokenWorldError(
            Problem(
                slug="settings-not-read",
                where=str(path),
                found=trouble.strerror or type(trouble).__name__,
                allowed="a file that this user may read",
                advice="Change who may read it, or move it away.",
            )
        ) from trouble


def _states(path: Path) -> tuple[FileState, ...]:
    folder = path.parent / _FORMER / path.name
    who = _who(folder)
    found: list[FileState] = []
    for copy in folder.glob(f"*{path.suffix}"):
        id_ = copy.name.removesuffix(path.suffix)
        if _STATE.fullmatch(id_):
            at = datetime.strptime(id_, _STAMP).replace(tzinfo=UTC)
            found.append(FileState(id_, _iso(at), who.get(id_, BY_HAND), mark_of(_read(copy))))
    return tuple(sorted(found, key=lambda state: state.id, reverse=True))


def _remember(path: Path, data: bytes, *, author: str, at: datetime) -> None:
    """Keep a copy of a state, and who it is of; a copy is always later than the one before it."""
    newest = next((state.id for state in _states(path)), "")
    id_ = at.strftime(_STAMP)
    if id_ <= newest:
        last = datetime.strptime(newest, _STAMP).replace(tzinfo=UTC)
        id_ = (last + timedelta(microseconds=1)).strftime(_STAMP)
    copy = _copy(path, id_)
    who = _who(copy.parent) | ({id_: author} if author else {})
    write_whole(copy.with_name(_WHO), (json.dumps(who, ensure_ascii=False, indent=1) + "\n").encode())
    write_whole(copy, data)


def _who(folder: Path) -> dict[str, str]:
    try:
        kept = json.loads(_read(folder / _WHO) or b"{}")
    except ValueError:
        return {}
    return {str(id_): str(name) for id_, name in kept.items()} if isinstance(kept, dict) else {}


def _copy(path: Path, state: str) -> Path:
    return path.parent / _FORMER / path.name / f"{state}{path.suffix}"


def _iso(at: datetime) -> str:
    return at.isoformat(timespec="milliseconds").replace("+00:00", "Z")


def _too_long(name: str, count: int) -> UserError:
    return UserError(
        Problem(
            slug="settings-too-long",
            where=name,
            found=f"{count:,} bytes",
            allowed=f"at most {LARGEST:,} bytes",
            advice="Shorten it.",
        )
    )


def _not_written(path: Path, trouble: OSError) -> BrokenWorldError:
    return BrokenWorldError(
        Problem(
            slug="settings-not-written",
            where=str(path),
            found=trouble.strerror or type(trouble).__name__,
            allowed="a folder that can be written to, with room for the file and its former state",
            advice="Make room, or change who may write there.",
        )
    )
