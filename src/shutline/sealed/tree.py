"""A sealed file as it lies there: a folder, or one zip of it."""

from __future__ import annotations

import hashlib
import os
import stat
import zipfile
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from pathlib import Path
from typing import IO, Protocol

from shutline.car.errors import BadInputError, NotFoundError, Problem
from shutline.sealed.watch import Share

_PIECE = 1 << 20

LINK = "a link"
TWICE = "twice"
EMPTY = "an empty folder"
NOT_PLAIN = "no plain file"


class Tree(Protocol):
    """Names of what lies there, with forward slashes, and the bytes of each.

    `files` are plain files, `others` what is none, each with the reason: `LINK`, `TWICE`, `EMPTY` or `NOT_PLAIN`.
    """

    name: str
    files: tuple[str, ...]
    others: Mapping[str, str]

    def open(self, name: str) -> IO[bytes]:
        """Open a file to be read."""
        ...

    def size(self, name: str) -> int:
        """Give the bytes of a file, 0 where nobody can tell."""
        ...


def read(tree: Tree, name: str, *, most: int = 1 << 26) -> bytes | None:
    """Give the bytes of a small file; None where it is not there or cannot be read."""
    if name not in tree.files:
        return None
    try:
        with tree.open(name) as file:
            return file.read(most)
    except (OSError, zipfile.BadZipFile, RuntimeError, NotImplementedError):
        return None


def digest(tree: Tree, name: str, algorithm: str, share: Share | None = None) -> str:
    """Give the digest of a file in hexadecimal, each byte of it read; "" where it cannot be read to its end."""
    found = hashlib.new(algorithm)
    try:
        with tree.open(name) as file:
            while piece := file.read(_PIECE):
                found.update(piece)
                if share is not None:
                    share(len(piece))
    except (OSError, zipfile.BadZipFile, RuntimeError, NotImplementedError, EOFError):
        return ""
    return found.hexdigest()


@contextmanager
def opened_tree(path: Path) -> Iterator[Tree]:
    """Open a sealed file.

    Raises
    ------
    NotFoundError
        Nothing lies there (slug ``no-such-file``).
    BadInputError
        It is neither a folder nor a zip (``seal-not-one``).
    """
    if path.is_dir():
        yield _Folder(path)
        return
    if not path.exists():
        raise NotFoundError(
            Problem(
                slug="no-such-file",
                where=str(path),
                found="nothing lies there",
                allowed="a sealed file: its folder, or the zip of it",
                advice="Look at the path.",
            )
        )
    try:
        with zipfile.ZipFile(path) as packed:
            yield _Zip(path.name, packed)
    except (zipfile.BadZipFile, NotImplementedError, ValueError) as trouble:
        raise BadInputError(
            Problem(
                slug="seal-not-one",
                where=path.name,
                found="it cannot be opened as a zip, or its list of files is damaged",
                allowed="a sealed file: its folder, or the zip of it",
                advice="Copy it again from where it came from.",
            )
        ) from trouble


class _Folder:
    def __init__(self, path: Path) -> None:
        self.name = path.resolve().name
        self._path = path
        files: list[str] = []
        others: dict[str, str] = {}
        for here, folders, names in os.walk(path):
            at = Path(here)
            links = [folder for folder in folders if (at / folder).is_symlink()]
            if not folders and not names and at != path:
                others[f"{at.relative_to(path).as_posix()}/"] = EMPTY
            for name in (*names, *links):
                inside = (at / name).relative_to(path).as_posix()
                mode = (at / name).lstat().st_mode
                if stat.S_ISREG(mode):
                    files.append(inside)
                else:
                    others[inside] = LINK if stat.S_ISLNK(mode) else NOT_PLAIN
        self.files = tuple(sorted(files))
        self.others: Mapping[str, str] = others

    def open(self, name: str) -> IO[bytes]:
        return (self._path / name).open("rb")

    def size(self, name: str) -> int:
        try:
            return (self._path / name).stat().st_size
        except OSError:
            return 0


class _Zip:
    """The zip of a folder: all names begin with that of the one folder in it (RFC 8493, clause 4.2)."""

    def __init__(self, name: str, packed: zipfile.ZipFile) -> None:
        names = [one.filename for one in packed.infolist() if not one.is_dir()]
        tops = {one.split("/", 1)[0] for one in names if "/" in one}
        self._top = f"{tops.pop()}/" if len(tops) == 1 and all("/" in one for one in names) else ""
        self.name = self._top.rstrip("/") or name
        self._packed = packed
        inside = [one.removeprefix(self._top) for one in names]
        twice = {one for one in inside if inside.count(one) > 1} if len(set(inside)) < len(inside) else set()
        links = {
            one.filename.removeprefix(self._top) for one in packed.infolist() if stat.S_ISLNK(one.external_attr >> 16)
        }
        self.files = tuple(sorted(set(inside) - twice - links))
        self.others: Mapping[str, str] = {**dict.fromkeys(links, LINK), **dict.fromkeys(twice, TWICE)}

    def open(self, name: str) -> IO[bytes]:
        return self._packed.open(self._top + name)

    def size(self, name: str) -> int:
        return self._packed.getinfo(self._top + name).file_size
