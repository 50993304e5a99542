"""Pack files into a bag and sign it: aside first, and in its place only when it is whole."""

from __future__ import annotations

import hashlib
import json
import os
import re
import secrets
import shutil
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from importlib.resources import files
from pathlib import Path
from typing import Any

from shutline.car.errors import BrokenWorldError, Problem, UserError
from shutline.sealed.keys import SealKey, fingerprint, raw_of
from shutline.sealed.manifest import (
    ALGORITHM,
    DECLARATION,
    HOW_TO,
    MANIFEST,
    PUBLIC_KEY,
    SIGNATURE,
    STATEMENT,
    TAG_MANIFEST,
    TIME_STAMP,
    manifest_text,
)
from shutline.sealed.watch import Share, Watch

# Letters that every system and every tool takes as they are.
_NAME = re.compile(r"[A-Za-z0-9][A-Za-z0-9._-]*(?:/[A-Za-z0-9][A-Za-z0-9._-]*)*")
_PIECE = 1 << 20


@dataclass(frozen=True, slots=True)
class Payload:
    """One file to be packed: its name under ``data/`` with forward slashes, its bytes or where they lie, what it is.

    `sha256` is what its bytes must come to, "" where nothing is known of them.
    """

    name: str
    source: bytes | Path
    what: str
    sha256: str = ""


@dataclass(frozen=True, slots=True)
class Packed:
    """A sealed file as it was packed.

    `number` is the SHA-256 of its tag manifest, by which a later one names it; `byte_size` that of all its files.
    """

    folder: Path
    number: str
    fingerprint: str
    files: int
    byte_size: int


def pack(
    folder: Path,
    payload: Sequence[Payload],
    *,
    statement: Mapping[str, Any],
    info: Mapping[str, str],
    key: SealKey,
    stamp: Callable[[bytes], bytes] | None = None,
    watch: Watch | None = None,
) -> Packed:
    """Pack and sign a sealed file.

    Parameters
    ----------
    folder : Path
        Where it is to lie; nothing may lie there yet.
    payload : sequence of Payload
        Names of plain letters, digits, ``.``, ``_`` and ``-``; none twice, whatever the case of its letters.
    statement : mapping
        What is stated of it, in JSON's values; the public key and the list of files are added.
    info : mapping
        Further lines of ``bag-info.txt``, each on one line.
    key : SealKey
        What it is signed with.
    stamp : callable, optional
        Takes the bytes of the payload manifest and gives a time stamp of them.
    watch : callable, optional
        Is told how much of the payload is packed.

    Raises
    ------
    UserError
        Something lies there already (slug ``seal-there``).
    BrokenWorldError
        A file to be packed is gone, or it cannot be written (``seal-not-written``); one is not what it was when it was
        brought in (``seal-original-changed``). Nothing is left.
    ValueError
        A name is none of those allowed.
    """
    _check_names([one.name for one in payload])
    if folder.exists():
        raise UserError(
            Problem(
                slug="seal-there",
                where=str(folder),
                found="something of this name lies there already",
                allowed="a sealed file is never written over another",
                advice="Name another folder, or move that one away.",
            )
        )
    part = folder.with_name(f".{folder.name}.{secrets.token_hex(4)}.part")
    try:
        part.mkdir(parents=True)
        made = _fill(part, payload, statement=statement, info=info, key=key, stamp=stamp, watch=watch)
        part.rename(folder)
    except OSError as trouble:
        raise _not_written(trouble, folder, [one.source for one in payload]) from trouble
    finally:
        shutil.rmtree(part, ignore_errors=True)
    return Packed(folder, *made)


def _not_written(trouble: OSError, folder: Path, sources: Sequence[bytes | Path]) -> BrokenWorldError:
    """Tell whether what was to go in could not be read, or the sealed file could not be written."""
    found = trouble.strerror or type(trouble).__name__
    if str(trouble.filename) in {str(one) for one in sources if isinstance(one, Path)}:
        return BrokenWorldError(
            Problem(
                slug="seal-not-written",
                where=str(trouble.filename),
                found=f"it was to go into the sealed file, and cannot be read: {found}",
                allowed="what is sealed where it was; nothing was sealed",
                advice="Put it back, or seal without it.",
            )
        )
    return BrokenWorldError(
        Problem(
            slug="seal-not-written",
            where=str(folder.parent),
            found=f"no sealed file can be written there: {found}",
            allowed="a folder that can be written to, with room for it; nothing was sealed",
            advice="Name another folder with --out, or make room.",
        )
    )


def _fill(
    part: Path,
    payload: Sequence[Payload],
    *,
    statement: Mapping[str, Any],
    info: Mapping[str, str],
    key: SealKey,
    stamp: Callable[[bytes], bytes] | None,
    watch: Watch | None,
) -> tuple[str, str, int, int]:
    name = fingerprint(key.public)
    stated = {
        **statement,
        "public_key": raw_of(key.public),
        "fingerprint": name,
        "files": [{"name": f"data/{one.name}", "what": one.what} for one in payload],
    }
    told = (json.dumps(stated, ensure_ascii=False, indent=1) + "\n").encode()
    sources = {**{f"data/{one.name}": one.source for one in payload}, STATEMENT: told}
    wanted = {f"data/{one.name}": one.sha256 for one in payload}
    share = Share(sum(map(_size, sources.values())), watch)
    digests = {
        inside: _put(part / inside, source, share=share, sha256=wanted.get(inside, ""))
        for inside, source in sources.items()
    }
    size = sum((part / inside).stat().st_size for inside in sources)
    manifest = manifest_text(digests)
    tags = {
        "bagit.txt": DECLARATION,
        "bag-info.txt": _info({**info, "Payload-Oxum": f"{size}.{len(sources)}"}),
        MANIFEST: manifest,
        PUBLIC_KEY: key.public_pem(),
        HOW_TO: _how_to(name),
        **({TIME_STAMP: stamp(manifest)} if stamp is not None else {}),
    }
    tag_manifest = manifest_text({inside: _put(part / inside, data) for inside, data in tags.items()})
    _put(part / TAG_MANIFEST, tag_manifest)
    _put(part / SIGNATURE, key.sign(tag_manifest))
    whole = size + sum((part / inside).stat().st_size for inside in (*tags, TAG_MANIFEST, SIGNATURE))
    return hashlib.sha256(tag_manifest).hexdigest(), name, len(sources), whole


def _size(source: bytes | Path) -> int:
    return len(source) if isinstance(source, bytes) else source.stat().st_size


def _put(path: Path, source: bytes | Path, *, share: Share | None = None, sha256: str = "") -> str:
    """Write a file; give the digest of what was written, each byte of which was read for it."""
    path.parent.mkdir(parents=True, exist_ok=True)
    digest, known = hashlib.new(ALGORITHM), hashlib.sha256()
    with path.open("xb") as out:
        if isinstance(source, bytes):
            digest.update(source)
            out.write(source)
            if share is not None:
                share(len(source))
        else:
            with source.open("rb") as there:
                while piece := there.read(_PIECE):
                    digest.update(piece)
                    if sha256:
                        known.update(piece)
                    out.write(piece)
                    if share is not None:
                        share(len(piece))
        out.flush()
        os.fsync(out.fileno())
    if sha256 and isinstance(source, Path) and known.hexdigest() != sha256:
        raise _other_than_brought_in(source)
    return digest.hexdigest()


def _other_than_brought_in(source: Path) -> BrokenWorldError:
    return BrokenWorldError(
        Problem(
            slug="seal-original-changed",
            where=str(source),
            found="its bytes are not those that were brought in",
            allowed="an original as it came in; nothing was sealed",
            advice="Put the file back as it was, or seal without --originals.",
        )
    )


def _info(lines: Mapping[str, str]) -> bytes:
    return "".join(f"{label}: {' '.join(value.split())}\n" for label, value in lines.items()).encode()


def _how_to(name: str) -> bytes:
    text = files("shutline.sealed").joinpath("data/how-to-verify.txt").read_text(encoding="utf-8")
    return text.replace("{fingerprint}", name).encode()


def _check_names(names: Sequence[str]) -> None:
    if len({name.lower() for name in names}) < len(names) or "seal.json" in {name.lower() for name in names}:
        raise ValueError("a name stands twice")
    for name in names:
        if not _NAME.fullmatch(name):
            raise ValueError(f"{name!r} is no name for a file in a sealed file")
