"""Say what was changed in a sealed file since it was signed: which file, and how."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from shutline.sealed.keys import fingerprint, public_of, read_public, signed_by
from shutline.sealed.manifest import (
    PUBLIC_KEY,
    SIGNATURE,
    STATEMENT,
    TIME_STAMP,
    manifest_text,
    read_manifest,
)
from shutline.sealed.stamp import Stamp, read_stamp
from shutline.sealed.tree import Tree, digest, read
from shutline.sealed.watch import Share, Watch

if TYPE_CHECKING:
    from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PublicKey
    from cryptography.x509 import Certificate

_ALGORITHMS = ("sha512", "sha256")
# RFC 8032, clause 5.1.6.
_SIGNATURE_BYTES = 64
_NOT_OF_IT = frozenset({"added", "not a file", "another key", "another fingerprint", "another number"})


@dataclass(frozen=True, slots=True)
class Fault:
    """One thing that is not as it was sealed.

    `kind` is ``changed``, ``dropped``, ``added``, ``renamed``, ``swapped``, ``moved``, ``unreadable``, ``not a file``,
    ``unvouched``, ``unsigned``, ``misfit`` or ``another key``; by what was asked of it also ``another fingerprint`` or
    ``another number``. `name` is the file; `other` the one it was renamed to or
    swapped with, or whose bytes it holds now. ``unvouched`` is of a list that was changed, so that it vouches for none
    of the files in it. `reason` says why something is no file.
    """

    kind: str
    name: str
    other: str = ""
    reason: str = ""


@dataclass(frozen=True, slots=True)
class Checked:
    """What came of a check.

    `sound` is True where every file is as it was sealed and the signature is of them. `number` is the SHA-256 of the
    tag manifest, `former` that of the sealed file before it, `alike` that of the last one before it that was sealed for
    the same side; None where it is the first or says nothing. `fingerprint` names the key whose signature fits, or "".
    `statement` is what is stated in it, empty where it cannot be read.
    """

    name: str
    sound: bool
    number: str
    former: str | None
    alike: str | None
    fingerprint: str
    faults: tuple[Fault, ...]
    stamp: Stamp | None
    statement: Mapping[str, Any]
    files: int

    @property
    def whole(self) -> bool:
        """Whether all that was sealed is as it was, whatever else lies beside it or was asked of it."""
        return bool(self.fingerprint) and {fault.kind for fault in self.faults} <= _NOT_OF_IT


def check(
    tree: Tree,
    *,
    key: Ed25519PublicKey | None = None,
    roots: Sequence[Certificate] = (),
    watch: Watch | None = None,
) -> Checked:
    """Check a sealed file: every byte of it is read, each time.

    Parameters
    ----------
    tree : Tree
        The sealed file as it lies there.
    key : Ed25519PublicKey, optional
        The key that it must be signed with; any that the file itself names when left out.
    roots : sequence of Certificate
        Whom to trust for time stamps.
    watch : callable, optional
        Is told how much of it is read.

    Returns
    -------
    Checked
        A bag that was never signed is checked too, and is not sound.
    """
    algorithm = next((one for one in _ALGORITHMS if f"tagmanifest-{one}.txt" in tree.files), None) or next(
        (one for one in _ALGORITHMS if f"manifest-{one}.txt" in tree.files), _ALGORITHMS[0]
    )
    share = Share(sum(map(tree.size, tree.files)), watch)
    digests = {name: digest(tree, name, algorithm, share) for name in tree.files}
    faults = [Fault("unreadable", name) for name, found in digests.items() if not found]
    faults += [Fault("not a file", name, reason=reason) for name, reason in tree.others.items()]
    tags = {
        name: found
        for name, found in digests.items()
        if not name.startswith(("data/", "tagmanifest-")) and name != SIGNATURE
    }
    payload = {name: found for name, found in digests.items() if name.startswith("data/")}
    statement = _statement(read(tree, STATEMENT))
    seal = _seal(tree, f"tagmanifest-{algorithm}.txt", tags, statement, key)
    faults += seal.faults
    listed = read_manifest(seal.manifest)
    found = _compare(listed, tags)
    manifest = f"manifest-{algorithm}.txt"
    told, payload_faults = _payload(tree, manifest, listed, digests, payload)
    faults += found + payload_faults + _blame(seal, key, found, tags, listed)
    signer = seal.signer
    stamped = read(tree, TIME_STAMP)
    return Checked(
        name=tree.name,
        sound=not faults and signer is not None,
        number=hashlib.sha256(seal.manifest).hexdigest(),
        former=_number(statement, "former"),
        alike=_number(statement, "former_alike"),
        fingerprint="" if signer is None else fingerprint(signer),
        faults=tuple(sorted(set(faults), key=lambda one: (one.name, one.kind))),
        stamp=None if stamped is None else read_stamp(stamped, read(tree, manifest) or b"", roots=roots),
        statement=statement,
        files=len(told),
    )


@dataclass(frozen=True, slots=True)
class _Seal:
    """The tag manifest to go by, and the key whose signature is of it; None where no signature fits.

    `whole` tells whether the signature is as long as one is.
    """

    manifest: bytes
    signer: Ed25519PublicKey | None
    signed: bool
    whole: bool = True
    faults: tuple[Fault, ...] = ()


def _seal(
    tree: Tree, name: str, tags: Mapping[str, str], statement: Mapping[str, Any], key: Ed25519PublicKey | None
) -> _Seal:
    """Find what was signed: the tag manifest as it lies there, or what it must have been if it alone was changed."""
    there = read(tree, name)
    signature = read(tree, SIGNATURE) or b""
    keys = [one for one in _keys(tree, statement, key) if one is not None]
    if there is not None:
        for one in keys:
            if signed_by(one, signature, there):
                return _Seal(there, one, signed=True)
    rebuilt = manifest_text(tags)
    for one in keys:
        if signed_by(one, signature, rebuilt):
            return _Seal(rebuilt, one, signed=True, faults=(Fault("dropped" if there is None else "changed", name),))
    lost = () if there is not None else (Fault("dropped", name),)
    return _Seal(
        rebuilt if there is None else there,
        None,
        signed=SIGNATURE in tree.files,
        whole=len(signature) == _SIGNATURE_BYTES,
        faults=lost,
    )


def _keys(
    tree: Tree, statement: Mapping[str, Any], key: Ed25519PublicKey | None
) -> tuple[Ed25519PublicKey | None, ...]:
    """Give the keys that the signature may be of: the one asked for, and the one the file names in two places."""
    pem = read(tree, PUBLIC_KEY)
    raw = statement.get("public_key")
    return (
        key,
        None if pem is None else read_public(pem),
        public_of(raw) if isinstance(raw, str) else None,
    )


def _blame(
    seal: _Seal,
    key: Ed25519PublicKey | None,
    found: Sequence[Fault],
    tags: Mapping[str, str],
    listed: Mapping[str, str],
) -> list[Fault]:
    """Say what it is that keeps the signature from fitting."""
    if seal.signer is not None:
        other = key is not None and fingerprint(key) != fingerprint(seal.signer)
        return [Fault("another key", PUBLIC_KEY)] if other else []
    if not seal.signed:
        sealed = PUBLIC_KEY in tags or PUBLIC_KEY in listed
        return [Fault("dropped" if sealed else "unsigned", SIGNATURE)]
    # Of another length it was changed for certain. Else nobody can tell: whoever changes a file and puts both lists
    # right leaves the signature as the one thing that does not fit.
    alone = not found and not seal.faults and manifest_text(tags) == seal.manifest
    return [Fault("changed" if alone and not seal.whole else "misfit", SIGNATURE)]


def _payload(
    tree: Tree, name: str, listed: Mapping[str, str], digests: Mapping[str, str], payload: Mapping[str, str]
) -> tuple[Mapping[str, str], list[Fault]]:
    """Hold the payload against its manifest; if that alone was changed, against what it must have been."""
    unvouched: list[Fault] = []
    if name in listed and digests.get(name) != listed[name]:
        rebuilt = manifest_text(payload)
        algorithm = name.removeprefix("manifest-").removesuffix(".txt")
        if hashlib.new(algorithm, rebuilt).hexdigest() == listed[name]:
            return payload, []
        unvouched = [Fault("unvouched", name)]
        if name not in digests:
            return payload, unvouched
    wanted = read_manifest(read(tree, name) or b"")
    lost = [] if name in digests or name in listed else [Fault("dropped", name)]
    return wanted, unvouched + lost + _compare(wanted, payload)


def _compare(wanted: Mapping[str, str], there: Mapping[str, str]) -> list[Fault]:
    """Tell what is not as it was listed; a file that cannot be read is told elsewhere."""
    dropped = {name: found for name, found in wanted.items() if name not in there}
    added = {name: found for name, found in there.items() if name not in wanted}
    changed = {name for name in wanted if name in there and there[name] and there[name] != wanted[name]}
    faults: list[Fault] = []
    for name, found in sorted(dropped.items()):
        now = next((one for one in sorted(added) if added[one] == found), None)
        if now is None:
            faults.append(Fault("dropped", name))
        else:
            del added[now]
            faults.append(Fault("renamed", name, now))
    faults += [Fault("added", name) for name in added if added[name]]
    told: set[str] = set()
    for name in sorted(changed):
        if name in told:
            continue
        holds = [one for one in sorted(wanted) if one != name and wanted[one] == there[name]]
        pair = next((one for one in holds if one in changed and there[one] == wanted[name]), None)
        if pair is not None:
            told.add(pair)
            faults.append(Fault("swapped", name, pair))
        else:
            faults.append(Fault("moved", name, holds[0]) if holds else Fault("changed", name))
    return faults


def _number(statement: Mapping[str, Any], name: str) -> str | None:
    told = statement.get(name)
    number = told.get("number") if isinstance(told, dict) else None
    return number if isinstance(number, str) else None


def _statement(data: bytes | None) -> Mapping[str, Any]:
    try:
        told = json.loads(data or b"{}")
    except (ValueError, RecursionError):
        return {}
    return told if isinstance(told, dict) else {}
