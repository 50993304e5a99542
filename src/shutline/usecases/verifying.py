"""Verify sealed files: what was changed in them, whose key signed them, and whether they follow one another."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

from shutline.car.errors import BadInputError, NotFoundError, Problem, UserError
from shutline.car.going_out import Edition
from shutline.sealed import Checked, Fault, check, fingerprint, opened_tree, own_publics
from shutline.sealed.keys import read_public
from shutline.sealed.manifest import PUBLIC_KEY, SIGNATURE, STATEMENT, TAG_MANIFEST
from shutline.sealed.tree import EMPTY, LINK, NOT_PLAIN, TWICE, Tree
from shutline.usecases.progress import Stop, Tell, silent, watched
from shutline.usecases.settings import settings_file


@dataclass(frozen=True, slots=True)
class Verified:
    """One sealed file as it was found.

    `headline` says in a few words what came of it, `words` each fault in a sentence. `own_key` tells whether it was
    signed with a key of this user's settings, present or former, None where there is none. `vouched` tells whether it
    is known whose it is: it has the number, the fingerprint or the key that was given, or the key is the user's own.
    `follows` tells whether the one before it is among those that were verified with it, None where it names none;
    `chain` says it in sentences.
    """

    path: str
    checked: Checked
    headline: str
    words: tuple[str, ...]
    own_key: bool | None
    vouched: bool
    follows: bool | None
    chain: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class VerifiedAll:
    """What came of it: `sound` where every one is."""

    sound: bool
    files: tuple[Verified, ...]


def verify(
    paths: Sequence[Path],
    *,
    key: Path | None = None,
    roots: Path | None = None,
    number: str | None = None,
    key_fingerprint: str | None = None,
    tell: Tell = silent,
    stop: Stop | None = None,
) -> VerifiedAll:
    """Verify sealed files, and the chain between them: every byte of them is read, each time.

    Parameters
    ----------
    paths : sequence of Path
        Folders or zips.
    key : Path, optional
        File of the public key that they must be signed with (PEM); any key fits when left out, and whose it is stays
        to be compared.
    roots : Path, optional
        File of certificates to trust for time stamps (PEM).
    number, key_fingerprint : str, optional
        As they stand on the handover sheet, in groups or not: the number that one of the files must have, and the
        fingerprint of the key that all must be signed with.
    tell, stop
        As for `add`.

    Raises
    ------
    NotFoundError, BadInputError
        Nothing lies there, or it is no sealed file (slug ``seal-not-one``).
    UserError
        The file of the key holds none, or that of the certificates, or a number or fingerprint is none (slug
        ``verify-with``).
    StoppedError
        `stop` was set.
    """
    stop = stop or Stop()
    wanted = None if key is None else _public_key(key)
    trusted = () if roots is None else _certificates(roots)
    asked = _Asked(_digest("--number", number), _digest("--fingerprint", key_fingerprint), wanted is not None)
    own = _own_fingerprints()
    found: list[tuple[Path, Checked]] = []
    for path in paths:
        with opened_tree(path) as tree:
            _refuse_none(path, tree)
            watch = watched(path.name, "verifying", tell, stop)
            found.append((path, check(tree, key=wanted, roots=trusted, watch=watch)))
    there = {one.number: one for _, one in found}
    files = tuple(_verified(path, asked.held_against(one, there), own, there) for path, one in found)
    return VerifiedAll(all(one.checked.sound for one in files), files)


@dataclass(frozen=True, slots=True)
class _Asked:
    """What the files must have, as it was given."""

    number: str | None
    fingerprint: str | None
    key: bool

    def held_against(self, one: Checked, there: Mapping[str, Checked]) -> tuple[Checked, bool]:
        """Give a file with what is not as it was asked for among its faults, and whether it is known whose it is."""
        faults = list(one.faults)
        if self.number is not None and self.number not in {*there, one.number}:
            faults.append(Fault("another number", one.name))
        if self.fingerprint is not None and one.fingerprint and one.fingerprint != self.fingerprint:
            faults.append(Fault("another fingerprint", PUBLIC_KEY))
        told = self.key or self.fingerprint is not None or self.number == one.number
        return replace(one, faults=tuple(faults), sound=one.sound and len(faults) == len(one.faults)), told


def _verified(path: Path, held: tuple[Checked, bool], own: frozenset[str], there: Mapping[str, Checked]) -> Verified:
    one, told = held
    own_key = None if not own or not one.fingerprint else one.fingerprint in own
    vouched = one.sound and (told or own_key is True)
    return Verified(
        path=str(path),
        checked=one,
        headline=_headline(one, vouched=vouched),
        words=tuple(_words(fault) for fault in one.faults),
        own_key=own_key,
        vouched=vouched,
        follows=None if one.former is None else one.former in there,
        chain=_chain(one, there),
    )


_BESIDE = frozenset({"added", "not a file"})


def _headline(one: Checked, *, vouched: bool) -> str:
    if one.sound:
        return (
            "as it was sealed"
            if vouched
            else "nothing in it was changed since it was signed, but anybody can make a key: whose this one is, is not "
            "known here"
        )
    if one.whole and {fault.kind for fault in one.faults} <= _BESIDE:
        return f"all {one.files} files under data are as they were sealed; besides what was sealed lies"
    return "NOT as it was sealed"


def _chain(one: Checked, there: Mapping[str, Checked]) -> tuple[str, ...]:
    """Say what it follows, and what it means where that is not given."""
    if one.former is None:
        return ()
    if one.former in there:
        return (f"follows {one.former}: {_given(one.former, there)}",)
    told = one.statement.get("former")
    edition = told.get("edition") if isinstance(told, dict) else None
    whom = f", sealed for the {edition}" if edition in tuple(Edition) else ""
    row = "what is sealed for the firm and for the buyer stands in one row"
    words = [f"follows {one.former}{whom}: not given here, so nothing is said of it; {row}"]
    if one.alike is not None and one.alike != one.former:
        same = one.statement.get("edition")
        words.append(f"the last one before it for the {same} is {one.alike}: {_given(one.alike, there)}")
    return tuple(words)


def _given(number: str, there: Mapping[str, Checked]) -> str:
    if number not in there:
        return "not given here"
    return "given here, and as it was sealed" if there[number].sound else "given here, and NOT as it was sealed"


_TOPS = ("bagit.txt", "manifest-", "tagmanifest-", "seal/", STATEMENT)


def _refuse_none(path: Path, tree: Tree) -> None:
    """Refuse what is no sealed file, and say where one lies in it."""
    if any(name.startswith(_TOPS) for name in tree.files):
        return
    inside = sorted({name.rpartition("/")[0].removesuffix("/seal") for name in tree.files if name.endswith(_MARKS)})
    if inside:
        found = f"this is no sealed file; one lies in it: {', '.join(inside[:3])}"
        advice = (
            f"shutline verify '{path / inside[0]}'" if path.is_dir() else "Unpack it, and verify that folder by itself."
        )
    else:
        found = "this is no sealed file, and none lies in it"
        advice = "Name the folder in which bagit.txt and seal lie, or the zip of it."
    allowed = "a sealed file: its folder, or the zip of it and of nothing else"
    raise BadInputError(Problem(slug="seal-not-one", where=str(path), found=found, allowed=allowed, advice=advice))


_MARKS = tuple(f"/{name}" for name in (SIGNATURE, TAG_MANIFEST))

_FAULTS = {
    "changed": "{name}: its bytes are not those that were sealed",
    "dropped": "{name}: it is missing",
    "added": "{name}: it was not there when this was sealed",
    "renamed": "{name}: it is called {other} now",
    "swapped": "{name} and {other}: each holds what the other held",
    "moved": "{name}: it holds what {other} holds",
    "unreadable": "{name}: it cannot be read to its end",
    "not a file": "{name}: {reason}",
    "unvouched": "{name}: this list of digests is not the one that was sealed, so that no file under data can be "
    "vouched for, also none that it fits",
    "unsigned": "{name}: it was never signed",
    "misfit": "{name}: the signature does not fit: something in this folder, and it may be anything, is not what was "
    "signed",
    "another key": "{name}: it is signed with another key than the one you gave",
    "another fingerprint": "{name}: it is signed with a key of another fingerprint than the one you gave",
    "another number": "{name}: its number is not the one you gave",
}
_REASONS = {
    LINK: "it is a link, and no file",
    TWICE: "it stands there twice",
    EMPTY: "an empty folder that was not there when this was sealed",
    NOT_PLAIN: "it is no plain file",
}


def _words(fault: Fault) -> str:
    reason = _REASONS.get(fault.reason, "it is no plain file")
    return _FAULTS[fault.kind].format(name=fault.name, other=fault.other, reason=reason)


def _own_fingerprints() -> frozenset[str]:
    """Give the fingerprints of the keys of this user's settings: the present one, and former ones."""
    return frozenset(fingerprint(one) for one in own_publics(settings_file().parent))


def _digest(option: str, given: str | None) -> str | None:
    """Read a number or a fingerprint as somebody copied it off paper."""
    if given is None:
        return None
    tidy = re.sub(r"[\s:-]", "", given).lower()
    if not re.fullmatch(r"[0-9a-f]{64}", tidy):
        raise _not_with(Path(option), "no 64 digits 0 to 9 and a to f", "all of it, as it stands on the handover sheet")
    return tidy


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
        Problem(slug="verify-with", where=str(path), found=found, allowed=allowed, advice="Look at it again.")
    )
