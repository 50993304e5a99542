"""One zip of a folder: the same bytes for the same folder, and nothing in it of who made it when."""

from __future__ import annotations

import secrets
import zipfile
from collections.abc import Callable
from pathlib import Path

from shutline.sealed.watch import Share
from shutline.usecases.written import cannot_write

# The first day that a zip can tell; a clock would make each one different.
_DAY = (1980, 1, 1, 0, 0, 0)
_PACKED = frozenset({".html", ".css", ".js", ".vtt", ".txt", ".json", ".svg"})


def write_zip(path: Path, folder: Path, *, top: str, watch: Callable[[float], None] | None = None) -> None:
    """Write a zip of a folder, all of it under one name; text is packed, films and pictures are as they are.

    `watch` is told how much of it is done.

    Raises
    ------
    BrokenWorldError
        It cannot be written (slug ``output-not-written``).
    """
    part = path.with_name(f".{path.name}.{secrets.token_hex(4)}.part")
    try:
        with cannot_write(path):
            files = sorted(one for one in folder.rglob("*") if one.is_file())
            share = Share(sum(file.stat().st_size for file in files), watch)
            with zipfile.ZipFile(part, "w") as packed:
                for file in files:
                    entry = zipfile.ZipInfo(f"{top}/{file.relative_to(folder).as_posix()}", _DAY)
                    entry.compress_type = zipfile.ZIP_DEFLATED if file.suffix in _PACKED else zipfile.ZIP_STORED
                    entry.external_attr = 0o644 << 16
                    with (
                        file.open("rb") as there,
                        packed.open(entry, "w", force_zip64=file.stat().st_size > 1 << 31) as out,
                    ):
                        while piece := there.read(1 << 20):
                            out.write(piece)
                            share(len(piece))
            part.replace(path)
    finally:
        part.unlink(missing_ok=True)
