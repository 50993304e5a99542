"""Keep originals and derived files under their SHA-256, whole or not at all.

A file lies at ``folder/ab/cd/abcd…``, 64 hexadecimal digits, whatever it was called when it came. It is written under
another name in ``folder/incoming``, flushed to the disk and then renamed in one step, so that a power cut or a kill
leaves either the whole file or a leftover that the next run clears away.
"""

from __future__ import annotations

import contextlib
import errno
import hashlib
import os
import re
import secrets
import shutil
import time
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import BinaryIO

from shutline.capture import files
from shutline.capture.probe import probe
from shutline.car.errors import BadInputError, BrokenWorldError, Problem, ShutlineError, StoppedError, UserError
from shutline.car.recordings import Kind, Original

_PIECE = 1 << 20
_DIGEST = re.compile(r"[0-9a-f]{64}\Z")
_INCOMING = "incoming"
_PART = ".part"
# A copy under way is written to all the time; one untouched for so long was left by a run that is no more.
_LEFTOVER_AFTER_S = 3600.0
_FULL = frozenset({errno.ENOSPC, getattr(errno, "EDQUOT", errno.ENOSPC), errno.EFBIG})
# Room left on the disk beside a copy, for the store that is written after it, bytes.
_SPARE = 16 << 20

Progress = Callable[[float], None]
"""Told the share that is done, from 0 to 1."""
ShouldStop = Callable[[], bool]
"""Asked between two pieces of work; True ends it with `StoppedError`."""


def take_in(
    path: Path,
    folder: Path,
    *,
    link: bool = False,
    ours: bool = False,
    kind: Kind | None = None,
    on_progress: Progress | None = None,
    should_stop: ShouldStop | None = None,
) -> Original:
    """Keep a file under its SHA-256, by copying it or by noting where it stays.

    Parameters
    ----------
    path : Path
        The file as somebody supplied it. It is only ever read.
    folder : Path
        The folder of originals; made when it is missing.
    link : bool
        Hash the file where it lies and copy nothing. The caller keeps the way to it.
    ours : bool
        The file lies on the disk of the originals, flushed, and nobody writes to it any more: it is given a second
        name there where the disk can do so, and not copied. It may then be removed where it was, not changed.
    kind : Kind, optional
        What it is, when the caller has probed it already; otherwise it is probed here.
    on_progress : callable, optional
        Told the share of bytes that is done, 0 to 1.
    should_stop : callable, optional
        Asked after each megabyte.

    Returns
    -------
    Original
        With the name as it came, `byte_size` as read, and `linked` as asked. The same bytes again give the same
        `sha256` and are kept once.

    Raises
    ------
    BadInputError
        Not a plain file (see `files.opened`), nothing that Shutline takes in (see `probe.probe`), or a file that is
        still being written (`still-changing`).
    BrokenWorldError
        `disk-full`, `write-failed`, `read-failed`, or `original-damaged`: what lies under this SHA-256 is of another
        size.
    StoppedError
        `should_stop` said so; nothing half-written is left.
    """
    found_kind = probe(path)[0].kind if kind is None else kind
    if link:
        digest, size = _hash_file(path, None, on_progress=on_progress, should_stop=should_stop)
    elif ours and (given := _given_a_second_name(path, folder, on_progress, should_stop)) is not None:
        digest, size = given
    else:
        _refuse_full_disk(path, folder)
        with _incoming(folder) as part:
            digest, size = _hash_file(path, part, on_progress=on_progress, should_stop=should_stop)
            _settle(part, folder, digest, size)
    return Original(digest, files.plain_name(path), size, found_kind, linked=link)


def write_once(folder: Path, data: bytes) -> str:
    """Keep bytes made from an original, such as a still, under their SHA-256.

    Parameters
    ----------
    folder : Path
        The folder of derived files; made when it is missing.
    data : bytes
        The whole file.

    Returns
    -------
    str
        The SHA-256, 64 hexadecimal digits; the same bytes again change nothing.

    Raises
    ------
    BrokenWorldError
        `disk-full`, `write-failed` or `original-damaged`.
    """
    digest = hashlib.sha256(data).hexdigest()
    target = original_path(folder, digest)
    if not _is_kept(target, len(data)):
        with _incoming(folder) as part:
            with _writing(folder):
                part.write(data)
            _settle(part, folder, digest, len(data))
    return digest


def original_path(folder: Path, sha256: str) -> Path:
    """Say where the bytes with this SHA-256 lie, or would lie.

    Raises
    ------
    UserError
        `not-a-digest`: anything but 64 lower-case hexadecimal digits, so that no name can lead out of the folder.
    """
    if not _DIGEST.match(sha256):
        raise UserError(
            Problem(
                slug="not-a-digest",
                where="SHA-256",
                found=f"{sha256[:80]!r}",
                allowed="64 of the signs 0 to 9 and a to f",
                advice="Take the SHA-256 as the store has it.",
            )
        )
    return folder / sha256[:2] / sha256[2:4] / sha256


def sha256_of(path: Path, *, on_progress: Progress | None = None, should_stop: ShouldStop | None = None) -> str:
    """Give the SHA-256 of a file, 64 hexadecimal digits; raises what `take_in` raises for reading."""
    return _hash_file(path, None, on_progress=on_progress, should_stop=should_stop)[0]


def _hash_file(
    path: Path, part: BinaryIO | None, *, on_progress: Progress | None, should_stop: ShouldStop | None
) -> tuple[str, int]:
    digest = hashlib.sha256()
    done = 0
    with files.opened(path) as file:
        before = os.fstat(file.fileno())
        # A file that somebody writes to as fast as it is read would have no end.
        while done <= before.st_size and (piece := _read(path, file)):
            if should_stop is not None and should_stop():
                raise StoppedError(files.shown_name(path))
            digest.update(piece)
            if part is not None:
                with _writing(path):
                    part.write(piece)
            done += len(piece)
            if on_progress is not None:
                on_progress(min(1.0, done / max(1, before.st_size)))
        after = os.fstat(file.fileno())
    if (before.st_size, before.st_mtime_ns) != (after.st_size, after.st_mtime_ns) or done != after.st_size:
        raise BadInputError(
            Problem(
                slug="still-changing",
                where=files.shown_name(path),
                found=f"the file changed while it was read ({before.st_size} bytes, then {after.st_size}; read {done})",
                allowed="a file that nothing writes to any more",
                advice="Wait until it is copied or filmed to the end, then add it again.",
            )
        )
    return digest.hexdigest(), done


def _read(path: Path, file: BinaryIO) -> bytes:
    try:
        return file.read(_PIECE)
    except OSError as trouble:
        raise files.read_failed(path, trouble) from trouble


def _settle(part: BinaryIO, folder: Path, digest: str, size: int) -> None:
    target = original_path(folder, digest)
    with _writing(folder):
        part.flush()
        os.fsync(part.fileno())
        written = os.fstat(part.fileno()).st_size
        if written != size:
            raise OSError(errno.EIO, f"{written} of {size} bytes are on the disk")
        part.close()
        if _is_kept(target, size):
            return
        target.parent.mkdir(parents=True, exist_ok=True)
        if os.name == "posix":
            Path(part.name).chmod(0o444)
        try:
            Path(part.name).replace(target)
        except PermissionError:
            # Windows does not replace a file that is open, for example one that another run has just kept and serves.
            if not _is_kept(target, size):
                raise
        _flush_folder(target.parent)


def _given_a_second_name(
    path: Path, folder: Path, on_progress: Progress | None, should_stop: ShouldStop | None
) -> tuple[str, int] | None:
    """Keep a file by a hard link; None where the disk has no such thing."""
    digest, size = _hash_file(path, None, on_progress=on_progress, should_stop=should_stop)
    target = original_path(folder, digest)
    if _is_kept(target, size):
        return digest, size
    with _writing(folder):
        target.parent.mkdir(parents=True, exist_ok=True)
        try:
            if os.name == "posix":
                path.chmod(0o444)
            target.hardlink_to(path)
        except OSError:
            return None
        _flush_folder(target.parent)
    return digest, size


def _is_kept(target: Path, size: int) -> bool:
    try:
        kept = target.stat().st_size
    except FileNotFoundError:
        return False
    if kept != size:
        raise BrokenWorldError(
            Problem(
                slug="original-damaged",
                where=target.name,
                found=f"{kept} bytes are kept under this SHA-256, {size} belong there",
                allowed="originals as they came in",
                advice="Look to the disk, move the damaged file aside, then add the recording again.",
            )
        )
    return True


@contextlib.contextmanager
def _incoming(folder: Path) -> Iterator[BinaryIO]:
    place = folder / _INCOMING
    with _writing(folder):
        place.mkdir(parents=True, exist_ok=True)
        _clear_leftovers(place)
        part = (place / f"{secrets.token_hex(16)}{_PART}").open("xb")
    try:
        yield part
    finally:
        # Closing writes what is still held back, which fails again on a full disk.
        with contextlib.suppress(OSError):
            part.close()
        Path(part.name).unlink(missing_ok=True)


def _clear_leftovers(place: Path) -> None:
    now = time.time()
    for leftover in place.glob(f"*{_PART}"):
        with contextlib.suppress(OSError):
            if now - leftover.stat().st_mtime > _LEFTOVER_AFTER_S:
                leftover.unlink()


def _flush_folder(folder: Path) -> None:
    if os.name != "posix":
        return
    handle = os.open(folder, os.O_RDONLY)
    try:
        os.fsync(handle)
    finally:
        os.close(handle)


def _refuse_full_disk(path: Path, folder: Path) -> None:
    with files.opened(path) as file:
        size = os.fstat(file.fileno()).st_size
    standing = folder.absolute()
    while not standing.exists():
        standing = standing.parent
    free = shutil.disk_usage(standing).free
    if free < size + _SPARE:
        raise _disk_full(files.shown_name(path), f"{size} bytes to keep and {free} free")


@contextlib.contextmanager
def _writing(path: Path) -> Iterator[None]:
    try:
        yield
    except ShutlineError:
        raise
    except OSError as trouble:
        if trouble.errno in _FULL:
            raise _disk_full(files.shown_name(path), "the disk is full") from trouble
        raise BrokenWorldError(
            Problem(
                slug="write-failed",
                where=files.shown_name(path),
                found=f"it could not be kept ({trouble.strerror or trouble})",
                allowed="a store folder that this user may write to",
                advice="Choose another folder with --store, or change who may write there.",
            )
        ) from trouble


def _disk_full(where: str, found: str) -> BrokenWorldError:
    return BrokenWorldError(
        Problem(
            slug="disk-full",
            where=where,
            found=found,
            allowed="room for a copy of the file; nothing was kept of it",
            advice="Make room, choose a store on another disk, or add it as a link so that it stays where it is.",
        )
    )
