"""The key that this user's sealed files are signed with: shown, put under a pass phrase, made anew where it is gone."""

from __future__ import annotations

from dataclasses import dataclass

from shutline.sealed import another_key, fingerprint, is_locked, lock_key, own_key, own_public
from shutline.sealed.keys import FILE as KEY_FILE
from shutline.usecases.settings import settings_file


@dataclass(frozen=True, slots=True)
class SealKeyShown:
    """The key to sign with: where it lies, its fingerprint, and whether it is under a pass phrase.

    `fingerprint` is empty where it cannot be told without the phrase.
    """

    file: str
    fingerprint: str
    locked: bool


def seal_key_shown() -> SealKeyShown:
    """Give the key to sign with; made if there never was one. Errors as `own_key` has them."""
    folder = settings_file().parent
    if not is_locked(folder):
        key = own_key(folder)
        return SealKeyShown(str(key.path), fingerprint(key.public), locked=False)
    public = own_public(folder)
    return SealKeyShown(str(folder / KEY_FILE), "" if public is None else fingerprint(public), locked=True)


def lock_seal_key(phrase: str, *, former: str = "") -> SealKeyShown:
    """Put the key to sign with under a pass phrase, or under none ("").

    Raises
    ------
    UserError
        The phrase is too short (slug ``seal-key-phrase``), or it is not under `former` (``seal-key-locked``).
    """
    lock_key(settings_file().parent, phrase=phrase, former=former)
    return seal_key_shown()


def another_seal_key() -> SealKeyShown:
    """Make another key where the present one is gone; raises UserError where it is not (slug ``seal-key-there``)."""
    another_key(settings_file().parent)
    return seal_key_shown()


def key_is_locked() -> bool:
    """Tell whether the key to sign with is under a pass phrase."""
    return is_locked(settings_file().parent)


def check_phrase(phrase: str) -> None:
    """Make sure that the key can be signed with; raises UserError (slug ``seal-key-locked``) where it cannot."""
    own_key(settings_file().parent, phrase=phrase)
