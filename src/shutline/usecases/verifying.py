"""Verify sealed files: what was changed in them, whose key signed them, and whether they follow one another."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from shutline.car.errors import NotFoundError, Problem, UserError
from shutline.sealed import Checked, check, fingerprint, opened_tree, own_public
from shutline.sealed.keys import read_public
from shutline.usecases.settings import settings_file


@dataclass(frozen=True, slots=True)
class Verified:
    """One sealed file as it was found.

    `words` say each fault in a sentence. `own_key` tells whether it was signed with the key of this user's settings,
    None where there is no such key. `follows` tells whether the one before it is among those that were verified with
    it, None where it names none.
    """

    path: str
    checked: Checked
    words: tuple[str, ...]
    own_key: bool | None
    follows: bool | None


@dataclass(frozen=True, slots=True)
class VerifiedAll:
    """What came of it: `sound` where every one is."""

    sound: bool
    files: tuple[Verified, ...]


def verify(paths: Sequence[Path], *, key: Path | None = None, roots: Path | None = None) -> VerifiedAll:
    """Verify sealed files, and the chain between them.

    Parameters
    ----------
    paths : sequence of Path
        Folders or zips.
    key : Path, optional
        File of the public key that they must be signed with (PEM); any key fits when left out, and whose it is stays
        to be compared.
    roots : Path, optional
        File of certificates to trust for time stamps (PEM).

    Raises
    ------
    NotFoundError, BadInputError
        Nothing lies there, or it is no sealed file.
    UserError
        The file of the key holds none, or that of the certificates (slug ``verify-with``).
    """
    wanted = None if key is None else _public_key(key)
    trusted = () if roots is None else _certificates(roots)
    own = _own_fingerprint()
    found: list[tuple[Path, Checked]] = []
    for path in paths:
        with opened_tree(path) as tree:
            found.append((path, check(tree, key=wanted, roots=trusted)))
    numbers = {one.number for _, one in found}
    files = tuple(
        Verified(
            path=str(path),
            checked=one,
            words=tuple(_words(fault.kind, fault.name, fault.other) for fault in one.faults),
            own_key=None if own is None or not one.fingerprint else one.fingerprint == own,
            follows=None if one.former is None else one.former in numbers,
        )
        for path, one in found
    )
    return VerifiedAll(all(one.checked.sound for one in files), files)


_FAULTS = {
    "changed": "{name}: its bytes are not those that were sealed",
    "dropped": "{name}: it is missing",
    "added": "{name}: it was not there when this was sealed",
    "renamed": "{name}: it is called {other} now",
    "swapped": "{name} and {other}: each holds what the other held",
    "moved": "{name}: it holds what {other} holds",
    "unreadable": "{name}: it cannot be read to its end",
    "not a file": "{name}: it is a link, stands twice, or is an empty folder",
    "unsigned": "{name}: it was never signed",
    "misfit": "{name}: the signature is of something else",
    "another key": "{name}: it is signed with another key than the one you gave",
}


def _words(kind: str, name: str, other: str) -> str:
    return _FAULTS[kind].format(name=name, other=other)


def _own_fingerprint() -> str | None:
    folder = settings_file().parent
    own = own_public(folder)
    return None if own is None else fingerprint(own)


def _public_key(path: Path) -> Any:
    key = read_public(_bytes(path))
    if key is None:
        raise _not_with(path, "no Ed25519 public key in PEM", "the seal/public-key.pem of a sealed file that you trust")
    return key


def _certificates(path: Path) -> Sequence[Any]:
    from cryptography.x509 import load_pem_x509_certificates

    try:
        return load_pem_x509_certificates(_bytes(path))
    except ValueError:
        raise _not_with(path, "no certificates in PEM", "the root certificates of the time-stamp service") from None


def _bytes(path: Path) -> bytes:
    try:
        return path.read_bytes()
    except OSError as trouble:
        raise NotFoundError(
            Problem(
                slug="no-such-file",
                where=str(path),
                found=trouble.strerror or type(trouble).__name__,
                allowed="a file that can be read",
                advice="Look at the path.",
            )
        ) from trouble


def _not_with(path: Path, found: str, allowed: str) -> UserError:
    return UserError(
        Problem(slug="verify-with", where=str(path), found=found, allowed=allowed, advice="Name another file.")
    )
